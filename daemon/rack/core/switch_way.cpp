// SPDX-License-Identifier: Apache-2.0
// The way of a switch: planned from where the rack is, and planned anew whenever it is elsewhere
// than the way takes it to be.
#include "daemon/rack/core/switch_way.hpp"

#include <algorithm>

#include "daemon/rack/core/switch_begin.hpp"
#include "daemon/rack/core/switch_end.hpp"
#include "daemon/rack/core/switch_steps.hpp"
#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

// More ways than this between two steps, and the rack does not hold still.
constexpr int most_plannings = 12;

bool is_there(const Switch& running, const SwitchNode& member, const NodeState& node) {
  return node.seen && node.seen->settings == running.goal_of(member);
}

bool is_known(const NodeState& node) { return now_of(node).in_force.has_value(); }

// The members as they are to be moved now, there or back.
Members members_now(const State& state, const Switch& running) {
  Members members;
  for (const auto& member : running.nodes)
    members.nodes.push_back({state.by_uid.at(member.uid),
                             member.before,
                             running.goal_of(member),
                             member.given_up,
                             member.left_out,
                             {},
                             !is_known(*state.find(member.uid))});
  find_those_fed(*state.plan, members.nodes);
  return members;
}

WayQuestion question_now(const State& state, const Switch& running) {
  auto question = way_to(state.plan, running.view.left, running.view.entered, rack_now(state),
                         members_now(state, running));
  if (running.view.back) {
    std::swap(question.left, question.entered);
    question.back = true;
  }
  if (running.durable) question.detail = WayDetail::steps_only;
  return question;
}

// Members that cannot be reached any more and are not where they should be.
std::vector<SwitchNode*> lost_members(const State& state, Switch& running) {
  std::vector<SwitchNode*> lost;
  for (const auto& member : running.nodes)
    if (const auto& node = *state.find(member.uid); !member.given_up && !is_known(node))
      lost.push_back(&running.nodes.write(member));
  return lost;
}

void take_way(Turn& turn, Way way) {
  auto& state = turn.state;
  auto& running = state.switching.write();
  running.awaited.reset();
  running.way = std::move(way);
  running.at = 0;
  const auto nodes = rack_now(state);
  move_along(nodes, members_now(state, running).nodes, running.way);
  excuse_unsupplied(nodes, running.way.end);
  tell_left_out(*state.plan, members_now(state, running), running.wish.without, running.way.end);
  if (running.wish.restores) keep_findings_on(nodes, members_now(state, running), running.way.end);
  running.view.steps = running.way.steps.size();
  running.view.step = 0;
  if (!running.durable) return judge_first_way(turn);
  const auto& breaches = running.way.breaches;
  if (!breaches.refuses() && (!breaches.needs_waiver() || running.wish.is_signed()))
    return begin_step(turn);
  if (running.view.back)
    end_switch(turn, SwitchStage::stuck,
               running.view.reason + " The way back is no clean one: " + in_words(breaches));
  else
    turn_back(turn,
              "The rack is not as it was when the way was planned, and the way on is no clean "
              "one: " +
                  in_words(breaches));
}

}  // namespace

NodeNow now_of(const NodeState& node) {
  return now_of(node.name, node.wanted.get(), node.seen.get(), node.link, bool{node.maybe},
                node.is_held());
}

std::vector<NodeNow> rack_now(const State& state) {
  std::vector<NodeNow> nodes;
  nodes.reserve(state.nodes.size());
  for (const auto& node : state.nodes) nodes.push_back(now_of(node));
  return nodes;
}

namespace {

// What nodes are called moves nothing.
void take_labels(const plan::NodeSettings& from, plan::NodeSettings& to) {
  if (from.amplifier() != nullptr && to.amplifier() != nullptr)
    to.amplifier()->label = from.amplifier()->label;
  if (from.matrix() == nullptr || to.matrix() == nullptr) return;
  const auto& inputs = from.matrix()->inputs;
  to.matrix()->label = from.matrix()->label;
  for (std::size_t i = 0; i < std::min(inputs.size(), to.matrix()->inputs.size()); ++i)
    to.matrix()->inputs[i].label = inputs[i].label;
}

}  // namespace

bool as_planned(const State& state, const Switch& running) {
  std::vector<std::optional<plan::NodeSettings>> expected;
  for (const auto& ends : running.question.nodes) expected.push_back(ends.present);
  for (std::size_t number = 0; number < running.at; ++number)
    for (const auto& move : running.way.steps[number].moves) {
      const auto place = state.nodes.place_of(*state.find(move.node));
      expected[place] = move.to;
      if (auto* amplifier = expected[place]->amplifier();
          amplifier != nullptr && !running.question.nodes[place].target)
        amplifier->power = false;  // moved along
    }
  for (std::size_t i = 0; i < state.nodes.size(); ++i) {
    auto now = now_of(state.nodes[i]).in_force;
    if (now && expected[i]) take_labels(*expected[i], *now);
    if (now != expected[i]) return false;
  }
  return true;
}

void way_walked(Turn& turn) {
  auto& state = turn.state;
  auto& running = state.switching.write();
  bool all = true;
  for (const auto& member : running.nodes) {
    if (member.left_out) continue;
    if (member.given_up)
      all = false;
    else if (!is_there(running, member, *state.find(member.uid)))
      return plan_on(turn);
  }
  if (!running.view.back) return end_switch(turn, SwitchStage::done, {});
  end_switch(turn, all ? SwitchStage::rolled_back : SwitchStage::stuck, running.view.reason);
}

// Nothing moved yet: it is refused. Else back; if that was the way back, it is stuck.
void no_way(Turn& turn, const std::string& reason) {
  auto& running = turn.state.switching.write();
  if (!running.durable) {
    const auto wish = drop_switch(turn);
    return refuse_wish(turn, wish, Outcome::busy, reason);
  }
  if (running.view.back)
    return end_switch(turn, SwitchStage::stuck, running.view.reason + ' ' + reason);
  turn_back(turn, reason);
}

void plan_on(Turn& turn) {
  auto& state = turn.state;
  auto& running = state.switching.write();
  running.view.stage = SwitchStage::planning;
  for (auto* member : lost_members(state, running)) {
    const auto& name = state.find(member->uid)->name.text;
    member->given_up = true;
    member->progress = Progress::failed;
    member->reason = state.find(member->uid)->is_held() ? "was another controller's by then."
                                                        : "did not answer any more.";
    if (running.view.back || running.if_a_node_fails == plan::IfNodeFails::go_on) continue;
    const auto reason = name + ' ' + member->reason;
    if (running.durable) return turn_back(turn, reason);
    const auto wish = drop_switch(turn);
    return refuse_wish(turn, wish, Outcome::unreachable, reason);
  }
  if (++running.planned > most_plannings) {
    return no_way(turn,
                  "The rack does not hold still: something changes it faster than a way can be "
                  "planned.");
  }
  running.question = question_now(state, running);
  if (state.ahead && state.ahead->way && state.ahead->question == running.question)
    return take_way(turn, *state.ahead->way);
  running.awaited = ++state.last_way;
  turn.effects.emplace_back(PlanWay{*running.awaited, running.question});
}

void way_planned(Turn& turn, const WayPlanned& event) {
  auto& state = turn.state;
  if (state.ahead_awaited == event.id) {
    state.ahead_awaited.reset();
    // keep_time() looks at it, unless something else is armed by now.
    if (state.ahead && state.ahead->id == event.id) state.ahead->way = event.way;
    return;
  }
  if (!state.switching || state.switching->awaited != event.id) return;
  auto& running = state.switching.write();
  running.awaited.reset();
  if (running.aborted && !running.durable) {
    const auto reason = running.view.reason;
    const auto wish = drop_switch(turn);
    return refuse_wish(turn, wish, Outcome::refused, reason);
  }
  if (question_now(state, running) != running.question) return plan_on(turn);
  if (!event.way) return no_way(turn, "The way could not be worked out (see the log).");
  take_way(turn, *event.way);
}

void turn_back(Turn& turn, std::string reason) {
  auto& state = turn.state;
  auto& running = state.switching.write();
  if (running.view.back) return;
  if (running.view.reason.empty()) running.view.reason = std::move(reason);
  running.aborted = true;
  // Anywhere else something has to come to its end first, and looks at `aborted` then.
  if (running.view.stage == SwitchStage::planning && running.durable) go_back(turn);
}

void go_back(Turn& turn) {
  auto& state = turn.state;
  auto& running = state.switching.write();
  // What is brought back stays so: there is nothing to return to that anybody wanted.
  if (running.wish.restores) {
    for (const auto& member : running.nodes)
      if (!member.given_up && !is_there(running, member, *state.find(member.uid)))
        running.nodes.write(member).given_up = true;
    return end_switch(turn, SwitchStage::done, running.view.reason);
  }
  if (!running.moved) return end_switch(turn, SwitchStage::rolled_back, running.view.reason);
  running.view.back = true;
  running.aborted = false;
  running.planned = 0;
  running.awaited.reset();
  for (std::size_t number = 0; number < running.nodes.size(); ++number) {
    auto& member = running.nodes.write_at(number);
    member.given_up = member.left_out || !is_known(*state.find(member.uid));
    member.progress = member.given_up ? Progress::failed : Progress::waiting;
  }
  auto entry = turn.entry(JournalKind::switching, running.wish.who);
  entry.change = running.view.id;
  entry.what = "turns back to " + running.view.left.text;
  entry.why = running.view.reason;
  turn.record({std::move(entry)}, {KeepSwitchStep{true, 0, 0}});
  plan_on(turn);
}

}  // namespace catwalk::rack
