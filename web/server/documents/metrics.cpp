// SPDX-License-Identifier: Apache-2.0
#include "web/server/documents/metrics.hpp"

#include <algorithm>
#include <map>
#include <utility>

#include "web/server/documents/node_metrics.hpp"
#include "web/server/documents/panel_side_metrics.hpp"

namespace catwalk::web {
namespace {

using Type = MetricLines::Type;

void nodes_by_state(MetricLines& text, const rack::Snapshot& snapshot) {
  text.family("catwalk_nodes", Type::gauge, "Nodes by link and agreement.");
  std::map<std::pair<rack::Link, rack::Agreement>, int> counts;
  for (const auto& node : snapshot.nodes) ++counts[{node->link, node->agreement}];
  for (const auto& [link_word, link] : words_of(rack::Link{}))
    for (const auto& [agreement_word, agreement] : words_of(rack::Agreement{}))
      text.sample("catwalk_nodes",
                  label("link", link_word) + ',' + label("agreement", agreement_word),
                  counts[{link, agreement}]);
}

void of_the_rack(MetricLines& text, const rack::Snapshot& snapshot) {
  const auto alarms = [&](const auto& counted) {
    return static_cast<double>(std::ranges::count_if(*snapshot.alarms, counted));
  };
  text.single("catwalk_alarms_active", Type::gauge, "Alarms whose condition holds now.",
              alarms(&rack::Alarm::active));
  text.family("catwalk_alarms", Type::gauge, "Alarms whose condition holds now, by kind.");
  for (const auto& [word, kind] : words_of(rack::AlarmKind{}))
    text.sample("catwalk_alarms", label("kind", word),
                alarms([kind = kind](const rack::Alarm& alarm) {
                  return alarm.active() && alarm.kind == kind;
                }));
  text.single("catwalk_alarms_shelved", Type::gauge, "Alarms that are shelved for a while.",
              alarms([](const rack::Alarm& alarm) { return alarm.shelved.has_value(); }));
  text.single("catwalk_locked", Type::gauge, "1 while the rack is locked for the show.",
              snapshot.lock ? 1 : 0);
  text.single("catwalk_watching", Type::gauge,
              "1 while another controller has the nodes, and this daemon only watches.",
              snapshot.control == rack::Control::watching ? 1 : 0);
}

void of_the_journal(MetricLines& text, const JournalFigures& journal) {
  text.single("catwalk_journal_rows", Type::gauge, "Number of the journal's last row.",
              static_cast<double>(journal.head.row));
  text.family("catwalk_journal_head_info", Type::info,
              "The last row and its hash, to be held against the journal later.");
  if (journal.head.row != 0)
    text.sample(
        "catwalk_journal_head_info",
        label("row", std::to_string(journal.head.row)) + ',' + label("hash", journal.head.hash), 1);
  text.single("catwalk_journal_records_failed_total", Type::counter,
              "Records that could not be written, since start; what they owed is tried again.",
              static_cast<double>(journal.records_failed));
  text.single("catwalk_journal_readings_refused_total", Type::counter,
              "Searches that were turned away because too many waited, since start.",
              static_cast<double>(journal.readings_refused));
}

void of_lines(MetricLines& text, const rack::Snapshot& snapshot,
              const std::vector<LineFigures>& lines) {
  text.family("catwalk_line_up", Type::gauge, "1 while the line is up.");
  for (const auto& line : *snapshot.lines)
    text.sample("catwalk_line_up", label("line", line.name.text), line.up ? 1 : 0);
  std::map<std::string, std::vector<std::pair<std::string, std::uint64_t>>> totals;
  for (const auto& line : lines)
    for (const auto& [name, value] : line.totals) totals[name].emplace_back(line.line, value);
  for (const auto& [name, values] : totals) {
    const auto full = "catwalk_line_" + name + "_total";
    text.family(full, Type::counter, "Since start, by line.");
    for (const auto& [line, value] : values)
      text.sample(full, label("line", line), static_cast<double>(value));
  }
}

void totals_of(MetricLines& text, const std::string& of, const char* help, const Totals& totals) {
  for (const auto& [name, value] : totals)
    text.single("catwalk_" + of + '_' + name + "_total", Type::counter, help,
                static_cast<double>(value));
}

}  // namespace

std::string metrics_text(const rack::Snapshot& snapshot, const Figures& figures,
                         MetricFormat format) {
  MetricLines text{format};
  nodes_by_state(text, snapshot);
  node_metrics(text, snapshot);
  of_the_rack(text, snapshot);
  of_the_journal(text, figures.journal);
  of_lines(text, snapshot, figures.lines);
  totals_of(text, "osc", "Of show control, since start.", figures.show_control);
  totals_of(text, "doors", "Turned away at the doors, since start.", figures.panel_side.doors);
  panel_side_metrics(text, figures.panel_side);
  return text.finish();
}

}  // namespace catwalk::web
