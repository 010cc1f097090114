// SPDX-License-Identifier: Apache-2.0
#pragma once
// What the bench programs share: medians over interleaved rounds, one way to print, racks of any
// size.

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "tests/support/process.hpp"

namespace catwalk::test {

using Seconds = std::chrono::duration<double>;

double median(std::vector<double> values);

// The share of the values that lie at or below the result; 0.99 for the 99th percentile.
double quantile(std::vector<double> values, double share);

// "--smoke": few rounds, and no judgement.
struct BenchOptions {
  bool smoke = false;
  int rounds(int full, int few) const { return smoke ? few : full; }
};
BenchOptions bench_options(int argc, char** argv);

// Runs `bench` and gives the program's exit status; an exception is told, and ends it with 1.
int run_bench(int argc, char** argv, const std::function<int(const BenchOptions&)>& bench);

Seconds time_of(const std::function<void()>& work);

// Two figures of one run and what their ratio should be.
struct Comparison {
  std::string name;
  std::string ours, other;  // what they are
  std::string unit;
  double our_figure = 0;
  double other_figure = 0;
  double ratio = 0;  // the median of the rounds' ratios, or of the two figures
  bool at_most = true;
  double reach = 0;
};
// Prints it. The program's exit status.
int judge(const Comparison& comparison, const BenchOptions& options);
// What the rounds of one run have measured.
struct Measured {
  std::string name;
  std::vector<double> figures;
};
// The same for two times, each by its median: ours is to be at most `reach` times the other.
int judge(const std::string& name, const Measured& ours, const Measured& other, double reach,
          const std::string& unit, const BenchOptions& options);
// The same for one figure against a limit.
int judge(const std::string& name, double figure, double at_most, const std::string& unit,
          const BenchOptions& options);
// Prints one more figure, below those that are judged.
void tell(const std::string& name, double figure, const std::string& unit, int digits = 1);
void tell(const std::string& name, long count);

// The parts of a rack of nodes along the quays: n0, n1 …, in segments of one lane and one carrier.
nlohmann::ordered_json quay_node(int i, const std::string& line);  // without its place on it
nlohmann::ordered_json quay_rack(nlohmann::ordered_json lines, nlohmann::ordered_json nodes);
nlohmann::ordered_json quay_segment(const std::string& name, nlohmann::ordered_json settings);

// Writes rack.json and show.json with so many simulated nodes, named n0, n1 …
std::filesystem::path write_simulated_rack(const std::filesystem::path& folder, int nodes);
// Whether a daemon there shows readings of so many nodes.
bool all_nodes_read(std::uint16_t port, std::size_t nodes);

// A program that says "ready PORT", or the daemon that says where it listens.
class Served {
 public:
  Served(const std::filesystem::path& program, const std::vector<std::string>& arguments,
         const std::filesystem::path& log, const std::string& mark);
  std::uint16_t port() const { return port_; }
  Process& process() { return process_; }

 private:
  Process process_;
  std::uint16_t port_ = 0;
};

}  // namespace catwalk::test
