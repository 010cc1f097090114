// SPDX-License-Identifier: Apache-2.0
// The end of a switch: done, rolled back or stuck.
#include "daemon/rack/core/switch_end.hpp"

#include <algorithm>
#include <iterator>

#include "daemon/rack/core/alarms.hpp"
#include "daemon/rack/core/crew.hpp"
#include "daemon/rack/core/field.hpp"
#include "daemon/rack/core/running_order.hpp"
#include "daemon/rack/core/switch_advice.hpp"
#include "daemon/rack/core/switch_begin.hpp"
#include "daemon/rack/core/switch_way.hpp"
#include "daemon/rack/values/settings_words.hpp"
#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

// Of a node: "has the settings of finale".
std::string place_in_words(const State& state, const Switch& running, const SwitchNode& member) {
  const auto& node = *state.find(member.uid);
  switch (whereabouts(state, node, member)) {
    case Whereabouts::before:
      return "is as it was before";
    case Whereabouts::between:
      return "is on intermediate settings";
    case Whereabouts::target:
      return running.wish.restores ? "has what is wanted of it"
                                   : "has the settings of " + running.view.entered.text;
    case Whereabouts::elsewhere:
      return "is elsewhere";
    case Whereabouts::unknown:
      return node.link == Link::unknown ? "is not read yet" : "does not answer";
    case Whereabouts::not_ours:
      return "is another controller's";
  }
  return {};
}

std::vector<std::string> names_of_given_up(const Switch& running, const State& state,
                                           bool left_out) {
  std::vector<std::string> names;
  for (const auto& member : running.nodes)
    if (member.given_up && member.left_out == left_out)
      names.push_back(state.find(member.uid)->name.text);
  return names;
}

std::string how_it_ended(const Switch& running, const State& state, SwitchStage end,
                         std::string reason) {
  if (end == SwitchStage::stuck) return reason + ' ' + who_is_where(running, state);
  if (end == SwitchStage::rolled_back) return reason;
  const auto left_out = names_of_given_up(running, state, true);
  const auto failed = names_of_given_up(running, state, false);
  auto told = running.wish.restores ? std::move(reason) : std::string{};
  if (!left_out.empty())
    told += (told.empty() ? "" : " ") + std::string{"It went without "} + listed(left_out) +
            ", left out by " + running.wish.who + ".";
  if (!failed.empty())
    told += (told.empty() ? "" : " ") + ("It went on without " + listed(failed)) +
            (running.wish.restores ? "." : ", as the segment says.");
  return told;
}

// Wanted follows where everything was moved to, and where that which failed has still to go.
void want_targets(Turn& turn, const Switch& running, std::vector<Write>& writes) {
  for (const auto& member : running.nodes) {
    auto& node = *turn.state.write(member.uid);
    if (node.wanted && node.wanted->settings == member.target) continue;
    turn.know(node, &NodeState::wanted,
              std::optional{Wanted{member.target, node.wanted ? node.wanted->revision + 1 : 1}});
    writes.emplace_back(KeepWanted{node.uid, *node.wanted});
  }
}

}  // namespace

namespace {

// An amplifier that moves in two steps, after the first of them. A matrix moves in one.
bool is_between(const plan::NodeSettings& now, const SwitchNode& member) {
  const auto* before = member.before.amplifier();
  const auto* target = member.target.amplifier();
  if (before == nullptr || target == nullptr) return false;
  const auto with_gain = [](plan::Settings settings, rf::Gain gain) {
    settings.gain = gain;
    return settings;
  };
  return now == with_gain(*target, before->gain) || now == with_gain(*before, target->gain);
}

}  // namespace

std::string who_is_where(const Switch& running, const State& state) {
  std::string text;
  for (const auto& member : running.nodes) {
    if (member.left_out) continue;
    text += (text.empty() ? "" : "; ") + state.find(member.uid)->name.text + ' ' +
            place_in_words(state, running, member);
  }
  return text.empty() ? text : text + '.';
}

Whereabouts whereabouts(const State& state, const NodeState& node, const SwitchNode& member) {
  if (state.is_others(node)) return Whereabouts::not_ours;
  if (!now_of(node).in_force) return Whereabouts::unknown;
  const auto& now = node.seen->settings;
  if (now == member.before) return Whereabouts::before;
  if (now == member.target) return Whereabouts::target;
  return is_between(now, member) ? Whereabouts::between : Whereabouts::elsewhere;
}

void catch_up(Turn& turn) {
  turn.conditions_changed();
  for (std::size_t place = 0; place < turn.state.nodes.size(); ++place) {
    auto& node = turn.state.nodes.write_at(place);
    if (node.seen) hold_to_wanted(turn, node, node.was_lost && node.link == Link::answering);
  }
}

SwitchViewPtr view_of_ended(State& state, Switch& ended) {
  const auto because = ended.view.reason;
  ended.view.reason = how_it_ended(ended, state, ended.view.stage, because);
  auto view = view_of_switch(state, ended);
  ended.view.reason = because;
  return view;
}

SwitchViewPtr view_of_switch(State& state) {
  return view_of_switch(state, state.switching.write());
}

SwitchViewPtr view_of_switch(State& state, Switch& running) {
  auto view = std::make_shared<SwitchView>(running.view);
  for (std::size_t number = 0; number < running.nodes.size(); ++number) {
    const auto place = state.by_uid.at(running.nodes[number].uid);
    const bool same = running.nodes[number].view && !is_end(running.view.stage) &&
                      !running.nodes.changed(number) && !state.nodes.changed(place);
    if (same) {
      view->nodes.push_back(running.nodes[number].view);
      continue;
    }
    auto& member = running.nodes.write_at(number);
    const auto& node = state.nodes[place];
    // Of one that is done, the others are where it brought them; what became of them since is
    // nothing of it.
    const bool was_there = running.view.stage == SwitchStage::done && !member.given_up;
    const auto where = was_there ? Whereabouts::target : whereabouts(state, node, member);
    SwitchedNode now{node.name,
                     member.before,
                     member.target,
                     where,
                     member.progress,
                     member.reason,
                     what_to_do(state, running, member, where)};
    if (!member.view || *member.view != now)
      member.view = std::make_shared<const SwitchedNode>(std::move(now));
    view->nodes.push_back(member.view);
  }
  return view;
}

namespace {

// What became of each node, and of the whole.
std::vector<JournalEntry> rows_of_end(const Turn& turn, const Switch& running,
                                      const std::string& reason) {
  const auto& state = turn.state;
  std::vector<JournalEntry> rows;
  for (const auto& member : running.nodes) {
    const auto& node = *state.find(member.uid);
    auto& row = rows.emplace_back(turn.entry(JournalKind::switching, running.wish.who, &node));
    row.change = running.view.id;
    row.what = move_in_words(member.before, member.target, state.plan_of(node));
    row.fate = place_in_words(state, running, member);
    if (!member.reason.empty()) row.fate += ": " + member.reason;
  }
  if (running.view.stage == SwitchStage::done && !running.wish.restores)
    rows.push_back(turn.on_the_air(running.view.entered, running.wish.who));
  auto& row = rows.emplace_back(turn.entry(JournalKind::switching, running.wish.who));
  row.change = running.view.id;
  row.what = running.wish.restores ? "what has drifted back to what is wanted"
                                   : running.view.left.text + " → " + running.view.entered.text;
  row.fate = name_of(running.view.stage);
  if (!reason.empty()) row.fate += ": " + reason;
  return rows;
}

Outcome outcome_of(SwitchStage end) {
  if (end == SwitchStage::done) return Outcome::done;
  return end == SwitchStage::rolled_back ? Outcome::rolled_back : Outcome::stuck;
}

// What was to come after one that did not arrive, unless the running order lets it replace that.
void drop_those_behind(Turn& turn, const Switch& finished) {
  auto& state = turn.state;
  const bool stuck = finished.view.stage == SwitchStage::stuck;
  const bool replaces = state.plan->running_order.second_trigger == plan::SecondTrigger::replace;
  if (!stuck && replaces) return;
  for (const auto& wish : std::exchange(state.wishes, {}))
    refuse_wish(turn, wish, Outcome::refused,
                "The switch before it, to " + finished.view.entered.text +
                    (stuck ? ", is stuck." : ", was rolled back."));
}

}  // namespace

void end_switch(Turn& turn, SwitchStage end, std::string reason) {
  auto& state = turn.state;
  auto& running = state.switching.write();
  running.view.stage = end;
  running.view.ended = turn.now;
  running.view.reason = std::move(reason);
  std::vector<Write> writes;
  if (end == SwitchStage::done) want_targets(turn, running, writes);
  state.switch_view = state.last_ended = view_of_ended(state, running);
  const auto told = state.last_ended->reason;
  auto rows = rows_of_end(turn, running, told);
  const auto finished = std::move(running);
  state.switching.reset();
  // One that came to nothing mends no older one that is stuck.
  const bool older_stuck = end == SwitchStage::rolled_back && state.unsettled &&
                           state.unsettled->view.stage == SwitchStage::stuck;
  if (!older_stuck) {
    state.unsettled.reset();
    if (leaves_something(finished)) state.unsettled = finished;
  }
  // Where its nodes are is told after a restart too.
  if (end == SwitchStage::stuck)
    writes.emplace_back(KeepSwitchStuck{});
  else
    std::ranges::move(writes_without_new(state), std::back_inserter(writes));
  if (end == SwitchStage::done) {
    std::ranges::move(begin_sheets_anew(state, state.segment, finished.view.entered),
                      std::back_inserter(writes));
    state.segment = finished.view.entered;
    writes.emplace_back(KeepSegment{state.segment.text});
  }
  AfterRecord after = ThenNothing{};
  if (finished.wish.request)
    after =
        ThenEndSwitch{*finished.wish.request,
                      {outcome_of(end), told, {}, finished.view.id, nullptr, state.switch_view}};
  // The alarm is kept before the end: a daemon that is stopped in between takes the switch up
  // again, and none forgets both.
  if (end != SwitchStage::done)
    raise_alarm(turn, AlarmKind::switch_failed, {},
                "The switch from " + finished.view.left.text + " to " + finished.view.entered.text +
                    (end == SwitchStage::stuck ? " is stuck. " : " was rolled back. ") + told +
                    (older_stuck ? " The switch to " + state.unsettled->view.entered.text +
                                       " before it is still stuck."
                                 : ""));
  turn.record(std::move(rows), std::move(writes), std::move(after));
  if (end == SwitchStage::done) {
    if (!finished.wish.restores) reached(turn, finished.view.entered, finished.wish.cue);
    return_alarm(turn, AlarmKind::switch_failed, {});
  }
  catch_up(turn);
  if (end != SwitchStage::done) drop_those_behind(turn, finished);
}

void kept(Turn& turn, const ThenEndSwitch& then) { turn.respond(then.request, then.answer); }

// Everything has moved as it says, but a daemon that is stopped now does not know it: "done" would
// promise more than can be kept.
void lost(Turn& turn, const ThenEndSwitch& then, const std::string& reason) {
  auto answer = then.answer;
  const auto unkept = "The journal could not be written: " + reason + ".";
  if (answer.outcome == Outcome::done) {
    answer.detail = unkept + " The switch is done. " + answer.detail;
    if (answer.detail.ends_with(' ')) answer.detail.pop_back();
    answer.outcome = Outcome::not_recorded;
  } else {
    answer.detail += ' ' + unkept;
  }
  turn.respond(then.request, std::move(answer));
}

}  // namespace catwalk::rack
