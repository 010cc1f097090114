// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/show.hpp"

#include <algorithm>

#include "daemon/cli/show_switch.hpp"
#include "daemon/cli/table.hpp"

namespace catwalk::cli {
namespace {

std::string passes(const Json& seen) {
  if (!seen.contains("passband_mhz")) return "everything";
  const auto& band = seen.at("passband_mhz");
  return fixed(band[0], 3) + " to " + fixed(band[1], 3) + " MHz";
}

bool is_stale(const Json& seen) { return text_of(seen, "quality") == "stale"; }

bool is_calm(const Json& node) {
  const auto& conditions = node.at("conditions");
  return std::ranges::all_of(
      conditions, [](const Json& condition) { return text_of(condition, "level") == "calm"; });
}

}  // namespace

// In the daemon's own words. That a reading is old is not among them: it is so by its quality.
std::string state_of(const Json& node, Ages ages) {
  std::string state;
  for (const auto& condition : node.at("conditions"))
    state += (state.empty() ? "" : ", ") + text_of(condition, "word");
  if (!node.contains("seen") || !is_stale(node.at("seen"))) return state;
  if (text_of(node, "link") == "answering") state += ", stale";
  if (ages == Ages::told)
    state += ", read " + age_words(node.at("seen").at("age_ms").get<double>()) + " ago";
  return state;
}

namespace {

// Gain, filter, what it passes, supply: those in force. A passive antenna has no gain and no
// filter, whatever is set; in brackets stands what may have changed since it was read.
std::vector<std::string> cells_in_force(const Json& node) {
  if (!node.contains("seen")) return {"-", "-", "-", "-"};
  const auto& seen = node.at("seen");
  const auto& settings = seen.at("settings");
  const bool passive = seen.at("passive").get<bool>();
  std::vector<std::string> cells{passive ? "-" : gain_words(settings.at("gain_db")),
                                 passive ? "-" : text_of(settings, "filter"), passes(seen),
                                 fixed(seen.at("telemetry").at("supply_v"), 1) + " V"};
  if (is_stale(seen))
    for (auto& cell : cells)
      if (cell != "-") cell.insert(0, 1, '(').push_back(')');
  return cells;
}

}  // namespace

std::string show_findings(const Json& findings, const std::string& indent,
                          const std::string& told_of) {
  std::string lines;
  for (const auto& finding : findings) {
    const auto node = text_of(finding, "node");
    lines += indent + text_of(finding, "severity") + "  " + text_of(finding, "rule") +
             (node.empty() || node == told_of ? "" : " at " + node) + ": " +
             text_of(finding, "sentence") + '\n';
  }
  return lines;
}

std::string show_nodes(const Json& nodes, bool colour) {
  Table table{{{"NODE"},
               {"STATE"},
               {"GAIN", true},
               {"FILTER"},
               {"PASSES", true},
               {"SUPPLY", true},
               {"LINE"},
               {"HANGS"}}};
  for (const auto& node : nodes) {
    std::vector<std::string> cells{text_of(node, "name"), state_of(node)};
    for (auto& cell : cells_in_force(node)) cells.push_back(std::move(cell));
    cells.push_back(text_of(node, "line"));
    cells.push_back(text_of(node, "hangs"));
    table.add(std::move(cells), !is_calm(node));
  }
  return table.text(colour);
}

std::string show_node(const Json& node) {
  std::string lines = text_of(node, "name") + ", " + text_of(node, "hangs") + '\n';
  lines += "  state    " + state_of(node) + '\n';
  lines += "  node     " + text_of(node, "type") + ' ' + text_of(node, "uid") + " on " +
           text_of(node, "line");
  if (node.contains("firmware")) lines += ", firmware " + text_of(node, "firmware");
  lines += ", on return " + text_of(node, "on_return") + '\n';
  if (node.contains("wanted"))
    lines += "  wanted   " + settings_words(node.at("wanted")) + "  (revision " +
             std::to_string(node.at("wanted").at("revision").get<std::uint64_t>()) + ")\n";
  if (node.contains("seen")) {
    const auto& seen = node.at("seen");
    const auto& telemetry = seen.at("telemetry");
    lines += "  seen     " + settings_words(seen.at("settings")) + '\n';
    lines += "  read     " + fixed(seen.at("age_ms").get<double>() / 1000.0, 1) + " s ago, " +
             text_of(seen, "quality") + '\n';
    lines += "  passes   " + passes(seen) + '\n';
    lines += "  supply   " + fixed(telemetry.at("supply_v"), 1) + " V, " +
             std::to_string(telemetry.at("supply_ma").get<int>()) + " mA, " +
             fixed(telemetry.at("temperature_c"), 1) + " °C, detector " +
             fixed(telemetry.at("detector_dbm"), 1) + " dBm\n";
  } else {
    lines += "  seen     never\n";
  }
  if (node.contains("change"))
    lines += "  change   " + text_of(node.at("change"), "stage") + ": " +
             settings_words(node.at("change").at("settings")) + '\n';
  const auto& findings = node.at("findings");
  if (!findings.empty())
    lines += "  findings on what is in force:\n" +
             show_findings(findings, "    ", text_of(node, "name"));
  return lines;
}

std::string control_words(const Json& rack) {
  const auto control = text_of(rack, "control");
  const auto heard =
      rack.contains("other_heard")
          ? " It was heard last at " + to_the_second(text_of(rack, "other_heard")) + '.'
          : std::string{};
  if (control == "watching")
    return "only watching: " + text_of(rack, "watching_because") + heard +
           " Take over to move anything.";
  if (control == "asking") return "asking the nodes whom they obey";
  if (!rack.contains("not_ours")) return "ours";
  std::string names;
  for (const auto& name : rack.at("not_ours"))
    names += (names.empty() ? "" : ", ") + name.get<std::string>();
  return "ours, but for " + names + ": another controller has them." + heard;
}

std::string show_rack(const Json& rack) {
  std::string lines = text_of(rack, "name") + "\n  segment  " + text_of(rack, "segment") +
                      "\n  region   " + text_of(rack, "region") + "\n  epoch    " +
                      std::to_string(rack.at("epoch").get<std::uint64_t>()) + "\n  control  " +
                      control_words(rack) + "\n  lock     ";
  if (!rack.at("locked").get<bool>()) return lines + "open\n";
  const auto& lock = rack.at("lock");
  lines += "locked by " + text_of(lock, "who") + " at " + to_the_second(text_of(lock, "since"));
  if (const auto why = text_of(lock, "why"); !why.empty()) lines += ": " + why;
  return lines + '\n';
}

std::string show_segments(const Json& segments, const std::string& active) {
  Table table{{{"SEGMENT"}, {"ACTIVE"}, {"RECEIVE", true}, {"TRANSMIT", true}, {"TITLE"}}};
  for (const auto& segment : segments) {
    int receive = 0;
    int transmit = 0;
    for (const auto& carrier : segment.at("carriers"))
      ++(text_of(carrier, "use") == "receive" ? receive : transmit);
    const auto name = text_of(segment, "name");
    table.add({name, name == active ? "active" : "", std::to_string(receive),
               std::to_string(transmit), text_of(segment, "title")});
  }
  return table.text(false);
}

namespace {

// "7 found, 2 not in the rack file, 1 in doubt"; empty: nobody has searched, or nothing was found.
std::string searched_in_words(const Json& line) {
  if (line.value("searching", false)) return "searching";
  std::size_t others = 0;
  std::size_t doubtful = 0;
  const auto& discovered = line.at("discovered");
  for (const auto& found : discovered) {
    others += found.contains("node") ? 0 : 1;
    doubtful += found.contains("doubt") ? 1 : 0;
  }
  if (discovered.empty()) return {};
  auto words = std::to_string(discovered.size()) + " found";
  if (others != 0) words += ", " + std::to_string(others) + " not in the rack file";
  if (doubtful != 0) words += ", " + std::to_string(doubtful) + " in doubt";
  return words;
}

}  // namespace

std::string show_lines(const Json& lines, bool colour) {
  Table table{{{"LINE"}, {"STATE"}, {"REASON"}, {"LAST SEARCH"}}};
  for (const auto& line : lines) {
    const bool up = line.at("up").get<bool>();
    table.add({text_of(line, "name"), up ? "up" : "down", text_of(line, "reason"),
               searched_in_words(line)},
              !up);
  }
  return table.text(colour);
}

std::string show_discovered(const Json& line) {
  const auto trouble = text_of(line, "trouble");
  const auto incomplete = trouble.empty() ? "" : "The search was not complete: " + trouble + '\n';
  if (line.at("discovered").empty())
    return "No node answered on " + text_of(line, "name") + ".\n" + incomplete;
  Table table{{{"UID"}, {"ADDRESS", true}, {"NODE"}, {"TYPE"}, {"FIRMWARE"}, {"ENDPOINT"}}};
  std::string doubts;
  for (const auto& found : line.at("discovered")) {
    const auto uid = text_of(found, "uid");
    table.add(
        {uid, found.contains("address") ? std::to_string(found.at("address").get<int>()) : "-",
         text_of(found, "node", "not in the rack file"), text_of(found, "type", "-"),
         text_of(found, "firmware", "-"), text_of(found, "endpoint", "-")},
        !found.contains("node"));
    if (const auto doubt = text_of(found, "doubt"); !doubt.empty())
      doubts.append(uid).append(": ").append(doubt).push_back('\n');
  }
  return table.text(false) + doubts + incomplete;
}

// "shelved by ana until 2026-08-14 20:30:00Z: the mast is being moved"
std::string shelving_words(const Json& alarm) {
  const auto& shelved = alarm.at("shelved");
  return "shelved by " + text_of(shelved, "by") + " until " +
         to_the_second(text_of(shelved, "until")) + ": " + text_of(shelved, "why");
}

namespace {

// The active ones first, and each behind the one that it follows from; true: it follows.
std::vector<std::pair<bool, const Json*>> under_their_causes(const Json& alarms) {
  const auto under = [](const Json& alarm) { return alarm.value("under", std::uint64_t{0}); };
  std::vector<const Json*> roots;
  for (const bool active : {true, false})
    for (const auto& alarm : alarms)
      if (!alarm.contains("under") && alarm.at("active").get<bool>() == active)
        roots.push_back(&alarm);
  std::vector<std::pair<bool, const Json*>> ordered;
  for (const auto* root : roots) {
    const auto& alarm = *root;
    ordered.emplace_back(false, &alarm);
    for (const auto& other : alarms)
      if (under(other) == alarm.at("id").get<std::uint64_t>()) ordered.emplace_back(true, &other);
  }
  return ordered;
}

}  // namespace

std::string show_alarms(const Json& alarms, bool colour) {
  if (alarms.empty()) return "No alarms.\n";
  Table table{{{"NO.", true}, {"STATE"}, {"SINCE"}, {"WHAT"}}};
  for (const auto& [follows, entry] : under_their_causes(alarms)) {
    const auto& alarm = *entry;
    const bool active = alarm.at("active").get<bool>();
    const bool acknowledged = alarm.at("acknowledged").get<bool>();
    const bool shelved = alarm.contains("shelved");
    table.add(
        {std::to_string(alarm.at("id").get<std::uint64_t>()),
         std::string{active ? "active" : "returned"} + (acknowledged ? ", acknowledged" : "") +
             (shelved ? ", shelved" : ""),
         to_the_second(text_of(alarm, "raised_at")),
         (follows ? "  from no. " + std::to_string(alarm.at("under").get<std::uint64_t>()) + ": "
                  : "") +
             text_of(alarm, "sentence") + (shelved ? " (" + shelving_words(alarm) + ')' : "")},
        active && !acknowledged && !shelved);
  }
  return table.text(colour);
}

std::string show_journal(const Json& entries) {
  std::string lines;
  for (auto entry = entries.rbegin(); entry != entries.rend(); ++entry) {
    lines += std::to_string(entry->at("sequence").get<std::uint64_t>()) + "  " +
             to_the_second(text_of(*entry, "at")) + "  " + text_of(*entry, "kind") + "  " +
             text_of(*entry, "who");
    if (const auto node = text_of(*entry, "node"); !node.empty()) lines += "  " + node;
    if (entry->contains("change"))
      lines += "  change " + std::to_string(entry->at("change").get<std::uint64_t>());
    if (const auto what = text_of(*entry, "what"); !what.empty()) lines += "  " + what;
    if (const auto fate = text_of(*entry, "fate"); !fate.empty()) lines += "  " + fate;
    lines += '\n';
    for (const char* part : {"why", "waiver", "verdict"}) {
      auto words = text_of(*entry, part);
      if (words.empty()) continue;
      for (std::size_t at = 0; (at = words.find('\n', at)) != std::string::npos; at += 15)
        words.replace(at, 1, "\n" + std::string(14, ' '));
      lines += "    " + std::string{part} + std::string(10 - std::string{part}.size(), ' ') +
               words + '\n';
    }
  }
  return lines;
}

}  // namespace catwalk::cli
