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

bool is_there(const Switch& one, const SwitchNode& member, const NodeState& node) {
  return node.seen && node.seen->settings == one.goal_of(member);
}

bool is_known(const NodeState& node) { return now_of(node).in_force.has_value(); }

// The members as they are to be moved now, there or back.
Members members_now(const State& state, const Switch& one) {
  Members members;
  for (const auto& member : one.nodes)
    members.nodes.push_back({state.by_uid.at(member.uid), member.before, one.goal_of(member),
                             member.given_up, member.left_out});
  return members;
}

WayQuestion question_now(const State& state, const Switch& one) {
  auto question =
      way_to(state.plan, one.view.left, one.view.entered, rack_now(state), members_now(state, one));
  if (one.view.back) {
    std::swap(question.left, question.entered);
    question.back = true;
  }
  if (one.durable) question.detail = WayDetail::steps_only;
  return question;
}

// Members that cannot be reached any more and are not where they should be.
std::vector<SwitchNode*> lost_members(const State& state, Switch& one) {
  std::vector<SwitchNode*> lost;
  for (const auto& member : one.nodes)
    if (const auto& node = *state.find(member.uid); !member.given_up && !is_known(node))
      lost.push_back(&one.nodes.write(member));
  return lost;
}

void take_way(Turn& turn, Way way) {
  auto& state = turn.state;
  auto& one = state.switching.write();
  one.awaited.reset();
  one.way = std::move(way);
  one.at = 0;
  const auto nodes = rack_now(state);
  move_along(nodes, members_now(state, one).nodes, one.way);
  excuse_unsupplied(nodes, one.way.end);
  tell_left_out(*state.plan, members_now(state, one), one.wish.without, one.way.end);
  if (one.wish.restores) keep_findings_on(nodes, members_now(state, one), one.way.end);
  one.view.steps = one.way.steps.size();
  one.view.step = 0;
  if (!one.durable) return judge_first_way(turn);
  const auto& breaches = one.way.breaches;
  if (!breaches.refuses() && (!breaches.needs_waiver() || one.wish.is_signed()))
    return begin_step(turn);
  if (one.view.back)
    end_switch(turn, SwitchStage::stuck,
               one.view.reason + " The way back is no clean one: " + in_words(breaches));
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

bool as_planned(const State& state, const Switch& one) {
  std::vector<std::optional<plan::Settings>> expected;
  for (const auto& ends : one.question.nodes) expected.push_back(ends.present);
  for (std::size_t number = 0; number < one.at; ++number)
    for (const auto& move : one.way.steps[number].moves) {
      const auto place = state.nodes.place_of(*state.find(move.node));
      expected[place] = move.to;
      if (!one.question.nodes[place].target) expected[place]->power = false;  // moved along
    }
  for (std::size_t i = 0; i < state.nodes.size(); ++i) {
    auto now = now_of(state.nodes[i]).in_force;
    if (now && expected[i]) now->label = expected[i]->label;
    if (now != expected[i]) return false;
  }
  return true;
}

void way_walked(Turn& turn) {
  auto& state = turn.state;
  auto& one = state.switching.write();
  bool all = true;
  for (const auto& member : one.nodes) {
    if (member.left_out) continue;
    if (member.given_up)
      all = false;
    else if (!is_there(one, member, *state.find(member.uid)))
      return plan_on(turn);
  }
  if (!one.view.back) return end_switch(turn, SwitchStage::done, {});
  end_switch(turn, all ? SwitchStage::rolled_back : SwitchStage::stuck, one.view.reason);
}

// Nothing moved yet: it is refused. Else back; if that was the way back, it is stuck.
void no_way(Turn& turn, const std::string& reason) {
  auto& one = turn.state.switching.write();
  if (!one.durable) {
    const auto wish = drop_switch(turn);
    return refuse_wish(turn, wish, Outcome::busy, reason);
  }
  if (one.view.back) return end_switch(turn, SwitchStage::stuck, one.view.reason + ' ' + reason);
  turn_back(turn, reason);
}

void plan_on(Turn& turn) {
  auto& state = turn.state;
  auto& one = state.switching.write();
  one.view.stage = SwitchStage::planning;
  for (auto* member : lost_members(state, one)) {
    const auto& name = state.find(member->uid)->name.text;
    member->given_up = true;
    member->progress = Progress::failed;
    member->reason = state.find(member->uid)->is_held() ? "is another controller's by now."
                                                        : "does not answer any more.";
    if (one.view.back || one.if_a_node_fails == plan::IfNodeFails::go_on) continue;
    const auto reason = name + ' ' + member->reason;
    if (one.durable) return turn_back(turn, reason);
    const auto wish = drop_switch(turn);
    return refuse_wish(turn, wish, Outcome::unreachable, reason);
  }
  if (++one.planned > most_plannings) {
    return no_way(turn,
                  "The rack does not hold still: something changes it faster than a way can be "
                  "planned.");
  }
  one.question = question_now(state, one);
  if (state.ahead && state.ahead->way && state.ahead->question == one.question)
    return take_way(turn, *state.ahead->way);
  one.awaited = ++state.last_way;
  turn.effects.emplace_back(PlanWay{*one.awaited, one.question});
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
  auto& one = state.switching.write();
  one.awaited.reset();
  if (one.aborted && !one.durable) {
    const auto reason = one.view.reason;
    const auto wish = drop_switch(turn);
    return refuse_wish(turn, wish, Outcome::refused, reason);
  }
  if (question_now(state, one) != one.question) return plan_on(turn);
  if (!event.way) return no_way(turn, "The way could not be worked out (see the log).");
  take_way(turn, *event.way);
}

void turn_back(Turn& turn, std::string reason) {
  auto& state = turn.state;
  auto& one = state.switching.write();
  if (one.view.back) return;
  if (one.view.reason.empty()) one.view.reason = std::move(reason);
  one.aborted = true;
  // Anywhere else something has to come to its end first, and looks at `aborted` then.
  if (one.view.stage == SwitchStage::planning && one.durable) go_back(turn);
}

void go_back(Turn& turn) {
  auto& state = turn.state;
  auto& one = state.switching.write();
  // What is brought back stays so: there is nothing to return to that anybody wanted.
  if (one.wish.restores) {
    for (const auto& member : one.nodes)
      if (!member.given_up && !is_there(one, member, *state.find(member.uid)))
        one.nodes.write(member).given_up = true;
    return end_switch(turn, SwitchStage::done, one.view.reason);
  }
  if (!one.moved) return end_switch(turn, SwitchStage::rolled_back, one.view.reason);
  one.view.back = true;
  one.aborted = false;
  one.planned = 0;
  one.awaited.reset();
  for (std::size_t number = 0; number < one.nodes.size(); ++number) {
    auto& member = one.nodes.write_at(number);
    member.given_up = member.left_out || !is_known(*state.find(member.uid));
    member.progress = member.given_up ? Progress::failed : Progress::waiting;
  }
  auto entry = turn.entry(JournalKind::switching, one.wish.who);
  entry.change = one.view.id;
  entry.what = "turns back to " + one.view.left.text;
  entry.why = one.view.reason;
  turn.record({std::move(entry)}, {KeepSwitchStep{true, 0, 0}});
  plan_on(turn);
}

}  // namespace catwalk::rack
