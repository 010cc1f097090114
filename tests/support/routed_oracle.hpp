// SPDX-License-Identifier: Apache-2.0
#pragma once
// A switch in which matrices move, told a second time by brute force: of every moment of every
// schedule each combination of what is in flight, with routes, supplies and levels reckoned anew
// from the settings. Shares no code with the planner, nor with the plan's own routing; of the
// levels room only how strong a carrier is at an antenna.
//
// What settles in its own time: of an amplifier its gain and its window; of a matrix each output
// with its routes, or all of them together where its datasheet says so, and each input with its
// trim and its supply together.
//
// For racks in which every level is known, and of passive routes nothing is asked.

#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <unordered_map>
#include <utility>
#include <vector>

#include "daemon/rack/way/way.hpp"
#include "tests/support/way_oracle.hpp"

namespace catwalk::test {

class RoutedOracle {
 public:
  // The task has to live as long. Some 30 switches are the most.
  explicit RoutedOracle(const rack::SwitchTask& task);

  // Of all ways there are: amplifiers at once or in two moves of either order, a matrix in one.
  WayCost best() const;
  // Of this one.
  WayCost cost_of(const rack::Way& way) const;
  // What its steps break, in words; also if they do not lead to the targets.
  std::vector<std::string> violations(const rack::Way& way) const;
  // The old or the new settings break something with what is on the air meanwhile.
  bool unavoidable() const { return unavoidable_; }

 private:
  using Switches = std::uint32_t;  // a bit for each that has been thrown
  struct Mover {
    plan::NodeName name;
    plan::NodeSettings present;
    plan::NodeSettings target;
    bool two_ways = false;  // gain and window both change
    Switches gain = 0;
    Switches window = 0;  // of a matrix: all that it throws
    Switches thrown_at(unsigned position) const {
      return ((position & 1U) != 0 ? gain : 0) | ((position & 2U) != 0 ? window : 0);
    }
  };
  struct Antenna {
    const plan::Node* node = nullptr;  // of the described plan
    plan::Settings present;
    plan::Settings target;
    Switches gain = 0;
    Switches window = 0;
  };
  struct Unit {
    const plan::Matrix* matrix = nullptr;
    plan::MatrixSettings present;
    plan::MatrixSettings target;
    std::vector<Switches> outputs;  // 0: nothing changes there
    std::vector<Switches> inputs;
  };
  struct Constraint {
    std::string name;
    Switches asks = 0;
    std::function<Broken(Switches)> look;  // at one combination
    mutable std::unordered_map<std::uint64_t, Broken> seen = {};
  };
  struct Air {  // what is on, with its level at each antenna, mW
    plan::Segment segment;
    std::vector<std::vector<double>> levels;
  };
  // Where an amplifier stands: so many parts of the branch's chain are before it; or it is the
  // unit's that the branch begins at, or of one before that, whose output ends at this input.
  struct Stand {
    const plan::Branch* branch = nullptr;
    bool of_unit = false;
    std::size_t parts = 0;
    std::optional<std::size_t> before = {};
  };
  // An output of one unit that ends at an input of another.
  struct Onward {
    const plan::Matrix* matrix = nullptr;
    std::size_t output = 0;
    const plan::Onward* way = nullptr;
  };

  void list_movers();
  void add_receivers();
  void add_amplifiers();
  void add_windows();
  void add_amplifier(std::string name, double p1db, Switches asks,
                     const std::function<double(const Air&, Switches)>& power);
  void add_branch_amplifiers(const plan::Receiver& receiver, const plan::Branch& branch);

  Air air_of(plan::Segment segment) const;
  const Unit& unit(const plan::NodeName& name) const;
  const plan::Inputs& taken(const plan::OutputOf& from, Switches thrown) const;
  const plan::InputSettings& input(const plan::InputOf& at, Switches thrown) const;
  bool is_fed(const Antenna& antenna, Switches thrown) const;
  plan::Settings settings(const Antenna& antenna, Switches thrown) const;
  std::vector<std::size_t> antennas_on(const plan::Branch& branch, Switches thrown) const;
  std::vector<std::size_t> antennas_at(const plan::OutputOf& output, Switches thrown) const;
  std::vector<std::size_t> antennas_by(const plan::InputOf& input, Switches thrown) const;
  std::optional<Onward> before(const plan::InputOf& input) const;
  double through_unit(const plan::OutputOf& output, Switches thrown) const;
  double before_power(const Air& air, const Onward& onward, Switches thrown) const;
  Switches asked_by(const plan::Branch& branch) const;
  Switches asked_by(const Antenna& antenna) const;
  bool passes(const Antenna& antenna, const plan::Carrier& carrier, Switches thrown) const;
  bool hears(const plan::Receiver& receiver, const plan::Carrier& carrier, Switches thrown) const;
  double own_power(const Air& air, std::size_t antenna, Switches thrown) const;
  double at_cable_end(const Air& air, std::size_t antenna, Switches thrown) const;
  double branch_power(const Air& air, const Stand& stand, Switches thrown) const;

  Broken worst(const Constraint& constraint, Switches thrown, Switches flying) const;
  WayCost step_cost(Switches thrown, Switches flying) const;
  struct Flight {
    Switches thrown = 0;
    Switches flying = 0;
  };
  std::vector<Flight> flights_of(const rack::Way& way, std::vector<std::string>* wrong) const;

  const rack::SwitchTask& task_;
  const plan::RackPlan& plan_;  // described
  Air between_;
  Air left_;
  Air entered_;
  std::vector<Mover> movers_;
  std::vector<Antenna> antennas_;  // in the order of the plan
  std::vector<Unit> units_;
  Switches all_ = 0;
  std::vector<Constraint> constraints_;
  bool unavoidable_ = false;
};

}  // namespace catwalk::test
