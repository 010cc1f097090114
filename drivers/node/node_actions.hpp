// SPDX-License-Identifier: Apache-2.0
#pragma once
// What can be done to emulated nodes, as words: typed into catwalk-node, or in a script with the
// moment before them.
//
//   knob UID gain|filter|centre|power VALUE     dB, index, MHz, on|off: by hand at the node
//   power UID on|off                            its supply; on: it starts anew
//   silence UID on|off                          as with its cable cut
//   refuse UID REASON|none                      refuses what would change it
//   slow UID DURATION                           says Wait for so long
//   lie UID SEED|off                            says what no honest node says
//   reboot UID
//   detector UID DBM
//   route UID OUTPUT INPUTS                     of a matrix, by hand: 1+3, or none
//   trim UID INPUT DB                           likewise
//   supply UID INPUT VOLTS|off                  likewise
//   plug UID INPUT NODE|none                    whose cable ends in its input
//   short UID INPUT on|off                      of the supply at its input
//   level UID INPUT DBM                         what comes in there
//   loss|corrupt|duplicate CHANCE               0 to 1
//   delay MIN..MAX                              2ms..20ms
//
// UID may be "all", inputs and outputs count from 1. Durations carry a unit: us, ms or s. The
// knob's VALUE may: 6 or 6dB, 566.125 or 566.125MHz.

#include <chrono>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "daemon/base/result.hpp"
#include "drivers/line/faults.hpp"
#include "drivers/node/emulated_node.hpp"
#include "drivers/node/matrix_actions.hpp"

namespace catwalk::drivers {

struct TurnKnob {
  protocol::NodeUid node;
  // Exactly one of them is set.
  std::optional<std::int16_t> gain_cdb;
  std::optional<std::uint8_t> filter;
  std::optional<std::uint32_t> centre_hz;
  std::optional<bool> power;
};
struct SwitchSupply {
  protocol::NodeUid node;
  bool on = true;
};
struct Silence {
  protocol::NodeUid node;
  bool on = true;
};
struct RefuseAll {
  protocol::NodeUid node;
  std::optional<protocol::RefusalReason> reason;
};
struct BeSlow {
  protocol::NodeUid node;
  Millis by{0};
};
struct Lie {
  protocol::NodeUid node;
  std::optional<std::uint64_t> seed;  // nothing: no more
};
struct Reboot {
  protocol::NodeUid node;
};
struct SetDetector {
  protocol::NodeUid node;
  std::int16_t cdbm = 0;
};
// Changes some of the rates of the wire, leaves the others.
struct ChangeFaults {
  std::optional<double> loss;
  std::optional<double> corrupt;
  std::optional<double> duplicate;
  std::optional<std::pair<std::chrono::microseconds, std::chrono::microseconds>> delay;
};

using NodeAction =
    std::variant<TurnKnob, SwitchSupply, Silence, RefuseAll, BeSlow, Lie, Reboot, SetDetector,
                 ChangeFaults, TurnRoute, TurnTrim, TurnSupply, Plug, ShortCircuit, ComeIn>;

// The error names the word at fault and what is allowed in its place.
Result<NodeAction, std::string> parse_action(std::string_view line);

struct ScriptStep {
  std::chrono::microseconds at{0};  // from the start
  NodeAction action;
};
// "at 3.2s knob 7a10-0000002f gain 6"
Result<ScriptStep, std::string> parse_script_step(std::string_view line);

// "20ms", "3.2s", "500us"; nothing for any other text.
std::optional<std::chrono::microseconds> parse_duration(std::string_view text);
// "2ms..20ms", the first not longer than the second.
std::optional<std::pair<std::chrono::microseconds, std::chrono::microseconds>> parse_delay(
    std::string_view text);
// A number as whole units of 1/scale, where it is one and within these.
std::optional<std::int64_t> parse_scaled(std::string_view text, double scale, double lowest,
                                         double highest);
std::optional<bool> parse_switch(std::string_view text);
// As `show` writes it: with the unit right behind the number.
std::string_view without_unit(std::string_view text, std::string_view unit);
// "0.05": 0 to 1.
std::optional<double> parse_chance(std::string_view text);

// Does it to the node, or to each node for "all". An error if there is no such node, or the node
// cannot be set so. ChangeFaults is the business of whoever owns the wires, and ignored here.
std::optional<std::string> perform(const NodeAction& action,
                                   const std::vector<EmulatedNode*>& nodes, Moment now);

void change(FaultRates& rates, const ChangeFaults& by);

}  // namespace catwalk::drivers
