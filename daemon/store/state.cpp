// SPDX-License-Identifier: Apache-2.0
// What is handed back at a start. A file is not trusted because it is ours: a disk fails, a hand
// writes, a program of tomorrow was here. What is not lawful is refused whole.
#include <algorithm>
#include <optional>

#include "daemon/store/tables.hpp"

namespace catwalk::store {
namespace {

constexpr std::size_t longest_hash = 64;

protocol::NodeUid uid_at(const Row& row, int column) {
  return protocol::NodeUid::from_bits(static_cast<std::uint64_t>(
      row.integer(column, 0, static_cast<std::int64_t>(protocol::NodeUid::mask))));
}

// Nothing for a kind that this program does not know.
std::optional<rack::Alarm> alarm_at(const Row& row) {
  const auto kind = named<rack::AlarmKind>(row.text(1));
  rack::Alarm alarm;
  alarm.id = row.number(0);
  alarm.subject = row.text(2);
  alarm.sentence = row.text(3);
  alarm.raised = row.time(4);
  if (row.flag(5)) alarm.returned = row.time(6);
  if (row.flag(7)) alarm.acknowledged_by = row.text(8);
  if (row.flag(9)) alarm.shelved = rack::Shelving{row.text(10), row.text(11), row.time(12)};
  if (!kind) return std::nullopt;
  alarm.kind = *kind;
  return alarm;
}

std::optional<rack::UnfinishedSwitch> switch_in(Connection& connection) {
  Statement found{connection,
                  "SELECT id, left_segment, entered_segment, cue, who, why, waived, waiver_who, "
                  "waiver_reason, back, step, ticket, restores, stuck FROM switching"};
  if (!found.step()) return std::nullopt;
  const Row row{found, "switching"};
  rack::UnfinishedSwitch unfinished;
  unfinished.id = row.number(0);
  unfinished.left = row.text(1);
  unfinished.entered = row.text(2);
  unfinished.cue = row.text(3);
  unfinished.who = row.text(4);
  unfinished.why = row.text(5);
  if (row.flag(6)) unfinished.waiver = rack::Waiver{row.text(7), row.text(8)};
  unfinished.back = row.flag(9);
  unfinished.step =
      static_cast<std::uint32_t>(row.integer(10, 0, std::numeric_limits<std::uint32_t>::max()));
  unfinished.ticket = row.number(11);
  unfinished.restores = row.flag(12);
  unfinished.stuck = row.flag(13);
  Statement nodes{connection, "SELECT uid, " + settings_columns("before_") + ", " +
                                  settings_columns("target_") +
                                  ", left_out FROM switching_nodes ORDER BY place"};
  while (nodes.step()) {
    const Row node{nodes, "switching_nodes"};
    unfinished.nodes.push_back({uid_at(node, 0), node.settings(1),
                                node.settings(1 + settings_count),
                                node.flag(1 + 2 * settings_count)});
  }
  return unfinished;
}

constexpr std::uint32_t last_epoch = std::numeric_limits<std::uint32_t>::max();

protocol::Epoch epoch_at(const Row& row, int column, std::uint32_t last) {
  return {static_cast<std::uint32_t>(row.integer(column, 0, last))};
}

void read_facts(Connection& connection, rack::Restored& state) {
  Statement facts{connection, "SELECT name, number, text, more FROM facts"};
  while (facts.step()) {
    const Row row{facts, "facts"};
    const auto name = row.text(0);
    if (name == "lock") state.lock = rack::Lock{row.text(2), row.text(3), row.time(1)};
    if (name == "segment") state.segment = row.text(2);
    if (name == "cue") state.cue = row.text(2);
    if (name == "last_alarm") state.last_alarm = row.number(1);
    // The last of all has none after it.
    if (name == "epoch") state.epoch = epoch_at(row, 1, last_epoch - 1);
    if (name == "begins_after") {
      (void)row.number(1);
      (void)row.text(2, longest_hash);
    }
  }
}

rack::ChangeId last_change_of(const rack::Restored& state) {
  rack::ChangeId change = 0;
  for (const auto& begun : state.unfinished) change = std::max(change, begun.change);
  if (const auto& switching = state.switching)
    change = std::max({change, switching->id, switching->ticket});
  return change;
}

}  // namespace

rack::JournalHead begin_of_journal(Connection& connection) {
  Statement begins{connection, "SELECT number, text FROM facts WHERE name = 'begins_after'"};
  if (!begins.step()) return {};
  const Row row{begins, "facts"};
  return {row.number(0), row.hash(1)};
}

rack::ChangeId last_change_in_journal(Connection& connection) {
  Statement last{connection,
                 "SELECT ifnull(max(change), 0) AS change FROM journal WHERE change > 0"};
  last.step();
  return Row{last, "journal"}.number(0);
}

protocol::OurEpochs spoken_in(Connection& connection) {
  protocol::OurEpochs epochs;
  Statement spoken{connection, "SELECT epoch FROM spoken ORDER BY place"};
  while (spoken.step()) epochs.add(epoch_at(Row{spoken, "spoken"}, 0, last_epoch));
  return epochs;
}

rack::Restored read_state(Connection& connection) {
  rack::Restored state;
  Statement wanted{connection, "SELECT uid, revision, " + settings_columns() + " FROM wanted"};
  while (wanted.step()) {
    const Row row{wanted, "wanted"};
    state.wanted.emplace(uid_at(row, 0), rack::Wanted{row.settings(2), row.number(1)});
  }
  Statement unfinished{connection, "SELECT change, uid, " + settings_columns("before_") + ", " +
                                       settings_columns("after_") +
                                       " FROM unfinished ORDER BY change"};
  while (unfinished.step()) {
    const Row row{unfinished, "unfinished"};
    state.unfinished.push_back(
        {row.number(0), uid_at(row, 1), row.settings(2), row.settings(2 + settings_count)});
  }
  Statement alarms{
      connection,
      "SELECT id, kind, subject, sentence, raised_us, returned, returned_us, acknowledged, "
      "acknowledged_by, shelved, shelved_by, shelved_why, shelved_until_us FROM alarms ORDER BY "
      "id"};
  while (alarms.step())
    if (const auto alarm = alarm_at(Row{alarms, "alarms"})) state.alarms.push_back(*alarm);
  state.switching = switch_in(connection);
  Statement reached{connection, "SELECT segment, at_us FROM reached"};
  while (reached.step()) {
    const Row row{reached, "reached"};
    state.reached[row.text(0)] = row.time(1);
  }
  Statement ticks{connection,
                  "SELECT left_segment, entered_segment, row, said, who, at_us FROM ticks "
                  "ORDER BY left_segment, entered_segment, row"};
  while (ticks.step()) {
    const Row row{ticks, "ticks"};
    state.ticks.push_back(
        {row.text(0), row.text(1), row.text(2), row.text(3), {row.text(4), row.time(5)}});
  }
  read_facts(connection, state);
  state.spoken = spoken_in(connection);
  if (!state.alarms.empty()) state.last_alarm = std::max(state.last_alarm, state.alarms.back().id);
  state.last_change = std::max(last_change_in_journal(connection), last_change_of(state));
  return state;
}

}  // namespace catwalk::store
