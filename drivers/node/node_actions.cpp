// SPDX-License-Identifier: Apache-2.0
#include "drivers/node/node_actions.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <concepts>
#include <tuple>

#include "drivers/line/bad_word.hpp"
#include "drivers/node/liar.hpp"

namespace catwalk::drivers {
namespace {

using protocol::NodeUid;
using protocol::RefusalReason;
using Micros = std::chrono::microseconds;

struct Verb {
  std::string_view name;
  std::size_t words;  // with itself
  std::string_view form;
};
constexpr std::array<Verb, 18> verbs{{
    {"knob", 4, "knob UID gain|filter|centre|power VALUE"},
    {"power", 3, "power UID on|off"},
    {"silence", 3, "silence UID on|off"},
    {"refuse", 3, "refuse UID REASON|none"},
    {"slow", 3, "slow UID DURATION"},
    {"lie", 3, "lie UID SEED|off"},
    {"reboot", 2, "reboot UID"},
    {"detector", 3, "detector UID DBM"},
    {"route", 4, "route UID OUTPUT INPUTS|none"},
    {"trim", 4, "trim UID INPUT DB"},
    {"supply", 4, "supply UID INPUT VOLTS|off"},
    {"plug", 4, "plug UID INPUT NODE|none"},
    {"short", 4, "short UID INPUT on|off"},
    {"level", 4, "level UID INPUT DBM"},
    {"loss", 2, "loss CHANCE"},
    {"corrupt", 2, "corrupt CHANCE"},
    {"duplicate", 2, "duplicate CHANCE"},
    {"delay", 2, "delay MIN..MAX"},
}};

std::string all_verbs() {
  std::string names;
  for (const Verb& verb : verbs) names += (names.empty() ? "" : ", ") + std::string{verb.name};
  return names;
}

bool is_of_the_wire(std::string_view verb) {
  return verb == "loss" || verb == "corrupt" || verb == "duplicate" || verb == "delay";
}

bool is_of_a_matrix(std::string_view verb) {
  return verb == "route" || verb == "trim" || verb == "supply" || verb == "plug" ||
         verb == "short" || verb == "level";
}

struct NamedReason {
  std::string_view name;
  RefusalReason reason;
};
constexpr std::array<NamedReason, 12> reasons{{
    {"gain_out_of_range", RefusalReason::gain_out_of_range},
    {"gain_off_step", RefusalReason::gain_off_step},
    {"filter_unknown", RefusalReason::filter_unknown},
    {"centre_out_of_range", RefusalReason::centre_out_of_range},
    {"centre_off_step", RefusalReason::centre_off_step},
    {"ticket_unknown", RefusalReason::ticket_unknown},
    {"epoch_too_low", RefusalReason::epoch_too_low},
    {"storage_failed", RefusalReason::storage_failed},
    {"route_impossible", RefusalReason::route_impossible},
    {"trim_out_of_range", RefusalReason::trim_out_of_range},
    {"trim_off_step", RefusalReason::trim_off_step},
    {"supply_impossible", RefusalReason::supply_impossible},
}};

std::vector<std::string_view> words_of(std::string_view line) {
  std::vector<std::string_view> words;
  constexpr std::string_view blank = " \t\r\n";
  std::size_t at = line.find_first_not_of(blank);
  while (at != std::string_view::npos) {
    const std::size_t end = std::min(line.find_first_of(blank, at), line.size());
    words.push_back(line.substr(at, end - at));
    at = line.find_first_not_of(blank, end);
  }
  return words;
}

std::optional<double> parse_number(std::string_view text) {
  if (!text.empty() && text.front() == '+') text.remove_prefix(1);
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size() || !std::isfinite(value)) {
    return std::nullopt;
  }
  return value;
}

std::string reason_names() {
  std::string names = "none";
  for (const NamedReason& named : reasons) names += ", " + std::string{named.name};
  return names;
}

Result<NodeAction, std::string> parse_knob(NodeUid node, std::string_view field,
                                           std::string_view value) {
  TurnKnob knob;
  knob.node = node;
  if (field == "gain") {
    const auto gain = parse_scaled(without_unit(value, "dB"), 100, -327.68, 327.67);
    if (!gain) return bad("gain", value, "-327.68 to 327.67 dB, two decimals at most");
    knob.gain_cdb = static_cast<std::int16_t>(*gain);
  } else if (field == "filter") {
    const auto filter = parse_scaled(value, 1, 0, 255);
    if (!filter) return bad("filter", value, "0 to 255");
    knob.filter = static_cast<std::uint8_t>(*filter);
  } else if (field == "centre") {
    const auto centre = parse_scaled(without_unit(value, "MHz"), 1e6, 0, 4294.967295);
    if (!centre) return bad("centre", value, "0 to 4294.967295 MHz");
    knob.centre_hz = static_cast<std::uint32_t>(*centre);
  } else if (field == "power") {
    knob.power = parse_switch(value);
    if (!knob.power) return bad("power", value, "on or off");
  } else {
    return bad("knob", field, "gain, filter, centre or power");
  }
  return NodeAction{knob};
}

Result<NodeAction, std::string> parse_for_node(std::string_view verb, NodeUid node,
                                               const std::vector<std::string_view>& words) {
  if (verb == "knob") return parse_knob(node, words[2], words[3]);
  if (verb == "reboot") return NodeAction{Reboot{node}};
  const std::string_view value = words[2];
  if (verb == "power" || verb == "silence") {
    const auto on = parse_switch(value);
    if (!on) return bad(verb, value, "on or off");
    if (verb == "power") return NodeAction{SwitchSupply{node, *on}};
    return NodeAction{Silence{node, *on}};
  }
  if (verb == "refuse") {
    if (value == "none") return NodeAction{RefuseAll{node, std::nullopt}};
    const auto at = std::find_if(reasons.begin(), reasons.end(),
                                 [&](const NamedReason& named) { return named.name == value; });
    if (at == reasons.end()) return bad("reason", value, reason_names());
    return NodeAction{RefuseAll{node, at->reason}};
  }
  if (verb == "slow") {
    const auto by = parse_duration(value);
    if (!by || *by > std::chrono::seconds{60}) return bad("duration", value, "0ms to 60s");
    return NodeAction{BeSlow{node, std::chrono::ceil<Millis>(*by)}};
  }
  if (verb == "lie") {
    if (value == "off") return NodeAction{Lie{node, std::nullopt}};
    constexpr double largest_seed = 1e12;
    const auto seed = parse_scaled(value, 1, 0, largest_seed);
    if (!seed) return bad("seed", value, "0 to 1000000000000, or off");
    return NodeAction{Lie{node, static_cast<std::uint64_t>(*seed)}};
  }
  const auto level = parse_scaled(value, 100, -327.68, 327.67);
  if (!level) return bad("detector", value, "-327.68 to 327.67 dBm, two decimals at most");
  return NodeAction{SetDetector{node, static_cast<std::int16_t>(*level)}};
}

Result<NodeAction, std::string> parse_wire(std::string_view verb, std::string_view value) {
  ChangeFaults faults;
  if (verb == "delay") {
    faults.delay = parse_delay(value);
    if (!faults.delay) return bad("delay", value, "MIN..MAX, such as 2ms..20ms");
    return NodeAction{faults};
  }
  const auto chance = parse_chance(value);
  if (!chance) return bad(verb, value, "0 to 1");
  if (verb == "loss") faults.loss = chance;
  if (verb == "corrupt") faults.corrupt = chance;
  if (verb == "duplicate") faults.duplicate = chance;
  return NodeAction{faults};
}

std::optional<std::string> turn(EmulatedNode& node, const TurnKnob& knob) {
  const auto* type = std::get_if<AmplifierType>(&node.type().can);
  if (type == nullptr) return "node " + node.uid().text() + ": it is a matrix and has no such knob";
  protocol::Settings settings = node.settings();
  if (knob.gain_cdb) settings.gain_cdb = *knob.gain_cdb;
  if (knob.centre_hz) settings.centre_hz = *knob.centre_hz;
  if (knob.power) settings.power = *knob.power;
  if (knob.filter && *knob.filter != settings.filter) {
    settings.filter = *knob.filter;
    // A hand at the node picks a filter, and the node a centre that the filter has.
    if (*knob.filter < type->filters.size()) {
      const NodeFilter& filter = type->filters[*knob.filter];
      const bool fits =
          settings.centre_hz >= filter.lowest_centre && settings.centre_hz <= filter.highest_centre;
      if (!fits || filter.centre_step == 0) settings.centre_hz = filter.lowest_centre;
    }
  }
  const auto refusal = node.turn(settings);
  if (!refusal) return std::nullopt;
  return "node " + node.uid().text() + ": " + std::string{protocol::sentence_of(refusal->reason)};
}

struct Performer {
  EmulatedNode& node;
  Moment now;

  std::optional<std::string> operator()(const TurnKnob& a) const { return turn(node, a); }
  std::optional<std::string> operator()(const SwitchSupply& a) const {
    if (a.on) {
      node.restore_power(now);
    } else {
      node.cut_power();
    }
    return std::nullopt;
  }
  std::optional<std::string> operator()(const Silence& a) const {
    node.silence(a.on);
    return std::nullopt;
  }
  std::optional<std::string> operator()(const RefuseAll& a) const {
    node.refuse(a.reason);
    return std::nullopt;
  }
  std::optional<std::string> operator()(const BeSlow& a) const {
    node.be_slow(a.by);
    return std::nullopt;
  }
  std::optional<std::string> operator()(const Lie& a) const {
    node.speak_through(a.seed ? EmulatedNode::Mouth{Liar{*a.seed}} : nullptr);
    return std::nullopt;
  }
  std::optional<std::string> operator()(const Reboot&) const {
    node.restart(now);
    return std::nullopt;
  }
  std::optional<std::string> operator()(const SetDetector& a) const {
    node.set_detector(a.cdbm);
    return std::nullopt;
  }
  std::optional<std::string> operator()(const ChangeFaults&) const { return std::nullopt; }
  template <class Action>
  requires std::constructible_from<MatrixAction, Action> std::optional<std::string>
  operator()(const Action& a) const { return drivers::perform(node, MatrixAction{a}); }
};

NodeUid node_of(const NodeAction& action) {
  return std::visit(
      [](const auto& a) {
        if constexpr (requires { a.node; }) {
          return a.node;
        } else {
          return NodeUid::everyone();
        }
      },
      action);
}

}  // namespace

std::optional<std::int64_t> parse_scaled(std::string_view text, double scale, double lowest,
                                         double highest) {
  const auto number = parse_number(text);
  if (!number || *number < lowest || *number > highest) return std::nullopt;
  const double scaled = std::round(*number * scale);
  if (std::abs(scaled - *number * scale) > 1e-6 * scale) return std::nullopt;
  return static_cast<std::int64_t>(scaled);
}

std::optional<bool> parse_switch(std::string_view text) {
  if (text == "on") return true;
  if (text == "off") return false;
  return std::nullopt;
}

std::string_view without_unit(std::string_view text, std::string_view unit) {
  if (text.ends_with(unit)) text.remove_suffix(unit.size());
  return text;
}

std::optional<Micros> parse_duration(std::string_view text) {
  double scale = 0;
  for (const auto& [unit, factor] :
       {std::pair<std::string_view, double>{"us", 1.0}, {"ms", 1e3}, {"s", 1e6}}) {
    if (text.ends_with(unit)) {
      text.remove_suffix(unit.size());
      scale = factor;
      break;
    }
  }
  const auto number = parse_number(text);
  // A year is long enough, and far from where the count would overflow.
  if (scale == 0 || !number || *number < 0 || *number * scale > 3.2e13) return std::nullopt;
  return Micros{static_cast<std::int64_t>(std::llround(*number * scale))};
}

std::optional<std::pair<Micros, Micros>> parse_delay(std::string_view text) {
  const std::size_t dots = text.find("..");
  if (dots == std::string_view::npos) return std::nullopt;
  const auto low = parse_duration(text.substr(0, dots));
  const auto high = parse_duration(text.substr(dots + 2));
  if (!low || !high || *low > *high) return std::nullopt;
  return std::pair{*low, *high};
}

std::optional<double> parse_chance(std::string_view text) {
  const auto number = parse_number(text);
  if (!number || *number < 0 || *number > 1) return std::nullopt;
  return number;
}

Result<NodeAction, std::string> parse_action(std::string_view line) {
  const auto words = words_of(line);
  if (words.empty()) return bad("command", "", all_verbs());
  const auto* const verb = std::ranges::find(verbs, words.front(), &Verb::name);
  if (verb == verbs.end()) return bad("command", words.front(), all_verbs());
  if (words.size() != verb->words) {
    return Failure{std::string{verb->name} + " takes " + std::to_string(verb->words - 1) +
                   " words, not " + std::to_string(words.size() - 1) + ": " +
                   std::string{verb->form}};
  }
  if (is_of_the_wire(verb->name)) return parse_wire(verb->name, words[1]);
  const auto node = words[1] == "all" ? NodeUid::everyone() : NodeUid::parse(words[1]);
  if (!node) return bad("uid", words[1], "\"all\" or a uid such as 7a10-0000002f");
  if (!is_of_a_matrix(verb->name)) return parse_for_node(verb->name, *node, words);
  auto action = parse_matrix_action(*node, words);
  if (!action) return Failure{action.error()};
  return std::visit([](auto& parsed) { return NodeAction{std::move(parsed)}; }, *action);
}

Result<ScriptStep, std::string> parse_script_step(std::string_view line) {
  const auto words = words_of(line);
  if (words.size() < 3 || words[0] != "at") {
    return bad("step", line, "at TIME COMMAND, such as: at 3.2s power 7a10-0000002f off");
  }
  const auto at = parse_duration(words[1]);
  if (!at) return bad("time", words[1], "a duration such as 500ms or 3.2s");
  const auto rest = line.substr(static_cast<std::size_t>(words[2].data() - line.data()));
  auto action = parse_action(rest);
  if (!action) return Failure{action.error()};
  return ScriptStep{*at, *std::move(action)};
}

std::optional<std::string> perform(const NodeAction& action,
                                   const std::vector<EmulatedNode*>& nodes, Moment now) {
  if (std::holds_alternative<ChangeFaults>(action)) return std::nullopt;
  const NodeUid wanted = node_of(action);
  bool any = false;
  std::optional<std::string> trouble;
  for (EmulatedNode* node : nodes) {
    if (wanted != NodeUid::everyone() && wanted != node->uid()) continue;
    any = true;
    const auto error = std::visit(Performer{*node, now}, action);
    if (error && !trouble) trouble = error;
  }
  if (!any) return "uid " + quoted(wanted.text()) + ": no such node here";
  settle_supplies(nodes, now);
  return trouble;
}

void change(FaultRates& rates, const ChangeFaults& by) {
  if (by.loss) rates.loss = *by.loss;
  if (by.corrupt) rates.corrupt = *by.corrupt;
  if (by.duplicate) rates.duplicate = *by.duplicate;
  if (by.delay) std::tie(rates.delay_min, rates.delay_max) = *by.delay;
}

}  // namespace catwalk::drivers
