// SPDX-License-Identifier: Apache-2.0
// How a switch begins: may it, whom does it move, by which way; and then its intent is recorded.
#include "daemon/rack/core/switch_begin.hpp"

#include <algorithm>
#include <iterator>

#include "daemon/rack/core/alarms.hpp"
#include "daemon/rack/core/switch_end.hpp"
#include "daemon/rack/core/switch_steps.hpp"
#include "daemon/rack/core/switch_way.hpp"
#include "daemon/rack/values/wording.hpp"
#include "daemon/rack/way/crew_sheet.hpp"

namespace catwalk::rack {
namespace {

bool is_armed_for(const State& state, const Wish& wish) {
  return wish.cue && state.armed && state.armed->cue == *wish.cue;
}

// True: the show lock holds it, and it was refused.
bool is_held_by_lock(Turn& turn, const Wish& wish) {
  if (!turn.state.lock || wish.restores || is_armed_for(turn.state, wish)) return false;
  const std::string sentence{locked_without_arming};
  refuse_wish(turn, wish, Outcome::refused, sentence,
              {{{Rule::show_locked, Severity::refuse, {}, {}, {}, sentence}}});
  return true;
}

std::string with_trigger(std::string what, TriggeredBy trigger) {
  return std::move(what) + " (triggered by " + std::string{name_of(trigger)} + ')';
}

// Nothing is under way at any node, and of each it is known whether it answers. Comes true by
// itself: changes end, and so do the questions after a start or after a line has come up.
bool at_rest(const State& state) {
  return std::ranges::none_of(state.nodes, [](const NodeState& node) {
    const bool waits_for_its_node = node.change &&
                                    node.change->view.stage == ChangeStage::interrupted &&
                                    (node.link == Link::silent || node.link == Link::line_down);
    const bool is_asked = node.link == Link::unknown && !node.is_held();
    return (node.change && !waits_for_its_node) || node.adopting || is_asked;
  });
}

std::vector<std::string> names_of(const std::vector<plan::NodeName>& nodes) {
  std::vector<std::string> names;
  for (const auto& node : nodes) names.push_back(node.text);
  return names;
}

std::string what_moves(const Switch& running) {
  const auto left_out = names_of(running.wish.without);
  const auto count = std::ranges::count(running.nodes, false, &SwitchNode::left_out);
  return (running.wish.restores ? "what has drifted back to what is wanted"
                                : running.view.left.text + " → " + running.view.entered.text) +
         ": " + std::to_string(count) + (count == 1 ? " node in " : " nodes in ") +
         std::to_string(running.way.steps.size()) +
         (running.way.steps.size() == 1 ? " step" : " steps") +
         (left_out.empty() ? "" : ", without " + listed(left_out));
}

// What was asked for is so already, or nobody knows. Where nobody waits nobody has to be told.
void nothing_drifted(Turn& turn, const Wish& wish, const std::vector<NodeNow>& nodes) {
  auto nothing = nothing_to_restore(nodes, wish.only);
  if (wish.request)
    turn.respond(*wish.request, {nothing.outcome, std::move(nothing.sentence), {}, 0, nullptr});
}

// False: it was refused, or there is nothing to do.
bool make_switch(Turn& turn, const Wish& wish) {
  auto& state = turn.state;
  const auto* segment = state.plan->find(wish.segment);
  if (segment == nullptr) {
    refuse_wish(turn, wish, Outcome::unknown_name,
                "There is no segment \"" + wish.segment.text + "\" in this show.");
    return false;
  }
  const auto nodes = rack_now(state);
  auto members = wish.restores ? members_to_restore(nodes, wish.only)
                               : members_of(*state.plan, *segment, nodes, wish.without);
  if (wish.restores) leave_out_refused(*state.plan, *segment, nodes, members);
  if (wish.restores && members.nodes.empty()) {
    nothing_drifted(turn, wish, nodes);
    return false;
  }
  if (wish.restores && std::ranges::all_of(members.nodes, &Member::missing)) {
    refuse_wish(turn, wish, Outcome::refused, members.nodes.front().refused);
    return false;
  }
  if (!members.findings.empty()) {
    refuse_wish(turn, wish, Outcome::refused,
                "The segment has settings that their nodes do not know.",
                {std::move(members.findings)});
    return false;
  }
  if (!members.missing.empty() && segment->if_a_node_fails == plan::IfNodeFails::roll_back) {
    refuse_wish(turn, wish, outcome_of_missing(members), all_or_nothing(members));
    return false;
  }
  auto& running = state.switching.emplace();
  running.wish = wish;
  for (const auto& member : members.nodes) {
    SwitchNode node;
    node.uid = state.nodes[member.place].uid;
    node.before = member.before;
    node.target = member.target;
    node.given_up = member.missing;
    node.left_out = member.left_out;
    if (member.left_out)
      node.reason = "Left out by " + wish.who + (wish.why.empty() ? "." : ": " + wish.why + '.');
    else if (!member.refused.empty())
      node.reason = member.refused;
    else if (member.missing)
      node.reason = "did not answer when the switch began.";
    running.nodes.add(std::move(node));
  }
  running.if_a_node_fails = wish.restores ? plan::IfNodeFails::go_on : segment->if_a_node_fails;
  running.view.restores = wish.restores;
  running.view.id = ++state.last_change;
  running.view.left = state.segment;
  running.view.entered = wish.segment;
  running.view.triggered_by = wish.triggered_by;
  running.view.who = wish.who;
  running.view.why = wish.why;
  running.view.requested = turn.now;
  return true;
}

}  // namespace

SwitchNode* Switch::write(protocol::NodeUid uid) {
  const auto found = std::ranges::find(nodes, uid, &SwitchNode::uid);
  return found == nodes.end() ? nullptr : &nodes.write(*found);
}

Wish drop_switch(Turn& turn) {
  auto wish = std::move(turn.state.switching.write().wish);
  turn.state.switching.reset();
  turn.state.switch_view = turn.state.last_ended;
  catch_up(turn);
  return wish;
}

void refuse_wish(Turn& turn, const Wish& wish, Outcome outcome, std::string detail,
                 Verdict verdict) {
  auto entry = turn.entry(JournalKind::refused, wish.who);
  entry.what = with_trigger(turn.state.segment.text + " → " + wish.segment.text, wish.triggered_by);
  entry.why = wish.why;
  entry.verdict = in_words(verdict);
  entry.fate = std::string{name_of(outcome)} + ": " + detail;
  turn.record({std::move(entry)});
  if (wish.request) {
    turn.respond(*wish.request, {outcome, std::move(detail), std::move(verdict), 0, nullptr});
    return;
  }
  const auto subject = wish.cue ? wish.cue->text : wish.segment.text;
  raise_alarm(turn, AlarmKind::trigger_held, subject,
              "Cue " + subject + " was triggered by " + std::string{name_of(wish.triggered_by)} +
                  ", and nothing moved. " + detail);
}

void ask_for_switch(Turn& turn, Wish wish) {
  auto& state = turn.state;
  if (state.plan->find(wish.segment) == nullptr)
    return refuse_wish(turn, wish, Outcome::unknown_name,
                       "There is no segment \"" + wish.segment.text + "\" in this show.");
  if (is_held_by_lock(turn, wish)) return;
  if (state.switching) {
    const auto& under_way = state.switching->view;
    if (under_way.stage == SwitchStage::interrupted)
      return refuse_wish(turn, wish, Outcome::busy,
                         "The daemon was stopped in a switch to " + under_way.entered.text +
                             "; its nodes are being read.");
    if (under_way.entered == wish.segment && !under_way.back && !state.switching->wish.restores)
      return refuse_wish(turn, wish, Outcome::busy,
                         "The switch to " + wish.segment.text + " is under way already.");
    // A repair is no switch of the show: whatever is triggered waits until it is done.
    if (state.switching->wish.restores && state.wishes.size() < most_wishes) {
      state.wishes.push_back(std::move(wish));
      return;
    }
    switch (state.plan->running_order.second_trigger) {
      case plan::SecondTrigger::refuse:
        return refuse_wish(
            turn, wish, Outcome::busy,
            "The switch to " + under_way.entered.text + " is under way (second_trigger: refuse).");
      case plan::SecondTrigger::replace:
        for (const auto& other : state.wishes)
          refuse_wish(turn, other, Outcome::busy,
                      "The switch to " + wish.segment.text + " has taken its place.");
        state.wishes.clear();
        turn_back(turn, "The switch to " + wish.segment.text + ", asked for by " + wish.who +
                            ", replaces it.");
        break;
      case plan::SecondTrigger::queue:
        break;
    }
  }
  if (state.wishes.size() == most_wishes)
    return refuse_wish(turn, wish, Outcome::busy,
                       std::to_string(most_wishes) + " switches are waiting for their turn.");
  state.wishes.push_back(std::move(wish));
}

void begin_waiting(Turn& turn) {
  auto& state = turn.state;
  while (!state.switching && !state.wishes.empty() && at_rest(state)) {
    auto wish = std::move(state.wishes.front());
    state.wishes.pop_front();
    // Asked once more now that it is its turn: what was armed when it was triggered may have been
    // disarmed, or used up by another, since.
    if (is_held_by_lock(turn, wish)) continue;
    wish.armed = is_armed_for(state, wish);
    // The same as a preview takes along.
    if (wish.armed && wish.without.empty()) {
      wish.without = state.armed->without;
      if (!wish.waiver) wish.waiver = state.armed->waiver;
    }
    if (!make_switch(turn, wish)) continue;
    if (wish.armed) {
      return_alarm(turn, AlarmKind::cue_blocked, state.armed->cue.text);
      state.armed.reset();
    }
    plan_on(turn);
    state.ahead.reset();
  }
}

WayQuestion question_ahead(const State& state, const plan::SegmentName& segment,
                           const std::vector<plan::NodeName>& without) {
  const auto nodes = rack_now(state);
  return way_to(state.plan, state.segment, segment, nodes,
                members_of(*state.plan, *state.plan->find(segment), nodes, without));
}

namespace {

UnfinishedSwitch unfinished_of(const Switch& running) {
  UnfinishedSwitch unfinished{running.view.id,
                              running.view.left.text,
                              running.view.entered.text,
                              running.wish.cue ? running.wish.cue->text : "",
                              running.wish.who,
                              running.wish.why,
                              running.wish.waiver,
                              running.view.back,
                              static_cast<std::uint32_t>(running.view.step),
                              running.ticket,
                              {}};
  for (const auto& node : running.nodes)
    unfinished.nodes.push_back({node.uid, node.before, node.target, node.left_out});
  unfinished.restores = running.wish.restores;
  return unfinished;
}

}  // namespace

std::vector<Write> writes_without_new(const State& state) {
  if (!state.unsettled || state.unsettled->view.stage != SwitchStage::stuck)
    return {ForgetSwitch{}};
  return {KeepSwitch{unfinished_of(*state.unsettled)}, KeepSwitchStuck{}};
}

// The first way is there: may it be gone?
void judge_first_way(Turn& turn) {
  auto& state = turn.state;
  auto& running = state.switching.write();
  Verdict verdict = running.way.end;
  verdict.findings.insert(verdict.findings.end(), running.way.breaches.findings.begin(),
                          running.way.breaches.findings.end());
  const auto refuse = [&](Outcome outcome, std::string detail) {
    const auto wish = drop_switch(turn);
    refuse_wish(turn, wish, outcome, std::move(detail), std::move(verdict));
  };
  if (verdict.refuses()) {
    const auto of_left_out = left_out_and_refused(running.wish.without, running.way.end);
    return refuse(Outcome::refused,
                  (running.way.breaches.refuses()
                       ? "There is no way that is not worse than either end; "
                         "nothing was moved."
                       : "The rules refuse where it would end; nothing was moved.") +
                      (of_left_out.empty() ? "" : ' ' + of_left_out));
  }
  if (verdict.needs_waiver() && !running.wish.is_signed())
    return refuse(Outcome::needs_waiver,
                  "There are cautions: a named person has to say why to go on.");

  auto entry = turn.entry(JournalKind::switching, running.wish.who);
  entry.change = running.view.id;
  entry.what = with_trigger(what_moves(running), running.wish.triggered_by);
  if (!running.wish.restores)
    running.view.not_ticked =
        not_ticked(crew_sheet(*state.plan->find(running.view.left),
                              *state.plan->find(running.view.entered), state.ticks.all()));
  if (!running.view.not_ticked.empty()) entry.what += "; " + running.view.not_ticked;
  entry.why = running.wish.why;
  entry.verdict = in_words(verdict);
  if (running.wish.waiver) entry.waiver = running.wish.waiver->text();
  running.view.verdict = std::make_shared<const Verdict>(std::move(verdict));
  running.view.stage = SwitchStage::recording;
  turn.record({std::move(entry)}, {KeepSwitch{unfinished_of(running)}},
              ThenSwitch{running.view.id});
}

void kept(Turn& turn, const ThenSwitch& then) {
  auto& state = turn.state;
  if (!state.switching || state.switching->view.id != then.change) return;  // given up meanwhile
  auto& running = state.switching.write();
  running.durable = true;
  if (running.aborted) return end_switch(turn, SwitchStage::rolled_back, running.view.reason);
  if (state.lock && !running.wish.armed && !running.wish.restores)
    return end_switch(turn, SwitchStage::rolled_back, "The rack was locked before anything moved.");
  if (running.wish.request)
    turn.respond(*running.wish.request,
                 {Outcome::accepted, {}, {}, running.view.id, nullptr, view_of_switch(state)});
  for (const auto& member : running.nodes) state.write(member.uid);  // each is changing from now on
  begin_step(turn);
}

void lost(Turn& turn, const ThenSwitch& then, const std::string& reason) {
  auto& state = turn.state;
  if (!state.switching || state.switching->view.id != then.change) return;
  const auto wish = drop_switch(turn);
  state.owed.add({{}, writes_without_new(state)});
  const auto detail = "The journal could not be written: " + reason + ". Nothing was moved.";
  if (wish.request)
    turn.respond(*wish.request, {Outcome::not_recorded, detail});
  else
    refuse_wish(turn, wish, Outcome::not_recorded, detail);
}

}  // namespace catwalk::rack
