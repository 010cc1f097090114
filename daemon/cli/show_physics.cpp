// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/show_physics.hpp"

#include <algorithm>
#include <map>
#include <utility>
#include <vector>

#include "daemon/cli/interferers_in_words.hpp"
#include "daemon/cli/show.hpp"
#include "daemon/cli/table.hpp"

namespace catwalk::cli {
namespace {

// What other antennas bring has a column where they bring anything.
std::string stage_table(const Json& stages) {
  std::vector<std::pair<const char*, const char*>> figures{
      {"GAIN dB", "gain_db"},
      {"GAIN SO FAR dB", "gain_so_far_db"},
      {"NF SO FAR dB", "noise_figure_so_far_db"},
      {"WEAKEST dBm", "weakest_dbm"},
      {"STRONGEST dBm", "strongest_dbm"},
      {"ALL dBm", "all_carriers_dbm"}};
  if (std::any_of(stages.begin(), stages.end(),
                  [](const Json& stage) { return stage.contains("other_antennas_dbm"); }))
    figures.emplace_back("OTHER ANTENNAS dBm", "other_antennas_dbm");
  figures.insert(
      figures.end(),
      {{"NOISE dBm", "noise_dbm"}, {"OIP3 dBm", "output_ip3_dbm"}, {"MARGIN dB", "margin_db"}});
  std::vector<Column> columns{{"STAGE"}};
  for (const auto& [title, member] : figures) columns.push_back({title, true});
  Table table{std::move(columns)};
  for (const auto& stage : stages) {
    std::vector<std::string> row{text_of(stage, "name")};
    for (const auto& [title, member] : figures) row.push_back(figure(stage, member));
    table.add(std::move(row));
  }
  return table.text(false);
}

// As short as can be: "6", "537.975".
std::string plain(const Json& number) {
  auto text = number.dump();
  if (text.ends_with(".0")) text.resize(text.size() - 2);
  return text;
}

// "At the antenna, in these 200 kHz: noise -113.4 dBm, interference -120.1 dBm (…); needed …,
// weakest …: margin …"
std::string bottom_line(const Json& chain, const std::optional<double>& now) {
  const auto& budget = chain.at("budget");
  auto line = "At the antenna, in these " + plain(chain.at("bandwidth_khz")) + " kHz: noise " +
              level(budget, "noise_dbm");
  if (budget.contains("external_noise_db"))
    line += " (with " + figure(budget, "external_noise_db") + " dB over kT0B from outside)";
  line += ", interference " + level(budget, "interference_dbm");
  std::string parts;
  for (const auto& [name, word] : std::vector<std::pair<const char*, const char*>>{
           {"intermodulation_dbm", "intermodulation"},
           {"transmitter_noise_dbm", "transmitter noise"},
           {"blocking_dbm", "blocking"},
           {"co_channel_dbm", "co-channel"},
           {"spurious_response_dbm", "spurious response"},
           {"transmitter_products_dbm", "products of transmitters"},
           {"products_of_other_antennas_dbm", "products of other antennas"}})
    if (budget.contains(name))
      parts += (parts.empty() ? " (" : ", ") + std::string{word} + ' ' + level(budget, name);
  if (!parts.empty()) line += parts + "; costs " + figure(budget, "interference_costs_db") + " dB)";
  if (budget.contains("needed_dbm"))
    line += ", needed over " + text_of(budget, "needed_over", "noise") + ' ' +
            level(budget, "needed_dbm");
  if (budget.contains("weakest_dbm")) line += ", weakest " + level(budget, "weakest_dbm");
  line += budget.contains("margin_db") ? ": margin " + figure(budget, "margin_db") + " dB"
                                       : ": no margin can be told";
  if (budget.contains("margin_db") && budget.contains("margin_wanted_db"))
    line += ", wanted " + figure(budget, "margin_wanted_db") + " dB";
  if (now) line += " (now " + fixed(*now, 1) + " dB)";
  return wrapped(line, 96, "  ");
}

std::string show_chain(const Json& chain, const std::string& node, const MarginNow& now) {
  auto lines = text_of(chain, "carrier") + " at " + megahertz_words(chain.at("frequency_mhz")) +
               ", " + plain(chain.at("bandwidth_khz")) + " kHz wide, through " + node;
  if (chain.contains("receiver")) lines += " to " + text_of(chain, "receiver");
  lines += '\n' + stage_table(chain.at("stages"));
  lines += bottom_line(chain, now ? now(chain) : std::nullopt);
  return lines + interferers_in_words(chain);
}

// Under a title, where there are any.
std::string sentences(const Json& explained, const char* name, const std::string& title) {
  std::string lines;
  for (const auto& sentence : explained.at(name))
    lines += (lines.empty() ? '\n' + title + ":\n" : "") + "  " +
             wrapped(sentence.get<std::string>(), 96, "  ");
  return lines;
}

std::string show_chains(const Json& explained, const MarginNow& now) {
  std::string lines;
  for (const auto& chain : explained.at("chains"))
    lines += '\n' + show_chain(chain, text_of(explained, "node"), now);
  if (explained.at("chains").empty())
    lines += "No carrier of " + text_of(explained, "segment") + " has to be heard through " +
             text_of(explained, "node") + ".\n";
  lines += sentences(explained, "unknown", "Not known");
  return lines + sentences(explained, "assumed", "Assumed");
}

// How far one setting may go one way, and what says no there.
std::string room_words(const Json& room, const char* far, const char* stops, const char* unit) {
  return plain(room.at(far)) + ' ' + unit + " (" + text_of(room, stops, "the limits of the node") +
         ')';
}

std::string to_take(const Json& recommendation, const std::string& segment,
                    const std::string& active) {
  std::string lines;
  if (segment != active)
    lines +=
        "Changes are checked against " + active + " now; first: catwalk segment " + segment + '\n';
  return lines + "To take it:\n  " + set_command(recommendation) + '\n';
}

// A node that has nothing to hear stays as it is.
bool serves(const Json& recommendation) { return recommendation.contains("worst_carrier"); }

bool has_refusal(const Json& recommendation) {
  const auto& findings = recommendation.at("findings");
  return std::any_of(findings.begin(), findings.end(),
                     [](const Json& finding) { return text_of(finding, "severity") == "refuse"; });
}

}  // namespace

std::string set_command(const Json& recommendation) {
  const auto& settings = recommendation.at("settings");
  auto line = "catwalk set " + text_of(recommendation, "node") +
              " gain=" + plain(settings.at("gain_db")) + " filter=" + text_of(settings, "filter");
  if (settings.contains("centre_mhz")) line += " centre=" + plain(settings.at("centre_mhz"));
  return line + (settings.at("power").get<bool>() ? " power=on" : " power=off");
}

std::string show_explained(const Json& explained, const MarginNow& now) {
  return text_of(explained, "node") + " in " + text_of(explained, "segment") + ", as " +
         text_of(explained, "basis") + ": " + settings_words(explained.at("settings")) + '\n' +
         show_chains(explained, now);
}

std::string show_recommendation(const Json& recommendation, const std::string& active) {
  const auto segment = text_of(recommendation, "segment");
  const auto node = text_of(recommendation, "node");
  if (!serves(recommendation))
    return node + " has no carrier to hear in " + segment + ": it stays.\n";
  auto lines =
      node + " in " + segment + ": " + settings_words(recommendation.at("settings")) + '\n';
  if (!recommendation.at("clean").get<bool>())
    lines += "  nothing is without a finding; this has the fewest\n";
  lines += "  margin      " +
           (recommendation.contains("margin_db") ? figure(recommendation, "margin_db") + " dB, "
                                                 : "not known, ") +
           text_of(recommendation, "worst_carrier") + " is worst off\n";
  lines += "  limited by  " + spaced(text_of(recommendation, "limited_by")) + '\n';
  if (recommendation.contains("room")) {
    const auto& room = recommendation.at("room");
    lines += "  gain may go down by " + room_words(room, "down_db", "down_stops", "dB") +
             " and up by " + room_words(room, "up_db", "up_stops", "dB") + '\n';
    if (recommendation.at("settings").contains("centre_mhz"))
      lines += "  centre may go down by " + room_words(room, "lower_mhz", "lower_stops", "MHz") +
               " and up by " + room_words(room, "higher_mhz", "higher_stops", "MHz") + '\n';
  }
  lines += show_findings(recommendation.at("findings"), "  ", node);
  for (const auto& advice : recommendation.at("advice"))
    lines += "  " + wrapped(advice.get<std::string>(), 96, "  ");
  return has_refusal(recommendation) ? lines : lines + to_take(recommendation, segment, active);
}

std::string show_recommendations(const Json& all, const std::string& active) {
  const auto segment = text_of(all, "segment");
  Table table{{{"NODE"},
               {"GAIN", true},
               {"FILTER"},
               {"CENTRE", true},
               {"MARGIN", true},
               {"WORST OFF"},
               {"LIMITED BY"},
               {"FINDINGS"}}};
  std::string commands;
  std::string advice;
  for (const auto& recommendation : all.at("recommendations")) {
    if (!serves(recommendation)) {
      table.add({text_of(recommendation, "node"), "-", "-", "-", "-", "nothing to hear: stays"});
      continue;
    }
    const auto& settings = recommendation.at("settings");
    std::string rules;
    for (const auto& finding : recommendation.at("findings"))
      if (text_of(finding, "severity") != "note")
        rules += (rules.empty() ? "" : ", ") + text_of(finding, "rule");
    table.add(
        {text_of(recommendation, "node"), gain_words(settings.at("gain_db")),
         text_of(settings, "filter"),
         settings.contains("centre_mhz") ? megahertz_words(settings.at("centre_mhz")) : "-",
         recommendation.contains("margin_db") ? figure(recommendation, "margin_db") + " dB" : "-",
         text_of(recommendation, "worst_carrier"), spaced(text_of(recommendation, "limited_by")),
         rules.empty() ? "clean" : rules},
        !rules.empty());
    for (const auto& sentence : recommendation.at("advice"))
      advice +=
          text_of(recommendation, "node") + ": " + wrapped(sentence.get<std::string>(), 90, "  ");
    if (!has_refusal(recommendation)) commands += "  " + set_command(recommendation) + '\n';
  }
  auto lines = "For " + segment + ":\n" + table.text(false) + advice;
  if (commands.empty()) return lines;
  if (segment != active)
    lines +=
        "Changes are checked against " + active + " now; first: catwalk segment " + segment + '\n';
  return lines + "To take it:\n" + commands;
}

std::string show_what_if(const Json& supposed, const MarginNow& now) {
  return text_of(supposed, "node") + " in " + text_of(supposed, "segment") +
         ", supposed: " + settings_words(supposed.at("settings")) + '\n' +
         verdict_words(text_of(supposed, "would_be")) + '\n' +
         show_findings(supposed.at("findings"), "  ", text_of(supposed, "node")) +
         show_chains(supposed, now);
}

namespace {

constexpr std::size_t screen_lines = 24;

const std::vector<std::pair<const char*, const char*>> severities{
    {"refuse", "refusal"}, {"caution", "caution"}, {"note", "note"}};

// Findings of the segment itself and of its nodes, each with the node that it is about.
std::vector<std::pair<std::string, Json>> all_findings(const Json& check) {
  std::vector<std::pair<std::string, Json>> all;
  for (const auto& finding : check.at("findings")) all.emplace_back("", finding);
  for (const auto& node : check.at("nodes"))
    if (node.contains("findings"))
      for (const auto& finding : node.at("findings"))
        all.emplace_back(text_of(node, "node"), finding);
  return all;
}

// "2 refusals, 1 caution, 31 notes"
std::string counts_in_words(const std::map<std::string, std::size_t>& counts) {
  std::string words;
  for (const auto& [severity, word] : severities) {
    const auto found = counts.find(severity);
    const auto number = found == counts.end() ? 0 : found->second;
    words += (words.empty() ? "" : ", ") + std::to_string(number) + ' ' + word +
             (number == 1 ? "" : "s");
  }
  return words;
}

// A row for each of these names, in the order in which they come.
template <class NameOf>
std::string summary_table(const char* title,
                          const std::vector<std::pair<std::string, Json>>& findings,
                          const NameOf& name_of) {
  std::vector<std::string> names;
  std::map<std::string, std::map<std::string, std::size_t>> counts;
  for (const auto& [node, finding] : findings) {
    const auto name = name_of(node, finding);
    if (std::ranges::find(names, name) == names.end()) names.push_back(name);
    ++counts[name][text_of(finding, "severity")];
  }
  Table table{{{title}, {"REFUSALS", true}, {"CAUTIONS", true}, {"NOTES", true}}};
  for (const auto& name : names) {
    auto& number_of = counts[name];
    table.add({name, std::to_string(number_of["refuse"]), std::to_string(number_of["caution"]),
               std::to_string(number_of["note"])});
  }
  return names.empty() ? "" : table.text(false);
}

// What a switch to it would come to by where it ends.
std::string switch_words_of(const Json& check) {
  const auto would_be = text_of(check, "would_be");
  return "With every node so, a switch to it " +
         (would_be == "accepted" ? std::string{"needs no waiver for where it ends"}
                                 : verdict_words(would_be)) +
         ".\n";
}

std::string never_read(const Json& check) {
  std::string lines;
  for (const auto& node : check.at("nodes"))
    if (!node.contains("settings"))
      lines +=
          text_of(node, "node") + ": never read, and the show file does not give all settings\n";
  return lines;
}

// Node by node, with every note.
std::string in_full(const Json& check) {
  auto lines = "The segment itself:\n" + (check.at("findings").empty()
                                              ? std::string{"  nothing to say\n"}
                                              : show_findings(check.at("findings"), "  "));
  lines += "The settings that it has for each node:\n";
  for (const auto& node : check.at("nodes"))
    if (node.contains("settings"))
      lines += "  " + text_of(node, "node") + ": " + settings_words(node.at("settings")) + ": " +
               verdict_words(text_of(node, "would_be")) + '\n' +
               show_findings(node.at("findings"), "    ", text_of(node, "node"));
  return lines;
}

}  // namespace

std::string show_segment_check(const Json& check, bool all) {
  const auto findings = all_findings(check);
  std::map<std::string, std::size_t> counts;
  for (const auto& [node, finding] : findings) ++counts[text_of(finding, "severity")];
  const auto segment = text_of(check, "segment");
  auto lines = segment + ": " + counts_in_words(counts) + ".\n" + switch_words_of(check) +
               summary_table("RULE", findings,
                             [](const std::string&, const Json& finding) {
                               return text_of(finding, "rule");
                             }) +
               summary_table("NODE", findings,
                             [](const std::string& node, const Json&) {
                               return node.empty() ? "(the segment)" : node;
                             }) +
               never_read(check);
  if (all) return lines + in_full(check);

  // What weighs most first, for as long as the screen is.
  std::vector<std::string> told;
  for (const auto* severity : {"refuse", "caution"})
    for (const auto& [node, finding] : findings)
      if (text_of(finding, "severity") == severity)
        told.push_back(wrapped(std::string{severity} + "  " + text_of(finding, "rule") +
                                   (node.empty() ? "" : " at " + node) + ": " +
                                   text_of(finding, "sentence"),
                               96, "  "));
  const auto lines_of = [](const std::string& text) {
    return static_cast<std::size_t>(std::ranges::count(text, '\n'));
  };
  auto used = lines_of(lines) + 1;  // the last line says what is left
  std::size_t shown = 0;
  for (; shown < told.size() && used + lines_of(told[shown]) <= screen_lines; ++shown) {
    lines += told[shown];
    used += lines_of(told[shown]);
  }
  const auto left = findings.size() - shown;
  if (left > 0)
    lines += std::to_string(left) +
             (shown > 0   ? " more"
              : left == 1 ? " finding"
                          : " findings") +
             "; all of them: catwalk check-segment " + segment + " --all\n";
  return lines;
}

}  // namespace catwalk::cli
