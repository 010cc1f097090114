// SPDX-License-Identifier: Apache-2.0
#pragma once
// A rig with an antenna matrix: one catwalk-node has the matrix and three amplifiers, whose cables
// end in its inputs 1 to 3 and get their supply from there. Receiver "vocals" has outputs 1 and 2,
// "talk" has output 3.

#include <memory>
#include <string>
#include <vector>

#include "tests/support/rig.hpp"

namespace catwalk::test {

class MatrixRig : public Rig {
 public:
  // Before the daemon is started the show may be written anew, and the rack file edited.
  MatrixRig();

  static std::string uid_of(int input) { return "7a10-0000040" + std::to_string(input); }
  // With a channel of 200 kHz.
  static Json carrier(const std::string& name, double megahertz, const std::string& receiver);
  // Antennas left, right and float, in the order of their inputs.
  static const std::vector<std::string>& antennas();

  // To the matrix itself, as a hand at its front; answered.
  void say(const std::string& verb, const std::string& rest) { say_to(unit_uid, verb, rest); }
  void say_to(const std::string& uid, const std::string& verb, const std::string& rest);
  // What it says of itself, asked behind the daemon's back.
  std::string shown_by(const std::string& uid);

  // Starts the daemon, and waits until the matrix has been read.
  void start();

  Said route(const Json& patch, const cli::Headers& headers = {});
  Json matrix() { return get("/matrices/shore").body; }
  // Antennas on an output, by the routes in force.
  Json hears(std::size_t output) { return matrix().at("outputs").at(output - 1).at("hears"); }
  // "vocals 1", "talk 1"
  std::vector<std::string> served_by(const std::string& node_name);

  static inline const std::string unit_uid = "7a10-00000400";
  std::unique_ptr<Process> unit;

 private:
  std::size_t answers() const;
  void start_unit();
  void write_plan();

  std::string endpoint_;
};

}  // namespace catwalk::test
