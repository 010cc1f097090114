// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/core/state.hpp"

#include <algorithm>
#include <iterator>
#include <set>

#include "daemon/plan/routed.hpp"
#include "daemon/rack/core/alarms.hpp"
#include "daemon/rack/rules/matrix_rules.hpp"
#include "daemon/rack/values/plan_differences.hpp"
#include "daemon/rack/way/members.hpp"

namespace catwalk::rack {
namespace {

template <class Items, class Key, class Member>
auto* find_in(Items& items, const Key& key, Member member) {
  const auto found = std::ranges::find(items, key, member);
  return found == items.end() ? nullptr : &*found;
}

// `moves`: a switch is moving it.
Agreement agreement_of(const State& state, const NodeState& node, bool moves) {
  if (state.is_others(node)) return Agreement::not_ours;
  if (node.change || moves) return Agreement::changing;
  if (!node.seen || !node.wanted) return Agreement::unknown;
  return node.seen->settings == node.wanted->settings ? Agreement::agreed : Agreement::drifted;
}

}  // namespace

const NodeState* State::find(const plan::NodeName& name) const {
  return find_in(nodes, name, &NodeState::name);
}

const NodeState* State::find(protocol::NodeUid uid) const {
  const auto found = by_uid.find(uid);
  return found == by_uid.end() ? nullptr : &nodes[found->second];
}

const LineView* State::find(const plan::LineName& name) const {
  return find_in(lines, name, &LineView::name);
}

NodeState* State::write(protocol::NodeUid uid) {
  const auto found = by_uid.find(uid);
  return found == by_uid.end() ? nullptr : &nodes.write_at(found->second);
}

LineView* State::write(const plan::LineName& name) {
  const auto* found = find(name);
  return found == nullptr ? nullptr : &lines.write(*found);
}

plan::Device State::plan_of(const NodeState& node) const {
  return plan::device_at(*plan, nodes.place_of(node));
}

CommandId Turn::send_on(const plan::LineName& line, protocol::NodeUid uid, protocol::Ask request,
                        AfterCommand after) {
  const auto id = ++state.last_command;
  state.commands.emplace(id, std::move(after));
  effects.emplace_back(Send{line, id, uid, std::move(request)});
  return id;
}

CommandId Turn::send(const NodeState& node, protocol::Ask request, AfterCommand after) {
  return send_on(state.plan_of(node).line(), node.uid, std::move(request), std::move(after));
}

CommandId Turn::send_to_all(const plan::LineName& line, protocol::Ask request, AfterCommand after) {
  return send_on(line, protocol::NodeUid::everyone(), std::move(request), std::move(after));
}

void Owed::add(Owed other) {
  const auto room = most_entries - std::min(most_entries, entries.size());
  const auto some = std::min(room, other.entries.size());
  std::move(other.entries.begin(), other.entries.begin() + static_cast<std::ptrdiff_t>(some),
            std::back_inserter(entries));
  lost += other.lost + (other.entries.size() - some);
  std::ranges::move(other.writes, std::back_inserter(writes));
}

namespace {

bool is_deciding_wanted(const NodeState& node) {
  return node.adopting || (node.change && node.change->view.stage == ChangeStage::recording);
}

// Owed wanted settings may have been overtaken: by now the present ones count, once for each node,
// and while the intent of a change or an adoption is on its way to the journal, that record
// decides. Alarms and ticks likewise.
void bring_up_to_date(State& state, std::vector<Write>& writes) {
  std::set<std::uint64_t> alarms;
  std::set<protocol::NodeUid> nodes;
  std::erase_if(writes, [&](Write& write) {
    if (auto* alarm = std::get_if<KeepAlarm>(&write)) {
      const auto id = alarm->alarm.id;
      const auto* now = find_in(state.alarms, id, &Alarm::id);
      write = now == nullptr ? Write{ForgetAlarm{id}} : Write{KeepAlarm{*now}};
      return !alarms.insert(id).second;
    }
    auto* tick = std::get_if<KeepTick>(&write);
    auto* gone = std::get_if<ForgetTick>(&write);
    if (tick != nullptr || gone != nullptr) {
      const auto row = tick != nullptr ? tick->tick : gone->tick;
      const auto now = std::ranges::find_if(
          state.ticks, [&](const CrewTick& other) { return other.is_of_same_row(row); });
      write = now == state.ticks.end() ? Write{ForgetTick{row}} : Write{KeepTick{*now}};
      return false;
    }
    auto* keep = std::get_if<KeepWanted>(&write);
    auto* forget = std::get_if<ForgetWanted>(&write);
    if (keep == nullptr && forget == nullptr) return false;
    const auto uid = keep != nullptr ? keep->node : forget->node;
    const auto* node = state.find(uid);
    if (node == nullptr || is_deciding_wanted(*node)) return true;
    write = node->wanted ? Write{KeepWanted{uid, *node->wanted}} : Write{ForgetWanted{uid}};
    return !nodes.insert(uid).second;
  });
}

}  // namespace

RecordId Turn::record(std::vector<JournalEntry> entries, std::vector<Write> writes,
                      AfterRecord after) {
  const auto id = ++state.last_record;
  Owed owed = std::exchange(state.owed, {});
  bring_up_to_date(state, owed.writes);
  Owed own{std::move(entries), std::move(writes)};
  Owed whole = owed;
  if (owed.lost > 0) {
    auto row = entry(JournalKind::journal, "");
    row.what = std::to_string(owed.lost) + " rows could not be kept";
    row.why = "the journal could not be written for too long";
    whole.entries.push_back(std::move(row));
  }
  std::ranges::copy(own.entries, std::back_inserter(whole.entries));
  std::ranges::copy(own.writes, std::back_inserter(whole.writes));
  // What has happened is owed; what is only to happen when it is recorded is not.
  const bool has_happened =
      std::holds_alternative<ThenNothing>(after) || std::holds_alternative<ThenEndSwitch>(after);
  if (has_happened) owed.add(std::move(own));
  state.records.emplace(id, PendingRecord{std::move(after), std::move(owed)});
  effects.emplace_back(Record{id, std::move(whole.entries), std::move(whole.writes)});
  return id;
}

void Turn::pay_debts() {
  if (!state.owed.empty() && now >= state.owed_again) record({});
}

JournalEntry Turn::entry(JournalKind kind, std::string who, const NodeState* node) const {
  JournalEntry entry;
  entry.at = now;
  entry.kind = kind;
  entry.who = std::move(who);
  if (node != nullptr) entry.node = node->name.text;
  entry.segment = state.segment.text;
  return entry;
}

JournalEntry Turn::on_the_air(const plan::SegmentName& segment, std::string who) const {
  auto told = entry(JournalKind::carriers, std::move(who));
  told.segment = segment.text;
  told.what = rack::on_the_air(*state.plan->find(segment));
  return told;
}

Surroundings Turn::surroundings() const {
  const State& whole = state;
  if (!state.physics || state.physics->plan() != whole.plan.get())
    state.physics = std::make_shared<KnownPhysics>(whole.plan);
  return {*whole.plan, whole.active(),
          [&whole](const plan::NodeName& name) {
            const auto* node = whole.find(name);
            return node == nullptr ? PossibleSettings{} : possible_of_amplifier(*node);
          },
          whole.lock.has_value(), whole.physics};
}

Verdict Turn::verdict_on(const Surroundings& around, const NodeState& node,
                         const plan::NodeSettings& settings) const {
  const auto device = state.plan_of(node);
  auto verdict = check(around, device, settings);
  for (const auto& other : state.nodes) {
    if (&other == &node || state.plan_of(other).matrix() == nullptr) continue;
    auto possible = possible_settings(other);
    if (possible.size() < 2) continue;
    possible.pop_back();
    for (const auto& also : possible) {
      if (also == *in_force(other)) continue;
      const auto plan = plan::routed(around.plan, {{other.name, {*also.matrix(), true}}});
      const Surroundings with{*plan, around.segment, around.possible, around.locked};
      add_new_findings(verdict, check(with, device, settings));
    }
  }
  return verdict;
}

Turn::Known Turn::known_of(const NodeState& node) {
  return {possible_settings(node), bool{node.seen},
          !node.seen || node.seen->reading.telemetry.powered};
}

PossibleSettings possible_of_amplifier(const NodeState& node) {
  PossibleSettings states;
  for (const auto& settings : possible_settings(node))
    if (const auto* own = settings.amplifier()) states.push_back(*own);
  return states;
}

std::vector<plan::NodeSettings> possible_settings(const NodeState& node) {
  std::vector<plan::NodeSettings> states;
  if (node.change) states = {node.change->view.before, node.change->view.after};
  if (node.change && node.change->detour) states.push_back(node.change->detour->settings);
  if (node.maybe) states.push_back(*node.maybe);
  if (const auto settings = in_force(node)) states.push_back(*settings);
  return states;
}

std::optional<plan::NodeSettings> in_force(const NodeState& node) {
  return in_force(node.seen.get(), node.wanted.get());
}

void refresh_standing(Turn& turn, std::size_t most) {
  if (turn.state.switching) return;
  auto around = turn.surroundings();
  around.locked = false;  // the lock says nothing about settings that are already in force
  for (auto& due = turn.state.standing_due; !due.empty() && most > 0; --most) {
    const auto& node = turn.state.nodes[*due.begin()];
    due.erase(due.begin());
    const auto settings = in_force(node);
    auto verdict = settings ? turn.verdict_on(around, node, *settings) : Verdict{};
    if (verdict != node.standing) turn.state.nodes.write(node).standing = std::move(verdict);
    if (!node.seen) continue;
    const auto& name = node.name.text;
    const auto refusal =
        std::ranges::find(node.standing.findings, Severity::refuse, &Finding::severity);
    if (refusal == node.standing.findings.end())
      return_alarm(turn, AlarmKind::off_plan, name);
    else
      raise_alarm(turn, AlarmKind::off_plan, name, name + " is off plan: " + refusal->sentence);
  }
}

void Turn::conditions_changed() {
  ++state.conditions;
  for (std::size_t place = 0; place < state.nodes.size(); ++place) {
    state.standing_due.insert(place);
    auto& node = state.nodes.write_at(place);
    node.own = own_carriers(*state.plan, state.active(), node.name);
  }
}

void Turn::route() {
  if (!state.plan || state.plan->matrices.empty()) return;
  plan::MatricesNow set;
  for (const auto& node : state.nodes) {
    const auto settings = in_force(node);
    if (!settings || settings->matrix() == nullptr) continue;
    set.insert_or_assign(node.name, plan::MatrixNow{*settings->matrix(), known_of(node).supplied});
  }
  const bool as_it_is =
      state.plan->described && std::ranges::all_of(state.plan->matrices, [&](const auto& matrix) {
        const auto known = set.find(matrix.name);
        return known == set.end() ||
               known->second == plan::MatrixNow{matrix.settings, matrix.supplied};
      });
  if (as_it_is) return;
  state.outlived.push_back(state.plan);
  state.plan = plan::routed(*state.plan, set);
  conditions_changed();
}

namespace {

bool hears_through(const plan::Receiver& receiver, const plan::Matrix& matrix) {
  return std::ranges::any_of(receiver.branches, [&](const plan::Branch& branch) {
    return plan::leads_through(branch, matrix);
  });
}

}  // namespace

void Turn::settings_changed(const NodeState& node) {
  ++state.conditions;
  if (state.plan->find_matrix(node.name) != nullptr) route();
  if (state.switching) return;  // all are renewed at its end
  const auto* antenna = state.plan_of(node).amplifier();
  for (const auto& other : state.nodes) {
    const auto* matrix = state.plan->find_matrix(other.name);
    // Of an antenna that nobody hears a matrix counts what comes past its routes.
    const bool ends_there = matrix != nullptr && antenna != nullptr && antenna->ends_at &&
                            antenna->ends_at->matrix == matrix->name;
    const bool neighbour =
        other.uid == node.uid || ends_there ||
        std::ranges::any_of(state.plan->receivers, [&](const plan::Receiver& receiver) {
          return plan::RackPlan::serves(receiver, node.name) &&
                 (matrix == nullptr ? plan::RackPlan::serves(receiver, other.name)
                                    : hears_through(receiver, *matrix));
        });
    if (neighbour) state.standing_due.insert(state.nodes.place_of(other));
  }
}

namespace {

std::optional<plan::NodeSettings> planned_now(const State& state, const NodeState& node) {
  if (!is_set_in(state.active(), node.name)) return std::nullopt;
  const auto wanted = node.wanted ? std::optional{node.wanted->settings} : std::nullopt;
  auto proposal = planned_in(state.active(), state.plan_of(node), wanted);
  if (!proposal || !proposal->findings.empty()) return std::nullopt;
  return std::move(proposal->settings);
}

}  // namespace

std::shared_ptr<NodeView> view_of(const State& state, const NodeState& node) {
  const auto& plan = state.plan_of(node);
  auto view = std::make_shared<NodeView>();
  view->revision = state.revision + 1;
  view->name = node.name;
  view->uid = node.uid;
  view->line = plan.line();
  view->hangs = plan.where();
  view->on_return = plan.on_return();
  view->simulated = plan.simulated();
  if (const auto* amplifier = plan.amplifier()) {
    view->datasheet = amplifier->datasheet;
    view->serves = state.plan->served_by(node.name);
    view->fed_by = amplifier->ends_at;
    view->gain_limits = state.plan->limits_of(*amplifier);
  }
  if (const auto* matrix = plan.matrix()) view->matrix_sheet = matrix->sheet;
  view->wanted = node.wanted.get();
  view->seen = node.seen.get();
  view->link = node.link;
  view->uncertain = bool{node.maybe};
  view->possible = possible_settings(node);
  view->held = node.is_held() && state.control == Control::ours;
  const bool moves = state.switching && state.switching->durable &&
                     std::ranges::find(state.switching->nodes, node.uid, &SwitchNode::uid) !=
                         state.switching->nodes.end();
  view->agreement = agreement_of(state, node, moves);
  view->identity = node.identity;
  if (node.change) view->change = node.change->view;
  view->standing = node.standing;
  view->own = node.own;
  view->planned = planned_now(state, node);
  if (const auto now = in_force(node); node.seen && now->amplifier() != nullptr) {
    auto on = window_on(state.active(), node.own, *view->datasheet, *now->amplifier());
    view->outside = std::move(on.outside);
    view->let_in = std::move(on.let_in);
  }
  return view;
}

}  // namespace catwalk::rack
