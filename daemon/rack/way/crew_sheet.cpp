// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/way/crew_sheet.hpp"

#include <algorithm>
#include <iterator>
#include <tuple>

#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

std::string kilohertz_words(rf::Frequency width) {
  const auto hertz = width.hertz();
  return std::to_string(hertz / 1000) +
         (hertz % 1000 == 0 ? "" : "." + std::to_string(1000 + hertz % 1000).substr(1)) + " kHz";
}

std::string names_words(const std::vector<plan::ReceiverName>& receivers) {
  std::vector<std::string> names;
  for (const auto& name : receivers) names.push_back(name.text);
  return names.empty() ? "none" : listed(names);
}

// What somebody has to set, or hand on, besides the frequency.
std::vector<std::string> differing(const plan::Carrier& left, const plan::Carrier& entered) {
  std::vector<std::string> all;
  const auto say = [&](const char* what, const std::string& from, const std::string& to) {
    if (from != to) all.push_back(std::string{what} + ' ' + from + " → " + to);
  };
  const auto power = [](const plan::Carrier& carrier) {
    return carrier.erp ? in_words(*carrier.erp) : std::string{"not known"};
  };
  const auto holder = [](const plan::Carrier& carrier) {
    return carrier.held_by.empty() ? std::string{"nobody named"} : carrier.held_by;
  };
  say("bandwidth", kilohertz_words(left.bandwidth), kilohertz_words(entered.bandwidth));
  say("e.r.p.", power(left), power(entered));
  say("receivers", names_words(left.receivers), names_words(entered.receivers));
  say("held by", holder(left), holder(entered));
  return all;
}

CrewRow row_of(CrewAct act, CrewMoment moment, const plan::Carrier& carrier) {
  CrewRow row;
  row.key = carrier.name.text + '.' + std::string{name_of(act)};
  row.act = act;
  row.moment = moment;
  row.carrier = carrier.name;
  row.use = carrier.use;
  row.receivers = carrier.receivers;
  row.held_by = carrier.held_by;
  return row;
}

void add_off(const plan::Carrier& left, std::vector<CrewRow>& rows) {
  rows.push_back(row_of(CrewAct::off, left.late ? CrewMoment::after : CrewMoment::before, left));
  rows.back().from = left.frequency;
}

void add_on(const plan::Carrier& entered, std::vector<CrewRow>& rows) {
  rows.push_back(
      row_of(CrewAct::on, entered.early ? CrewMoment::before : CrewMoment::after, entered));
  rows.back().to = entered.frequency;
}

void add_move(const plan::Carrier& left, const plan::Carrier& entered, std::vector<CrewRow>& rows) {
  if (!left.late && !entered.early) {
    add_off(left, rows);
    rows.back().to = entered.frequency;
  }
  const auto moment = !entered.early ? CrewMoment::after
                      : left.late    ? CrewMoment::meanwhile
                                     : CrewMoment::before;
  rows.push_back(row_of(CrewAct::move, moment, entered));
  rows.back().from = left.frequency;
  rows.back().to = entered.frequency;
  rows.back().otherwise = differing(left, entered);
}

void add_change(const plan::Carrier& left, const plan::Carrier& entered,
                std::vector<CrewRow>& rows) {
  auto otherwise = differing(left, entered);
  if (otherwise.empty()) return;
  rows.push_back(row_of(CrewAct::change, CrewMoment::meanwhile, entered));
  rows.back().from = rows.back().to = entered.frequency;
  rows.back().otherwise = std::move(otherwise);
}

// A move into a band that another one leaves comes behind that one. Of those that go round in a
// circle the first comes first.
void order_moves(std::vector<CrewRow>::iterator begin, std::vector<CrewRow>::iterator end,
                 const plan::Segment& left, const plan::Segment& entered) {
  struct Move {
    CrewRow row;
    rf::Band leaves;
    rf::Band arrives;
    std::size_t waits_for = 0;  // others that have not moved yet
    bool placed = false;
  };
  std::vector<Move> moves;
  for (auto row = begin; row != end; ++row)
    moves.push_back({*row, left.find(row->carrier)->band(), entered.find(row->carrier)->band()});
  const auto waits = [](const Move& move, const Move& other) {
    return &move != &other && move.arrives.overlaps(other.leaves);
  };
  for (auto& move : moves)
    move.waits_for = static_cast<std::size_t>(
        std::ranges::count_if(moves, [&](const Move& other) { return waits(move, other); }));
  for (; begin != end; ++begin) {
    auto next = std::ranges::find_if(
        moves, [](const Move& move) { return !move.placed && move.waits_for == 0; });
    if (next == moves.end()) next = std::ranges::find(moves, false, &Move::placed);
    next->placed = true;
    *begin = next->row;
    for (auto& move : moves)
      if (waits(move, *next)) --move.waits_for;
  }
}

}  // namespace

std::string CrewRow::in_short() const {
  switch (act) {
    case CrewAct::off:
      return carrier.text + " off, " + in_words(*from);
    case CrewAct::move:
      return carrier.text + " to " + in_words(*to);
    case CrewAct::change: {
      std::string all;
      for (const auto& name : otherwise) all += (all.empty() ? "" : ", ") + name;
      return carrier.text + ": " + all;
    }
    case CrewAct::on:
      return carrier.text + " on, " + in_words(*to);
  }
  return {};
}

std::string CrewRow::what() const {
  auto all = in_short();
  if (use == plan::CarrierUse::transmit) all += " (ours)";
  if (act == CrewAct::move) all += " from " + in_words(*from);
  if (act == CrewAct::off && to) all += ", then to " + in_words(*to);
  if (act == CrewAct::move)
    for (const auto& name : otherwise) all += ", " + name;
  return all;
}

std::string CrewRow::said() const {
  auto all = std::string{name_of(moment)} + ": " + what();
  if (!receivers.empty()) all += "; heard by " + names_words(receivers);
  if (!held_by.empty()) all += "; held by " + held_by;
  return all;
}

std::vector<CrewRow> crew_sheet(const plan::Segment& left, const plan::Segment& entered,
                                const std::vector<CrewTick>& ticks) {
  std::vector<CrewRow> rows;
  const auto counterpart = [](const plan::Segment& segment, const plan::Carrier& carrier) {
    const auto* other = segment.find(carrier.name);
    return other != nullptr && other->use == carrier.use ? other : nullptr;
  };
  for (const auto& carrier : left.carriers) {
    const auto* after = counterpart(entered, carrier);
    if (after == nullptr)
      add_off(carrier, rows);
    else if (plan::is_same_signal(carrier, *after))
      add_change(carrier, *after, rows);
    else
      add_move(carrier, *after, rows);
  }
  for (const auto& carrier : entered.carriers)
    if (counterpart(left, carrier) == nullptr) add_on(carrier, rows);

  const auto group = [](const CrewRow& row) { return std::tuple{row.moment, row.act}; };
  std::ranges::stable_sort(rows, {}, group);
  for (auto begin = rows.begin(); begin != rows.end();) {
    const auto end = std::find_if(begin, rows.end(),
                                  [&](const CrewRow& row) { return group(row) != group(*begin); });
    if (begin->act == CrewAct::move) order_moves(begin, end, left, entered);
    begin = end;
  }
  for (const auto& tick : ticks) {
    if (tick.left != left.name.text || tick.entered != entered.name.text) continue;
    const auto row = std::ranges::find(rows, tick.row, &CrewRow::key);
    if (row != rows.end() && row->said() == tick.said) row->ticked = tick.ticked;
  }
  return rows;
}

std::string not_ticked(const std::vector<CrewRow>& sheet) {
  constexpr std::size_t most_named = 8;
  std::size_t due = 0;
  std::size_t open = 0;
  std::string names;
  for (const auto& row : sheet) {
    if (row.moment != CrewMoment::before) continue;
    ++due;
    if (row.ticked) continue;
    if (++open <= most_named) names += (open == 1 ? "" : "; ") + row.in_short();
  }
  if (open == 0) return {};
  if (open > most_named) names += "; and " + std::to_string(open - most_named) + " more";
  return std::to_string(open) + " of " + std::to_string(due) + " to do before it " +
         (open == 1 ? "is" : "are") + " not ticked: " + names + '.';
}

}  // namespace catwalk::rack
