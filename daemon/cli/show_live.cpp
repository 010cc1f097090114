// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/show_live.hpp"

#include "daemon/cli/show.hpp"
#include "daemon/cli/show_switch.hpp"
#include "daemon/cli/table.hpp"

namespace catwalk::cli {
namespace {

std::string alarm_words(const Json& alarm) {
  const bool active = alarm.at("active").get<bool>();
  auto words = "alarm " + std::to_string(alarm.at("id").get<std::uint64_t>()) +
               (active ? ": " : ", returned: ") + text_of(alarm, "sentence");
  if (alarm.at("acknowledged").get<bool>())
    words += " (acknowledged by " + text_of(alarm, "acknowledged_by") + ')';
  if (alarm.contains("shelved")) words += " (" + shelving_words(alarm) + ')';
  return words;
}

std::string node_words(const Json& node) {
  auto words = text_of(node, "name") + ": " + state_of(node, Ages::left_out);
  if (node.contains("seen")) words += "; seen " + settings_words(node.at("seen").at("settings"));
  return words;
}

std::string rack_words(const Json& rack) {
  auto words = "rack: segment " + text_of(rack, "segment") + ", epoch " +
               std::to_string(rack.at("epoch").get<std::uint64_t>());
  if (const auto control = control_words(rack); control != "ours") words += ", " + control;
  if (!rack.at("locked").get<bool>()) return words + ", open";
  const auto& lock = rack.at("lock");
  words += ", locked by " + text_of(lock, "who");
  if (const auto why = text_of(lock, "why"); !why.empty()) words += ": " + why;
  return words;
}

std::string line_words(const Json& line) {
  auto words = "line " + text_of(line, "name") + (line.at("up").get<bool>() ? ": up" : ": down");
  if (const auto reason = text_of(line, "reason"); !reason.empty()) words += ", " + reason;
  return words;
}

std::string tick_words(const Json& tick) {
  return "crew sheet " + text_of(tick, "from") + " → " + text_of(tick, "to") + ": " +
         text_of(tick, "row") + " ticked by " + text_of(tick, "who");
}

// Everything a message tells of, by what it is; each as it is told.
Json told_by(const Json& message) {
  Json told = Json::object();
  const auto add = [&](const char* list, const char* key, std::string (*words)(const Json&)) {
    if (!message.contains(list)) return;
    for (const auto& entry : message.at(list))
      told[std::string{list} + '/' + entry.at(key).dump()] = words(entry);
  };
  if (message.contains("rack")) told["rack"] = rack_words(message.at("rack"));
  if (message.contains("running_order"))
    told["running_order"] = order_words(message.at("running_order"));
  if (message.contains("switch")) told["switch"] = switch_words(message.at("switch"));
  add("nodes", "name", node_words);
  add("lines", "name", line_words);
  add("alarms", "id", alarm_words);
  if (message.contains("ticks"))
    for (const auto& tick : message.at("ticks"))
      told["ticks/" + tick.at("from").dump() + tick.at("to").dump() + tick.at("row").dump()] =
          tick_words(tick);
  return told;
}

}  // namespace

std::string show_live(const Json& message, const std::string& time, Json& known) {
  const auto type = text_of(message, "type");
  if (type != "snapshot" && type != "change") return {};
  const auto told = told_by(message);
  if (known.empty()) {
    known = told;
    return type == "change" ? std::string{}
                            : time + "  as it is now\n" + show_nodes(message.at("nodes"), false) +
                                  show_alarms(message.at("alarms"), false);
  }
  std::string lines;
  const auto tell = [&](const std::string& words) { lines += time + "  " + words + '\n'; };
  for (const auto& [what, words] : told.items()) {
    if (!known.contains(what) || known.at(what) != words) tell(words);
    known[what] = words;
  }
  // These lists are always whole: what is not in one any more is over.
  for (const std::string list : {"alarms", "ticks"}) {
    if (!message.contains(list)) continue;
    for (auto item = known.begin(); item != known.end();) {
      if (item.key().starts_with(list + '/') && !told.contains(item.key())) {
        tell("over: " + item.value().get<std::string>());
        item = known.erase(item);
      } else {
        ++item;
      }
    }
  }
  return lines;
}

}  // namespace catwalk::cli
