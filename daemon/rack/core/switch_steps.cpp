// SPDX-License-Identifier: Apache-2.0
// One step of a switch: all its nodes are staged under one ticket, then told to apply, by broadcast
// where the line has one, then read back.
#include "daemon/rack/core/switch_steps.hpp"

#include <algorithm>
#include <map>

#include "daemon/rack/core/changes.hpp"
#include "daemon/rack/core/field.hpp"
#include "daemon/rack/core/switch_end.hpp"
#include "daemon/rack/core/switch_way.hpp"
#include "daemon/rack/values/settings_words.hpp"
#include "daemon/rack/values/wire.hpp"
#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

const plan::LineName& line_of(const State& state, const SwitchNode& member) {
  return state.plan_of(*state.find(member.uid)).line();
}

void ask(Turn& turn, SwitchNode& member, protocol::Ask request, Progress progress) {
  auto& running = turn.state.switching.write();
  member.progress = progress;
  turn.send(*turn.state.find(member.uid), std::move(request),
            StepOfSwitch{line_of(turn.state, member), member.uid, running.ticket});
}

void stage(Turn& turn, SwitchNode& member) {
  ask(turn, member,
      rack::staged(turn.state.epoch, ticket_for(turn.state.switching->ticket), member.to),
      Progress::staging);
}

void apply_alone(Turn& turn, SwitchNode& member) {
  turn.state.switching.write().moved = true;
  ask(turn, member, protocol::Apply{turn.state.epoch, ticket_for(turn.state.switching->ticket)},
      Progress::applying);
}

void read_back(Turn& turn, SwitchNode& member) {
  ask(turn, member, protocol::Read{}, Progress::reading_back);
}

void fail(SwitchNode& member, std::string reason) {
  member.progress = Progress::failed;
  member.reason = std::move(reason);
}

bool any_at(const Switch& running, std::initializer_list<Progress> these) {
  return std::ranges::any_of(running.nodes, [&](const SwitchNode& member) {
    return std::ranges::find(these, member.progress) != these.end();
  });
}

std::string first_failure(const State& state, const Switch& running) {
  for (const auto& member : running.nodes)
    if (member.progress == Progress::failed && !member.given_up)
      return state.find(member.uid)->name.text + ": " + member.reason;
  return {};
}

// What was staged and shall not be applied is forgotten by the node; if it does not hear that, it
// forgets with the next ticket.
void discard_staged(Turn& turn) {
  auto& running = turn.state.switching.write();
  for (const auto& member : running.nodes) {
    if (member.progress != Progress::staged) continue;
    running.nodes.write(member).progress = Progress::waiting;
    turn.send(*turn.state.find(member.uid),
              protocol::Discard{turn.state.epoch, ticket_for(running.ticket)}, ForNobody{});
  }
}

// A broadcast would move a node along that the switch goes on without: one that got what was
// staged, and whose answer got lost.
bool has_doubtful(const State& state, const Switch& running, const plan::LineName& line) {
  return std::ranges::any_of(running.nodes, [&](const SwitchNode& member) {
    return member.in_doubt && line_of(state, member) == line;
  });
}

void apply_step(Turn& turn) {
  auto& state = turn.state;
  auto& running = state.switching.write();
  running.view.stage = SwitchStage::applying;
  running.moved = true;
  std::map<plan::LineName, std::vector<SwitchNode*>> by_line;
  for (const auto& member : running.nodes)
    if (member.progress == Progress::staged)
      by_line[line_of(state, member)].push_back(&running.nodes.write(member));
  for (auto& [line, members] : by_line) {
    const auto timing = state.plan->line_timings.find(line);
    const bool each_at_once =
        timing != state.plan->line_timings.end() && timing->second.all_at_once;
    if (members.size() == 1 || each_at_once || has_doubtful(state, running, line)) {
      for (auto* member : members) apply_alone(turn, *member);
      continue;
    }
    for (auto* member : members) member->progress = Progress::applying;
    turn.send_to_all(line, protocol::Apply{state.epoch, ticket_for(running.ticket)},
                     StepOfSwitch{line, protocol::NodeUid::everyone(), running.ticket});
  }
}

void give_up_failed(Switch& running) {
  for (const auto& member : running.nodes)
    if (member.progress == Progress::failed) running.nodes.write(member).given_up = true;
}

// Everything that was asked in this step has been answered.
void step_over(Turn& turn) {
  auto& state = turn.state;
  auto& running = state.switching.write();
  const auto failure = first_failure(state, running);
  give_up_failed(running);
  if (running.view.back) {
    if (running.aborted)
      return end_switch(turn, SwitchStage::stuck,
                        running.view.reason + " Stopped on the way back.");
  } else if (running.aborted) {
    return go_back(turn);
  } else if (!failure.empty() && running.if_a_node_fails == plan::IfNodeFails::roll_back) {
    running.view.reason = failure;
    return go_back(turn);
  }
  ++running.at;
  running.planned = 0;
  begin_step(turn);
}

void all_staged(Turn& turn) {
  auto& running = turn.state.switching.write();
  const bool failed =
      any_at(running, {Progress::failed}) && !first_failure(turn.state, running).empty();
  const bool turns_back =
      running.aborted ||
      (failed && !running.view.back && running.if_a_node_fails == plan::IfNodeFails::roll_back);
  if (turns_back) {
    discard_staged(turn);
    return step_over(turn);
  }
  if (!any_at(running, {Progress::staged})) return step_over(turn);
  apply_step(turn);
}

// Goes on when nobody is left to wait for.
void look_further(Turn& turn) {
  auto& running = turn.state.switching.write();
  switch (running.view.stage) {
    case SwitchStage::staging:
      if (running.step_durable && !any_at(running, {Progress::staging})) all_staged(turn);
      return;
    case SwitchStage::applying:
    case SwitchStage::reading_back:
      if (any_at(running, {Progress::staging, Progress::applying, Progress::reading_back})) {
        if (!any_at(running, {Progress::applying})) running.view.stage = SwitchStage::reading_back;
        return;
      }
      return step_over(turn);
    default:
      return;
  }
}

void once_more(Turn& turn, SwitchNode& member, std::string reason) {
  if (++member.tries >= tries_in_a_step) return fail(member, std::move(reason));
  member.alone = true;
  stage(turn, member);
}

// Told later too, when it may answer again.
std::string did_not_answer(protocol::Fault fault) {
  return "did not answer (" + std::string{name_of(fault)} + ')';
}

void staged(Turn& turn, SwitchNode& member, const protocol::Answer* reply, protocol::Fault fault) {
  if (reply == nullptr) {
    if (++member.tries < tries_in_a_step && fault == protocol::Fault::timed_out)
      return stage(turn, member);
    member.in_doubt = true;
    return fail(member, did_not_answer(fault) + ".");
  }
  if (const auto* refusal = std::get_if<protocol::Refusal>(reply))
    return fail(member, "refuses: " + std::string{protocol::sentence_of(refusal->reason)} + '.');
  member.progress = Progress::staged;
  if (member.alone) apply_alone(turn, member);
}

void was_read(Turn& turn, SwitchNode& member, const protocol::Answer* reply,
              protocol::Fault fault) {
  auto& node = *turn.state.write(member.uid);
  if (reply == nullptr) {
    turn.know(node, &NodeState::maybe, std::optional{member.to});
    if (++member.tries >= tries_in_a_step || fault != protocol::Fault::timed_out)
      return fail(member, did_not_answer(fault) + "; it had its old or its new settings.");
    return read_back(turn, member);
  }
  const auto reading = reading_of_its_kind(turn.state, node, *reply);
  if (!reading) return once_more(turn, member, "gives no reading.");
  take_reading(turn, node, *reading);
  if (node.seen->settings == member.to) {
    member.progress = Progress::waiting;
    return;
  }
  once_more(
      turn, member,
      "reads back " + differences(node.seen->settings, member.to, turn.state.plan_of(node)) + '.');
}

void command_of_member_ended(Turn& turn, SwitchNode& member, const protocol::Answer* reply,
                             protocol::Fault fault) {
  switch (member.progress) {
    case Progress::staging:
      return staged(turn, member, reply, fault);
    case Progress::applying:
      // Whatever was answered: only a reading tells what is in force.
      return read_back(turn, member);
    case Progress::reading_back:
      return was_read(turn, member, reply, fault);
    default:
      return;
  }
}

}  // namespace

void begin_step(Turn& turn) {
  auto& state = turn.state;
  auto& running = state.switching.write();
  running.view.stage = SwitchStage::planning;
  if (running.aborted)
    return running.view.back ? end_switch(turn, SwitchStage::stuck, running.view.reason)
                             : go_back(turn);
  if (running.at == running.way.steps.size()) return way_walked(turn);
  if (!as_planned(state, running)) return plan_on(turn);
  const auto& step = running.way.steps[running.at];
  running.ticket = ++state.last_change;
  running.step_durable = false;
  running.view.stage = SwitchStage::staging;
  running.view.step = running.at + 1;
  std::vector<std::string> names;
  for (const auto& move : step.moves) names.push_back(move.node.text);
  auto entry = turn.entry(JournalKind::step, running.wish.who);
  entry.change = running.view.id;
  entry.what = "step " + std::to_string(running.at + 1) + " of " +
               std::to_string(running.way.steps.size()) + (running.view.back ? " back: " : ": ") +
               listed(names);
  turn.record({std::move(entry)},
              {KeepSwitchStep{running.view.back, static_cast<std::uint32_t>(running.at + 1),
                              running.ticket}},
              ThenStep{running.ticket});
  // What was staged under another ticket is not applied any more.
  for (const auto& member : running.nodes)
    if (member.in_doubt) running.nodes.write(member).in_doubt = false;
  for (const auto& move : step.moves) {
    auto& member = *running.write(state.find(move.node)->uid);
    member.to = move.to;
    member.tries = 0;
    member.alone = false;
    stage(turn, member);
  }
}

namespace {

// True: it is the step under way, and need not wait for the disk any more.
bool may_be_applied(Turn& turn, const ThenStep& then) {
  if (!turn.state.switching || turn.state.switching->ticket != then.ticket) return false;
  turn.state.switching.write().step_durable = true;
  return true;
}

}  // namespace

void kept(Turn& turn, const ThenStep& then) {
  if (may_be_applied(turn, then)) look_further(turn);
}

// On the way back the journal knows both ends already, which is enough to come to an end after a
// restart: a disk that is full must not keep the rack from going back.
void lost(Turn& turn, const ThenStep& then, const std::string& reason) {
  if (!may_be_applied(turn, then)) return;
  if (!turn.state.switching->view.back)
    turn_back(turn, "The journal could not be written: " + reason + '.');
  look_further(turn);
}

void answered(Turn& turn, const StepOfSwitch& what, const protocol::Answer* reply,
              protocol::Fault fault) {
  if (!turn.state.switching || turn.state.switching->ticket != what.ticket) return;
  auto& running = turn.state.switching.write();
  if (what.node == protocol::NodeUid::everyone()) {
    for (const auto& member : running.nodes)
      if (member.progress == Progress::applying && !member.alone &&
          line_of(turn.state, member) == what.line)
        read_back(turn, running.nodes.write(member));
  } else if (auto* member = running.write(what.node)) {
    command_of_member_ended(turn, *member, reply, fault);
  }
  look_further(turn);
}

}  // namespace catwalk::rack
