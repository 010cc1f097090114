// SPDX-License-Identifier: Apache-2.0
#pragma once
// The result of checking: every finding, not the first, each with its numbers and a sentence.

#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/words.hpp"
#include "daemon/plan/names.hpp"

namespace catwalk::rack {

enum class Severity { note, caution, refuse };
constexpr auto words_of(Severity) {
  using enum Severity;
  return WordTable<Severity, 3>{{{"note", note}, {"caution", caution}, {"refuse", refuse}}};
}
using catwalk::name_of;

enum class Rule {
  gain_range,
  gain_step,
  centre_range,
  centre_step,
  filter_known,
  label_length,
  label_text,
  gain_limit,
  carrier_outside_window,
  own_transmitter_in_window,
  lane_conflict,
  diversity_dark,
  show_locked,
  amplifier_overload,
  intermodulation_on_carrier,
  chain_gain,
  receiver_overload,
  link_margin,
  co_channel,
  adjacent_carrier,
  carrier_outside_lane,
  legal_band,
  protected_band,
  node_left_out,
  if_power_fails,
};
// "gain-range", "carrier-outside-window": the names used in the API, the journal and the manual.
constexpr auto words_of(Rule) {
  using enum Rule;
  return WordTable<Rule, 25>{{{"gain-range", gain_range},
                              {"gain-step", gain_step},
                              {"centre-range", centre_range},
                              {"centre-step", centre_step},
                              {"filter-known", filter_known},
                              {"label-length", label_length},
                              {"label-text", label_text},
                              {"gain-limit", gain_limit},
                              {"carrier-outside-window", carrier_outside_window},
                              {"own-transmitter-in-window", own_transmitter_in_window},
                              {"lane-conflict", lane_conflict},
                              {"diversity-dark", diversity_dark},
                              {"show-locked", show_locked},
                              {"amplifier-overload", amplifier_overload},
                              {"intermodulation-on-carrier", intermodulation_on_carrier},
                              {"chain-gain", chain_gain},
                              {"receiver-overload", receiver_overload},
                              {"link-margin", link_margin},
                              {"co-channel", co_channel},
                              {"adjacent-carrier", adjacent_carrier},
                              {"carrier-outside-lane", carrier_outside_lane},
                              {"legal-band", legal_band},
                              {"protected-band", protected_band},
                              {"node-left-out", node_left_out},
                              {"if-power-fails", if_power_fails}}};
}

// One figure behind a finding: {"low", 470.1, "MHz"}.
struct Number {
  std::string name;
  double value = 0.0;
  std::string unit;
  friend bool operator==(const Number&, const Number&) = default;
};

struct Finding {
  Rule rule = Rule::gain_range;
  Severity severity = Severity::note;
  plan::NodeName node;
  std::vector<std::string> concerns;  // names of carriers, lanes, receivers
  std::vector<Number> numbers;
  std::string sentence;  // what a technician would say
  friend bool operator==(const Finding&, const Finding&) = default;
};

struct Verdict {
  std::vector<Finding> findings;
  friend bool operator==(const Verdict&, const Verdict&) = default;

  bool refuses() const { return has(Severity::refuse); }
  // Nothing is refused, but a named person must say why to go on.
  bool needs_waiver() const { return !refuses() && has(Severity::caution); }
  bool has(Severity severity) const;
};
// As the journal has it: one finding a line.
std::string in_words(const Verdict& verdict);

}  // namespace catwalk::rack
