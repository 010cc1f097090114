// SPDX-License-Identifier: Apache-2.0
#pragma once
// The rules, each in one row: its name, what it looks at, how severe its findings may be. How a
// rule is judged and said stands in rules/, in the file of its subject.

#include <algorithm>
#include <array>
#include <cstddef>
#include <optional>
#include <string_view>

#include "daemon/base/setting.hpp"
#include "daemon/base/words.hpp"

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
  near_compression,
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
  matrix_route,
  matrix_trim,
  matrix_supply,
  receiver_without_antenna,
  antenna_unsupplied,
  supply_voltage,
  supply_current,
  sum_costs,
  sum_open_input,
  same_antenna,
  past_the_routes,
  sum_of_sums,
};

enum class Subject {
  datasheet,  // can the node do it: rules.cpp
  plan,       // one node in the plan: rules.cpp
  levels,     // of a node's chain: physics_rules, power_failure
  routes,     // of a matrix, and who hears through it: matrix_rules
  carriers,   // among themselves, and to their lanes: carrier_rules
  spectrum,   // what is published of it: band_rules
  show,       // the lock, and who takes part in a switch: where that is decided
};

// Between two steps of a switch some matters are milder than at its ends.
enum class Between { as_ever, caution, note, nothing };

struct RuleRow {
  std::string_view name;  // in the API, the journal and the manual; never changes
  Rule rule;
  Subject subject;
  Severity mildest;  // of its findings, when settings or segments are checked
  Severity hardest;
  std::optional<Setting> setting = {};  // the one that it refuses by itself
  Between between = Between::as_ever;
};

// In the order of the enumeration.
constexpr std::array<RuleRow, 38> rule_rows = [] {
  using enum Rule;
  using enum Severity;
  using enum Subject;
  return std::array<RuleRow, 38>{{
      {"gain-range", gain_range, datasheet, refuse, refuse, Setting::gain},
      {"gain-step", gain_step, datasheet, refuse, refuse, Setting::gain},
      {"centre-range", centre_range, datasheet, refuse, refuse, Setting::centre},
      {"centre-step", centre_step, datasheet, refuse, refuse, Setting::centre},
      {"filter-known", filter_known, datasheet, refuse, refuse, Setting::filter},
      {"label-length", label_length, datasheet, refuse, refuse, Setting::label},
      {"label-text", label_text, datasheet, refuse, refuse, Setting::label},
      {"gain-limit", gain_limit, plan, refuse, refuse},
      {"carrier-outside-window", carrier_outside_window, plan, refuse, refuse, {}, Between::note},
      {"own-transmitter-in-window", own_transmitter_in_window, plan, caution, refuse},
      {"lane-conflict", lane_conflict, plan, caution, caution},
      {"diversity-dark", diversity_dark, plan, refuse, refuse, {}, Between::caution},
      {"show-locked", show_locked, show, refuse, refuse},
      {"amplifier-overload", amplifier_overload, levels, caution, refuse},
      {"intermodulation-on-carrier", intermodulation_on_carrier, levels, note, caution},
      {"near-compression", near_compression, levels, caution, caution},
      {"chain-gain", chain_gain, levels, caution, caution},
      {"receiver-overload", receiver_overload, levels, caution, caution},
      {"link-margin", link_margin, levels, note, caution},
      {"co-channel", co_channel, carriers, note, caution},
      {"adjacent-carrier", adjacent_carrier, carriers, caution, caution},
      {"carrier-outside-lane", carrier_outside_lane, carriers, caution, caution},
      {"legal-band", legal_band, spectrum, note, caution},
      {"protected-band", protected_band, spectrum, caution, refuse},
      {"node-left-out", node_left_out, show, caution, caution},
      {"if-power-fails", if_power_fails, levels, note, note, {}, Between::nothing},
      {"matrix-route", matrix_route, datasheet, refuse, refuse},
      {"matrix-trim", matrix_trim, datasheet, refuse, refuse},
      {"matrix-supply", matrix_supply, datasheet, refuse, refuse},
      {"receiver-without-antenna",
       receiver_without_antenna,
       routes,
       caution,
       refuse,
       {},
       Between::caution},
      {"antenna-unsupplied", antenna_unsupplied, routes, caution, caution, {}, Between::nothing},
      {"supply-voltage", supply_voltage, routes, refuse, refuse},
      {"supply-current", supply_current, routes, note, refuse},
      {"sum-costs", sum_costs, routes, caution, caution, {}, Between::note},
      {"sum-open-input", sum_open_input, routes, caution, caution, {}, Between::note},
      {"same-antenna", same_antenna, routes, caution, caution, {}, Between::note},
      {"past-the-routes", past_the_routes, routes, caution, caution, {}, Between::note},
      {"sum-of-sums", sum_of_sums, routes, refuse, refuse, {}, Between::note},
  }};
}();

constexpr const RuleRow& row_of(Rule rule) { return rule_rows[static_cast<std::size_t>(rule)]; }

constexpr auto words_of(Rule) {
  WordTable<Rule, rule_rows.size()> words;
  std::ranges::transform(rule_rows, words.begin(), [](const RuleRow& row) {
    return std::pair{row.name, row.rule};
  });
  return words;
}

}  // namespace catwalk::rack
