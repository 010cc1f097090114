// SPDX-License-Identifier: Apache-2.0
#include "web/server/documents/metrics.hpp"

#include <algorithm>
#include <map>

#include "web/server/documents/metric_lines.hpp"
#include "web/server/documents/node_metrics.hpp"

namespace catwalk::web {
namespace {

void nodes_by_state(std::string& text, const rack::Snapshot& snapshot) {
  family(text, "catwalk_nodes", "gauge", "Nodes by link and agreement.");
  std::map<std::string, int> counts;
  for (const auto& node : snapshot.nodes)
    ++counts[label("link", rack::name_of(node->link)) + ',' +
             label("agreement", rack::name_of(node->agreement))];
  for (const auto& [labels, count] : counts) sample(text, "catwalk_nodes", labels, count);
}

// One figure without labels, and what it means.
void single(std::string& text, const std::string& name, const char* type, const char* help,
            double value) {
  family(text, name, type, help);
  sample(text, name, "", value);
}

void of_the_rack(std::string& text, const rack::Snapshot& snapshot) {
  const auto alarms = [&](const auto& counted) {
    return static_cast<double>(std::ranges::count_if(*snapshot.alarms, counted));
  };
  single(text, "catwalk_alarms_active", "gauge", "Alarms whose condition holds now.",
         alarms(&rack::Alarm::active));
  family(text, "catwalk_alarms", "gauge", "Alarms whose condition holds now, by kind.");
  for (const auto& [word, kind] : words_of(rack::AlarmKind{}))
    sample(text, "catwalk_alarms", label("kind", word),
           alarms([kind = kind](const rack::Alarm& alarm) {
             return alarm.active() && alarm.kind == kind;
           }));
  single(text, "catwalk_alarms_shelved", "gauge", "Alarms that are shelved for a while.",
         alarms([](const rack::Alarm& alarm) { return alarm.shelved.has_value(); }));
  single(text, "catwalk_locked", "gauge", "1 while the rack is locked for the show.",
         snapshot.lock ? 1 : 0);
  single(text, "catwalk_watching", "gauge",
         "1 while another controller has the nodes, and this daemon only watches.",
         snapshot.control == rack::Control::watching ? 1 : 0);
}

void of_the_journal(std::string& text, const JournalFigures& journal) {
  single(text, "catwalk_journal_rows", "gauge", "Number of the journal's last row.",
         static_cast<double>(journal.head.row));
  family(text, "catwalk_journal_head_info", "gauge",
         "The last row and its hash, to be held against the journal later.");
  if (journal.head.row != 0)
    sample(text, "catwalk_journal_head_info",
           label("row", std::to_string(journal.head.row)) + ',' + label("hash", journal.head.hash),
           1);
  single(text, "catwalk_journal_records_failed_total", "counter",
         "Records that could not be written, since start; what they owed is tried again.",
         static_cast<double>(journal.records_failed));
  single(text, "catwalk_journal_readings_refused_total", "counter",
         "Searches that were turned away because too many waited, since start.",
         static_cast<double>(journal.readings_refused));
}

void of_lines(std::string& text, const rack::Snapshot& snapshot,
              const std::vector<LineFigures>& lines) {
  family(text, "catwalk_line_up", "gauge", "1 while the line is up.");
  for (const auto& line : *snapshot.lines)
    sample(text, "catwalk_line_up", label("line", line.name.text), line.up ? 1 : 0);
  std::map<std::string, std::vector<std::pair<std::string, std::uint64_t>>> totals;
  for (const auto& line : lines)
    for (const auto& [name, value] : line.totals) totals[name].emplace_back(line.line, value);
  for (const auto& [name, values] : totals) {
    const auto full = "catwalk_line_" + name + "_total";
    family(text, full, "counter", "Since start, by line.");
    for (const auto& [line, value] : values)
      sample(text, full, label("line", line), static_cast<double>(value));
  }
}

void totals_of(std::string& text, const std::string& of, const char* help, const Totals& totals) {
  for (const auto& [name, value] : totals)
    single(text, "catwalk_" + of + '_' + name + "_total", "counter", help,
           static_cast<double>(value));
}

}  // namespace

std::string metrics_text(const rack::Snapshot& snapshot, const std::vector<LineFigures>& lines,
                         const Totals& show_control, const Totals& doors,
                         const JournalFigures& journal) {
  std::string text;
  nodes_by_state(text, snapshot);
  text += node_metrics(snapshot);
  of_the_rack(text, snapshot);
  of_the_journal(text, journal);
  of_lines(text, snapshot, lines);
  totals_of(text, "osc", "Of show control, since start.", show_control);
  totals_of(text, "doors", "Turned away at the doors, since start.", doors);
  return text;
}

}  // namespace catwalk::web
