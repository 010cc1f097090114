// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/values/verdict.hpp"

#include <algorithm>

namespace catwalk::rack {

std::string_view name_of(Severity severity) {
  switch (severity) {
    case Severity::note:
      return "note";
    case Severity::caution:
      return "caution";
    case Severity::refuse:
      return "refuse";
  }
  return "?";
}

std::string_view name_of(Rule rule) {
  switch (rule) {
    case Rule::gain_range:
      return "gain-range";
    case Rule::gain_step:
      return "gain-step";
    case Rule::centre_range:
      return "centre-range";
    case Rule::centre_step:
      return "centre-step";
    case Rule::filter_known:
      return "filter-known";
    case Rule::label_length:
      return "label-length";
    case Rule::label_text:
      return "label-text";
    case Rule::gain_limit:
      return "gain-limit";
    case Rule::carrier_outside_window:
      return "carrier-outside-window";
    case Rule::own_transmitter_in_window:
      return "own-transmitter-in-window";
    case Rule::lane_conflict:
      return "lane-conflict";
    case Rule::diversity_dark:
      return "diversity-dark";
    case Rule::show_locked:
      return "show-locked";
    case Rule::amplifier_overload:
      return "amplifier-overload";
    case Rule::intermodulation_on_carrier:
      return "intermodulation-on-carrier";
    case Rule::chain_gain:
      return "chain-gain";
    case Rule::receiver_overload:
      return "receiver-overload";
    case Rule::link_margin:
      return "link-margin";
    case Rule::co_channel:
      return "co-channel";
    case Rule::adjacent_carrier:
      return "adjacent-carrier";
    case Rule::carrier_outside_lane:
      return "carrier-outside-lane";
    case Rule::legal_band:
      return "legal-band";
    case Rule::protected_band:
      return "protected-band";
    case Rule::node_left_out:
      return "node-left-out";
    case Rule::if_power_fails:
      return "if-power-fails";
  }
  return "?";
}

bool Verdict::has(Severity severity) const {
  return std::ranges::find(findings, severity, &Finding::severity) != findings.end();
}

std::string in_words(const Verdict& verdict) {
  std::string text;
  for (const auto& finding : verdict.findings) {
    if (!text.empty()) text += '\n';
    text += name_of(finding.severity);
    text += ' ';
    text += name_of(finding.rule);
    text += ": " + finding.sentence;
  }
  return text;
}

}  // namespace catwalk::rack
