// SPDX-License-Identifier: Apache-2.0
// Ticks on crew sheets: who says that which act is done. They move nothing, so neither the lock nor
// a switch holds them.
#include "daemon/rack/core/crew.hpp"

#include <algorithm>
#include <map>
#include <utility>

#include "daemon/rack/way/crew_sheet.hpp"

namespace catwalk::rack {
namespace {

// The ticks for which `is_over` holds leave; what the store has to forget.
template <class IsOver>
std::vector<Write> forget_ticks(State& state, IsOver&& is_over) {
  std::vector<Write> writes;
  state.ticks.erase_if([&](const CrewTick& tick) {
    if (!is_over(tick)) return false;
    writes.emplace_back(ForgetTick{tick});
    return true;
  });
  if (!writes.empty()) look_at_crew(state);
  return writes;
}

// Writes to the state what is asked of this row, and to the records what is kept of it.
void tick_row(Turn& turn, const TickRequested& event, const CrewRow& row,
              std::vector<JournalEntry>& entries, std::vector<Write>& writes) {
  auto& ticks = turn.state.ticks;
  if (row.ticked.has_value() == event.done) return;  // whoever did it first stands there
  const CrewTick tick{
      event.left.text, event.entered.text, row.key, row.said(), {event.who, turn.now}};
  ticks.erase_if([&](const CrewTick& other) { return other.is_of_same_row(tick); });
  if (event.done) ticks.add(tick);
  writes.emplace_back(event.done ? Write{KeepTick{tick}} : Write{ForgetTick{tick}});
  auto entry = turn.entry(JournalKind::crew, event.who);
  entry.what = std::string{event.done ? "ticked" : "no longer ticked"} + ", " + event.left.text +
               " → " + event.entered.text + ": " + row.in_short();
  entries.push_back(std::move(entry));
}

}  // namespace

void on_request(Turn& turn, const TickRequested& event) {
  auto& state = turn.state;
  const auto refuse = [&](Outcome outcome, std::string detail) {
    turn.respond(event.request, {outcome, std::move(detail)});
  };
  const auto* left = state.plan->find(event.left);
  const auto* entered = state.plan->find(event.entered);
  if (left == nullptr || entered == nullptr)
    return refuse(Outcome::unknown_name, "There is no segment \"" +
                                             (left == nullptr ? event.left : event.entered).text +
                                             "\" in this show.");
  const auto sheet = crew_sheet(*left, *entered, state.ticks.all());
  std::vector<const CrewRow*> rows;
  for (const auto& key : event.rows) {
    const auto row = std::ranges::find(sheet, key, &CrewRow::key);
    if (row == sheet.end())
      return refuse(Outcome::unknown_name, "There is no row \"" + key + "\" on the crew sheet of " +
                                               event.left.text + " → " + event.entered.text + '.');
    if (std::ranges::find(rows, &*row) == rows.end()) rows.push_back(&*row);
  }
  if (event.done && state.ticks.size() + rows.size() > most_ticks)
    return refuse(Outcome::refused, "There are " + std::to_string(state.ticks.size()) +
                                        " ticks on all sheets, and " + std::to_string(most_ticks) +
                                        " is the most that is kept.");
  std::vector<JournalEntry> entries;
  std::vector<Write> writes;
  for (const auto* row : rows) tick_row(turn, event, *row, entries, writes);
  if (!writes.empty()) {
    look_at_crew(state);
    turn.record(std::move(entries), std::move(writes));
  }
  turn.respond(event.request, {Outcome::done});
}

std::vector<Write> begin_sheets_anew(State& state, const plan::SegmentName& left,
                                     const plan::SegmentName& entered) {
  if (left == entered) return {};
  return forget_ticks(state, [&](const CrewTick& tick) {
    const bool was_gone = tick.left == left.text && tick.entered == entered.text;
    return !was_gone &&
           (tick.left == left.text || tick.entered == left.text || tick.entered == entered.text);
  });
}

std::vector<Write> drop_all_ticks(State& state) {
  return forget_ticks(state, [](const CrewTick&) { return true; });
}

std::vector<Write> drop_untrue_ticks(State& state) {
  std::map<std::pair<std::string, std::string>, std::vector<CrewRow>> sheets;
  return forget_ticks(state, [&](const CrewTick& tick) {
    const auto* left = state.plan->find(plan::SegmentName{tick.left});
    const auto* entered = state.plan->find(plan::SegmentName{tick.entered});
    if (left == nullptr || entered == nullptr) return true;
    const auto [found, is_new] = sheets.try_emplace({tick.left, tick.entered});
    auto& sheet = found->second;
    if (is_new) sheet = crew_sheet(*left, *entered);
    const auto row = std::ranges::find(sheet, tick.row, &CrewRow::key);
    return row == sheet.end() || row->said() != tick.said;
  });
}

void look_at_crew(State& state) {
  if (!state.armed) return;
  const auto* cue = state.plan->running_order.find(state.armed->cue);
  const auto* entered = cue == nullptr ? nullptr : state.plan->find(cue->segment);
  if (entered == nullptr) return;
  auto open = not_ticked(crew_sheet(state.active(), *entered, state.ticks.all()));
  if (open == state.armed->not_ticked) return;
  state.armed->not_ticked = std::move(open);
}

}  // namespace catwalk::rack
