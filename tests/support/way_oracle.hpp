// SPDX-License-Identifier: Apache-2.0
#pragma once
// The constraints of a switch told a second time, by brute force: every combination of old and new
// settings is looked at one by one, with the windows of the datasheet and the full budget of every
// amplifier. Shares no code with the planner that it is held against.

#include <cstdint>
#include <functional>
#include <map>
#include <string>
#include <vector>

#include "daemon/rack/way/way.hpp"

namespace catwalk::test {

enum class Broken : std::uint8_t { no, caution, refuse };

struct WayCost {
  int refusals = 0;
  int cautions = 0;
  int steps = 0;
  friend auto operator<=>(const WayCost&, const WayCost&) = default;
};

class WayOracle {
 public:
  // The task has to live as long.
  explicit WayOracle(const rack::SwitchTask& task);

  // Of all ways there are, nodes moved at once or in two moves of either order: what the best
  // costs. Every breach counts once for every step in which it may happen, a carrier at a receiver
  // as one. For at most 32 constraints that anything can break, and some 10^6 steps that could be
  // taken.
  WayCost best() const;

  // What the steps of this way break, in words; also if they do not lead from the present settings
  // to the targets.
  std::vector<std::string> violations(const rack::Way& way) const;
  // The cost of this way, counted as in best().
  WayCost cost_of(const rack::Way& way) const;
  // "The old or the new settings break it": no order helps.
  bool unavoidable() const { return unavoidable_; }

 private:
  // A node that moves. Positions: bit 0 the gain is new, bit 1 the window is new.
  struct Mover {
    const plan::Node* node = nullptr;
    plan::Settings present;
    plan::Settings target;
    bool two_ways = false;  // gain and window both change
    plan::Settings at(unsigned position) const;
  };
  using Positions = std::vector<unsigned>;  // of each mover
  struct Constraint {
    std::string name;
    std::vector<std::size_t> movers;                // that it depends on
    std::function<Broken(const Positions&)> look;   // at one combination
    mutable std::map<Positions, Broken> seen = {};  // by the positions of `movers`
  };
  struct Flight {  // of one mover in one step
    unsigned from = 0;
    unsigned to = 0;
  };

  plan::Settings settings_of(const plan::Node& node, const Positions& positions) const;
  bool covers(const plan::Receiver& receiver, const plan::Carrier& carrier,
              const Positions& positions) const;
  double power(const plan::Segment& segment, const plan::Node& node, const std::string& amplifier,
               const Positions& positions) const;
  void add_receivers();
  void add_unknown_levels();
  void add_amplifiers();
  void add_windows();
  void add_amplifier(const std::string& name, const plan::Node& through,
                     std::vector<std::size_t> movers);
  Broken at(const Constraint& constraint, const Positions& positions) const;
  Broken worst(const Constraint& constraint, const std::vector<Flight>& flights) const;

  const rack::SwitchTask& task_;
  plan::Segment between_;
  std::vector<Mover> movers_;
  std::map<plan::NodeName, plan::Settings> resting_;  // nodes that stay
  std::vector<Constraint> constraints_;
  bool unavoidable_ = false;
};

}  // namespace catwalk::test
