// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/show_switch.hpp"

#include <algorithm>
#include <vector>

#include "daemon/cli/show.hpp"
#include "daemon/cli/show_crew.hpp"
#include "daemon/cli/show_matrix.hpp"
#include "daemon/cli/table.hpp"

namespace catwalk::cli {
namespace {

std::string milliseconds_words(double milliseconds) {
  return milliseconds < 10'000 ? fixed(milliseconds, milliseconds < 10 ? 1 : 0) + " ms"
                               : fixed(milliseconds / 1000, 1) + " s";
}

// "gain +3 dB → +6 dB, centre 518.000 MHz → 616.000 MHz": what differs.
std::string difference_words(const Json& before, const Json& after) {
  if (is_of_matrix(before) && is_of_matrix(after)) return route_differences(before, after);
  std::string words;
  for (const auto& [word, setting] : words_of(Setting{})) {
    const auto from = setting_words(before, setting);
    const auto to = setting_words(after, setting);
    if (from != to)
      words.append(words.empty() ? "" : ", ").append(word).append(" " + from + " → " + to);
  }
  return words.empty() ? "nothing" : words;
}

std::string trigger_words(const Json& trigger) {
  const auto by = text_of(trigger, "by");
  if (by == "clock") {
    const auto date = text_of(trigger, "date");
    return "at " + text_of(trigger, "at") + (date.empty() ? ", every day" : " on " + date);
  }
  if (by == "duration")
    return std::to_string(trigger.at("seconds").get<long>()) + " s after " +
           text_of(trigger, "after");
  if (by == "message") return "message \"" + text_of(trigger, "text") + '"';
  return "by hand";
}

std::string readiness_words(const std::string& would_be) {
  if (would_be == "done") return "ready to go";
  if (would_be == "busy") return "not now";
  return verdict_words(would_be == "unreachable" ? "refused" : would_be);
}

// "finale is armed by Ana until 2026-08-14 18:00:00Z, ready to go"
std::string armed_words(const Json& armed) {
  auto words = text_of(armed, "cue") + " is armed by " + text_of(armed, "who") + " until " +
               to_the_second(text_of(armed, "until"));
  if (armed.contains("without")) {
    std::string names;
    for (const auto& name : armed.at("without"))
      names += (names.empty() ? "" : ", ") + name.get<std::string>();
    words += ", without " + names;
  }
  if (armed.contains("would_be")) words += ", " + readiness_words(text_of(armed, "would_be"));
  return words;
}

// What of the crew sheet stands open, where it is told: a warning.
std::string crew_lines(const Json& document) {
  const auto open = text_of(document, "not_ticked");
  return open.empty() ? open : "  " + wrapped("Warning: " + open, 94, "  ");
}

// "truss-left, truss-right (gain)"
std::string move_words(const Json& moves) {
  std::string words;
  for (const auto& move : moves) {
    words += (words.empty() ? "" : ", ") + text_of(move, "node");
    if (const auto part = text_of(move, "part"); part != "whole") words += " (" + part + ')';
  }
  return words;
}

// Cautions and refusals one by one, notes by their number: there is one for each node.
std::string end_words(const Json& findings, const std::string& segment) {
  std::string lines;
  std::size_t told = 0;
  for (const auto& finding : findings) {
    if (text_of(finding, "severity") == "note") continue;
    ++told;
    const auto node = text_of(finding, "node");
    lines += "  at the end: " + text_of(finding, "severity") + "  " + text_of(finding, "rule") +
             (node.empty() ? "" : " at " + node) + ": " + text_of(finding, "sentence") + '\n';
  }
  if (const auto notes = findings.size() - told; notes > 0)
    lines += "At the end: " + std::to_string(notes) + (notes == 1 ? " note" : " notes") +
             "; see catwalk check-segment " + segment + " --all.\n";
  return lines;
}

double time_of_step(const Json& lines, std::size_t step) {
  double longest = 0;
  for (const auto& line : lines)
    longest = std::max(longest, line.at("steps_ms").at(step).get<double>());
  return longest;
}

}  // namespace

namespace {

// What becomes of the trigger of the next cue under the show lock; empty: it is not held.
std::string held_by_lock_words(const Json& order) {
  if (!order.value("next_held_by_lock", false)) return {};
  const auto next = text_of(order, "next");
  for (const auto& cue : order.at("cues")) {
    if (text_of(cue, "name") != next) continue;
    const auto by = text_of(cue.at("trigger"), "by");
    const auto* what = by == "hand"      ? "going there is refused"
                       : by == "message" ? "its message is refused"
                                         : "it is held when its time comes";
    return "The rack is locked: unless " + next + " is armed, " + what +
           ". To arm it: catwalk arm.\n";
  }
  return {};
}

}  // namespace

std::string order_words(const Json& order) {
  auto words = "running order: at " + text_of(order, "at", "no cue") + ", next " +
               text_of(order, "next", "none");
  if (order.contains("held_because"))
    words += ", held: " + text_of(order, "held_because");
  else if (order.contains("due_local"))
    words += " on " + text_of(order, "due_local") + ' ' + text_of(order, "zone");
  if (order.value("next_held_by_lock", false)) words += ", held by the show lock unless armed";
  if (order.contains("armed")) words += "; " + armed_words(order.at("armed"));
  for (const auto& segment : order.at("waiting"))
    words += "; " + segment.get<std::string>() + " is waiting";
  return words;
}

std::string switch_words(const Json& switched) {
  auto words =
      "switch " + std::to_string(switched.at("id").get<std::uint64_t>()) + ": " +
      (switched.value("restores", false)
           ? "back to what is wanted in " + text_of(switched, "to")
           : text_of(switched, "from") + " → " + text_of(switched, "to")) +
      ", " +
      (switched.at("back").get<bool>() && !switched.at("ended").get<bool>() ? "going back, " : "") +
      spaced(text_of(switched, "stage"));
  const auto step = switched.at("step").get<std::size_t>();
  if (step > 0 && !switched.at("ended").get<bool>())
    words += ", step " + std::to_string(step) + " of " +
             std::to_string(switched.at("steps").get<std::size_t>());
  if (const auto reason = text_of(switched, "reason"); !reason.empty()) words += ": " + reason;
  return words;
}

std::string show_armed(const Json& armed) {
  auto lines = armed_words(armed) + ". It passes the show lock, once.\n";
  if (armed.contains("obstacles"))
    for (const auto& obstacle : armed.at("obstacles"))
      lines += "  " + wrapped(obstacle.get<std::string>(), 94, "  ");
  return lines + crew_lines(armed);
}

std::string show_order(const Json& order) {
  if (order.at("cues").empty()) return "This show has no running order.\n";
  Table table{{{""}, {"CUE"}, {"SEGMENT"}, {"TRIGGER"}}};
  for (const auto& cue : order.at("cues")) {
    const auto name = text_of(cue, "name");
    const bool is_at = name == text_of(order, "at");
    const bool is_next = name == text_of(order, "next");
    auto trigger = trigger_words(cue.at("trigger"));
    if (is_next && order.contains("held_because"))
      trigger += ": held";
    else if (is_next && order.contains("due_local"))
      trigger += ": next on " + text_of(order, "due_local");
    if (is_next && order.value("next_held_by_lock", false)) trigger += ", unless armed: locked";
    table.add({is_at     ? "at"
               : is_next ? "next"
                         : "",
               name, text_of(cue, "segment"), std::move(trigger)});
  }
  auto lines = table.text(false);
  lines += "Clock times in " + text_of(order, "zone") +
           ". A second trigger during a switch: " + text_of(order, "second_trigger") +
           ". After a restart in the middle: " + text_of(order, "after_restart") + ".\n";
  if (const auto because = text_of(order, "held_because"); !because.empty())
    lines += "The next cue does not go by itself: " + because + ". Go by hand.\n";
  lines += held_by_lock_words(order);
  if (order.contains("armed")) lines += show_armed(order.at("armed"));
  if (order.contains("reload_armed"))
    lines += "Reload is armed by " + text_of(order.at("reload_armed"), "who") + " until " +
             to_the_second(text_of(order.at("reload_armed"), "until")) + ".\n";
  for (const auto& segment : order.at("waiting"))
    lines += segment.get<std::string>() + " was triggered and waits for its turn.\n";
  return lines;
}

namespace {

// Whether it may go, and what is in the way.
std::string preview_head(const Json& preview) {
  const bool stays = text_of(preview, "from") == text_of(preview, "to");
  auto lines = stays ? "In " + text_of(preview, "to")
                     : text_of(preview, "from") + " → " + text_of(preview, "to");
  if (preview.contains("cue")) lines += ", cue " + text_of(preview, "cue");
  if (!preview.value("from_now", true))
    lines += ", from every node as " + text_of(preview, "from") + " has it";
  const bool nothing = stays && preview.at("nodes").empty();
  const auto would_be = text_of(preview, "would_be");
  lines +=
      ": " + (nothing && would_be == "done" ? "nothing to do" : readiness_words(would_be)) + '\n';
  for (const auto& obstacle : preview.at("obstacles"))
    lines += "  " + wrapped(obstacle.get<std::string>(), 94, "  ");
  if (preview.contains("if_armed"))
    lines += "  Once it is armed: " + readiness_words(text_of(preview.at("if_armed"), "would_be")) +
             ".\n";
  if (text_of(preview, "would_be") == "unreachable") {
    std::string names;
    for (const auto& name : preview.at("missing"))
      names += (names.empty() ? "" : ",") + name.get<std::string>();
    lines += "  To go all the same: catwalk go " + text_of(preview, "to") + " --without " + names +
             " --why … --waive … --by …\n";
  }
  return lines;
}

// "Then parade follows by itself, 60 s after finale.": what comes once the switch is done.
std::string follows_words(const Json& preview) {
  if (!preview.contains("follows")) return {};
  const auto& follows = preview.at("follows");
  return "Then " + text_of(follows, "cue") + " follows by itself, " +
         (follows.contains("due_local") ? "on " + text_of(follows, "due_local")
                                        : trigger_words(follows.at("trigger"))) +
         (follows.at("held_by_lock").get<bool>() ? ", if it is armed by then.\n" : ".\n");
}

}  // namespace

std::string show_preview(const Json& preview) {
  auto lines = preview_head(preview);
  if (preview.at("nodes").empty()) lines += "No node has to move.\n";
  Table table{{{"NODE"}, {"LINE"}, {"MOVES"}}};
  for (const auto& node : preview.at("nodes")) {
    auto words = difference_words(node.at("before"), node.at("target"));
    if (node.at("left_out").get<bool>())
      words.insert(0, "left out, stays as it is; wanted: ");
    else if (!node.at("answers").get<bool>())
      words += "; does not answer";
    else if (!node.at("supplied").get<bool>())
      words += "; without supply, passive";
    table.add({text_of(node, "node"), text_of(node, "line"), std::move(words)});
  }
  if (!preview.at("nodes").empty()) lines += table.text(false);
  const auto& steps = preview.at("steps");
  for (std::size_t i = 0; i < steps.size(); ++i) {
    const auto& step = steps.at(i);
    lines += "Step " + std::to_string(i + 1) + " of " + std::to_string(steps.size());
    if (const auto time = time_of_step(preview.at("lines"), i); time > 0)
      lines += ", about " + milliseconds_words(time);
    lines += ": " + wrapped(move_words(step.at("moves")), 80, "  ");
    lines += show_findings(step.at("in_flight"), "  in flight: ");
    if (i + 1 < steps.size()) lines += show_findings(step.at("after"), "  then: ");
  }
  if (!steps.empty() && preview.at("clean").get<bool>())
    lines += "No moment on the way is worse than either end.\n";
  if (!preview.at("clean").get<bool>() && !preview.at("least_bad").get<bool>())
    lines += "It is not proven that there is no better way.\n";
  if (const auto time = preview.at("time_ms").get<double>(); time > 0) {
    std::string each;
    for (const auto& line : preview.at("lines"))
      each += (each.empty() ? "" : ", ") + text_of(line, "line") + ' ' +
              milliseconds_words(line.at("total_ms"));
    lines += "Expected: about " + milliseconds_words(time) + " (" + each + ").\n";
  }
  lines += follows_words(preview);
  if (preview.contains("crew_sheet") && !preview.at("crew_sheet").at("rows").empty()) {
    const auto& sheet = preview.at("crew_sheet");
    lines += "Crew sheet: " + crew_words(sheet) + "; see catwalk crew " + text_of(preview, "to") +
             (preview.value("from_now", true) ? "" : " --from " + text_of(preview, "from")) +
             ".\n" + crew_lines(sheet);
  }
  return lines + end_words(preview.at("end"), text_of(preview, "to"));
}

std::string show_switch(const Json& switched) {
  auto lines = switch_words(switched) + '\n' + crew_lines(switched);
  const auto of_all = text_of(switched, "reason");
  for (const auto& node : switched.at("nodes")) {
    lines += "  " + text_of(node, "node") + ": " + text_of(node, "word");
    if (text_of(node, "where") == "target")
      lines += ", " + difference_words(node.at("before"), node.at("target"));
    // Unless it stands in the first line already.
    if (const auto reason = text_of(node, "reason");
        !reason.empty() && of_all.find(reason) == std::string::npos)
      lines += ": " + reason;
    if (const auto what = text_of(node, "what_to_do"); !what.empty())
      lines += (lines.ends_with('.') ? " " : ". ") + what;
    lines += '\n';
  }
  return lines;
}

}  // namespace catwalk::cli
