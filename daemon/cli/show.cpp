// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/show.hpp"

#include <cstdio>

#include "daemon/cli/table.hpp"

namespace catwalk::cli {
namespace {

std::string fixed(double value, int decimals) {
  char text[64];
  std::snprintf(text, sizeof text, "%.*f", decimals, value);
  return text;
}

std::string gain(double decibels) { return (decibels < 0 ? "" : "+") + fixed(decibels, 2) + " dB"; }

std::string text(const Json& object, const char* name, const std::string& otherwise = {}) {
  const auto found = object.find(name);
  return found != object.end() && found->is_string() ? found->get<std::string>() : otherwise;
}

std::string settings_line(const Json& settings) {
  std::string line = "gain " + gain(settings.at("gain_db")) + ", " + text(settings, "filter");
  if (settings.contains("centre_mhz"))
    line += " at " + fixed(settings.at("centre_mhz"), 3) + " MHz";
  line += settings.at("power").get<bool>() ? ", power on" : ", power off";
  if (const auto label = text(settings, "label"); !label.empty())
    line += ", label \"" + label + '"';
  return line;
}

std::string passes(const Json& seen) {
  if (!seen.contains("passband_mhz")) return "everything";
  const auto& band = seen.at("passband_mhz");
  return fixed(band[0], 3) + " to " + fixed(band[1], 3) + " MHz";
}

std::string state_of(const Json& node) {
  std::string state;
  const auto add = [&state](const std::string& word) {
    state += (state.empty() ? "" : ", ") + word;
  };
  if (text(node, "link") != "answering") add(text(node, "link"));
  if (text(node, "agreement") != "agreed") add(text(node, "agreement"));
  for (const auto& finding : node.at("findings"))
    if (text(finding, "severity") == "refuse") {
      add("off plan");
      break;
    }
  if (node.contains("seen")) {
    const auto& seen = node.at("seen");
    if (!seen.at("telemetry").at("powered").get<bool>())
      add("no supply: passive");
    else if (seen.at("passive").get<bool>())
      add("power off: passive");
    if (text(seen, "quality") == "stale" && text(node, "link") == "answering") add("stale");
  }
  return state.empty() ? "agreed" : state;
}

// "2026-11-25T19:30:00.250000Z" → "2026-11-25 19:30:00Z"
std::string to_the_second(const std::string& time) {
  if (time.size() < 19) return time;
  return time.substr(0, 10) + ' ' + time.substr(11, 8) + 'Z';
}

}  // namespace

std::string show_findings(const Json& findings, const std::string& indent) {
  std::string lines;
  for (const auto& finding : findings)
    lines += indent + text(finding, "severity") + "  " + text(finding, "rule") + ": " +
             text(finding, "sentence") + '\n';
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
    const auto state = state_of(node);
    std::vector<std::string> cells{text(node, "name"), state};
    if (node.contains("seen")) {
      const auto& seen = node.at("seen");
      const auto& telemetry = seen.at("telemetry");
      cells.insert(cells.end(),
                   {gain(seen.at("settings").at("gain_db")), text(seen.at("settings"), "filter"),
                    passes(seen), fixed(telemetry.at("supply_v"), 1) + " V"});
    } else {
      cells.insert(cells.end(), {"-", "-", "-", "-"});
    }
    cells.push_back(text(node, "line"));
    cells.push_back(text(node, "hangs"));
    table.add(std::move(cells), state != "agreed");
  }
  return table.text(colour);
}

std::string show_node(const Json& node) {
  std::string lines = text(node, "name") + ", " + text(node, "hangs") + '\n';
  lines += "  state    " + state_of(node) + '\n';
  lines +=
      "  node     " + text(node, "type") + ' ' + text(node, "uid") + " on " + text(node, "line");
  if (node.contains("firmware")) lines += ", firmware " + text(node, "firmware");
  lines += ", on return " + text(node, "on_return") + '\n';
  if (node.contains("wanted"))
    lines += "  wanted   " + settings_line(node.at("wanted")) + "  (revision " +
             std::to_string(node.at("wanted").at("revision").get<std::uint64_t>()) + ")\n";
  if (node.contains("seen")) {
    const auto& seen = node.at("seen");
    const auto& telemetry = seen.at("telemetry");
    lines += "  seen     " + settings_line(seen.at("settings")) + '\n';
    lines += "  read     " + fixed(seen.at("age_ms").get<double>() / 1000.0, 1) + " s ago, " +
             text(seen, "quality") + '\n';
    lines += "  passes   " + passes(seen) + '\n';
    lines += "  supply   " + fixed(telemetry.at("supply_v"), 1) + " V, " +
             std::to_string(telemetry.at("supply_ma").get<int>()) + " mA, " +
             fixed(telemetry.at("temperature_c"), 1) + " °C, detector " +
             fixed(telemetry.at("detector_dbm"), 1) + " dBm\n";
  } else {
    lines += "  seen     never\n";
  }
  if (node.contains("change"))
    lines += "  change   " + text(node.at("change"), "stage") + ": " +
             settings_line(node.at("change").at("settings")) + '\n';
  const auto& findings = node.at("findings");
  if (!findings.empty())
    lines += "  findings on the wanted settings:\n" + show_findings(findings, "    ");
  return lines;
}

std::string show_rack(const Json& rack) {
  std::string lines = text(rack, "name") + "\n  segment  " + text(rack, "segment") +
                      "\n  region   " + text(rack, "region") + "\n  epoch    " +
                      std::to_string(rack.at("epoch").get<std::uint64_t>()) + "\n  lock     ";
  if (!rack.at("locked").get<bool>()) return lines + "open\n";
  const auto& lock = rack.at("lock");
  lines += "locked by " + text(lock, "who") + " at " + to_the_second(text(lock, "since"));
  if (const auto why = text(lock, "why"); !why.empty()) lines += ": " + why;
  return lines + '\n';
}

std::string show_segments(const Json& segments, const std::string& active) {
  Table table{{{"SEGMENT"}, {"ACTIVE"}, {"RECEIVE", true}, {"TRANSMIT", true}, {"TITLE"}}};
  for (const auto& segment : segments) {
    int receive = 0;
    int transmit = 0;
    for (const auto& carrier : segment.at("carriers"))
      ++(text(carrier, "use") == "receive" ? receive : transmit);
    const auto name = text(segment, "name");
    table.add({name, name == active ? "active" : "", std::to_string(receive),
               std::to_string(transmit), text(segment, "title")});
  }
  return table.text(false);
}

std::string show_lines(const Json& lines, bool colour) {
  Table table{{{"LINE"}, {"STATE"}, {"REASON"}}};
  for (const auto& line : lines) {
    const bool up = line.at("up").get<bool>();
    table.add({text(line, "name"), up ? "up" : "down", text(line, "reason")}, !up);
  }
  return table.text(colour);
}

std::string show_discovered(const Json& line) {
  Table table{{{"UID"}, {"ADDRESS", true}, {"NODE"}}};
  for (const auto& found : line.at("discovered"))
    table.add({text(found, "uid"),
               found.contains("address") ? std::to_string(found.at("address").get<int>()) : "-",
               text(found, "node", "not in the rack file")},
              !found.contains("node"));
  std::string shown = table.text(false);
  if (const auto trouble = text(line, "trouble"); !trouble.empty())
    shown += "The search was not complete: " + trouble + '\n';
  return shown;
}

std::string show_alarms(const Json& alarms, bool colour) {
  if (alarms.empty()) return "No alarms.\n";
  Table table{{{"NO.", true}, {"STATE"}, {"SINCE"}, {"WHAT"}}};
  for (const auto& alarm : alarms) {
    const bool active = alarm.at("active").get<bool>();
    const bool acknowledged = alarm.at("acknowledged").get<bool>();
    table.add({std::to_string(alarm.at("id").get<std::uint64_t>()),
               std::string{active ? "active" : "returned"} + (acknowledged ? ", acknowledged" : ""),
               to_the_second(text(alarm, "raised_at")), text(alarm, "sentence")},
              active && !acknowledged);
  }
  return table.text(colour);
}

std::string show_journal(const Json& entries) {
  std::string lines;
  for (auto entry = entries.rbegin(); entry != entries.rend(); ++entry) {
    lines += to_the_second(text(*entry, "at")) + "  " + text(*entry, "kind") + "  " +
             text(*entry, "who");
    if (const auto node = text(*entry, "node"); !node.empty()) lines += "  " + node;
    if (entry->contains("change"))
      lines += "  change " + std::to_string(entry->at("change").get<std::uint64_t>());
    if (const auto what = text(*entry, "what"); !what.empty()) lines += "  " + what;
    if (const auto fate = text(*entry, "fate"); !fate.empty()) lines += "  " + fate;
    lines += '\n';
    for (const char* part : {"why", "waiver", "verdict"}) {
      auto words = text(*entry, part);
      if (words.empty()) continue;
      for (std::size_t at = 0; (at = words.find('\n', at)) != std::string::npos; at += 15)
        words.replace(at, 1, "\n" + std::string(14, ' '));
      lines += "    " + std::string{part} + std::string(10 - std::string{part}.size(), ' ') +
               words + '\n';
    }
  }
  return lines;
}

std::string show_live(const Json& message, Json& known) {
  std::string lines;
  const auto type = text(message, "type");
  if (type == "snapshot") {
    known = Json::object();
    for (const auto& node : message.at("nodes")) known[text(node, "name")] = node;
    return show_nodes(message.at("nodes"), false) + show_alarms(message.at("alarms"), false);
  }
  if (type != "change") return {};
  if (message.contains("rack")) lines += show_rack(message.at("rack"));
  if (message.contains("nodes"))
    for (const auto& node : message.at("nodes")) {
      auto& before = known[text(node, "name")];
      const auto shown = [](const Json& of) {
        std::string line = state_of(of);
        if (of.contains("seen")) line += "; seen " + settings_line(of.at("seen").at("settings"));
        return line;
      };
      if (before.is_null() || shown(before) != shown(node))
        lines += text(node, "name") + ": " + shown(node) + '\n';
      before = node;
    }
  if (message.contains("alarms")) lines += show_alarms(message.at("alarms"), false);
  return lines;
}

}  // namespace catwalk::cli
