// SPDX-License-Identifier: Apache-2.0
// Where the rack is in its running order, when the next cue is due, and who may trigger it while
// the rack is locked.
#include "daemon/rack/core/running_order.hpp"

#include <algorithm>

#include "daemon/base/overloaded.hpp"
#include "daemon/rack/core/alarms.hpp"
#include "daemon/rack/core/changes.hpp"
#include "daemon/rack/core/crew.hpp"
#include "daemon/rack/core/order_view.hpp"
#include "daemon/rack/core/switch_begin.hpp"
#include "daemon/rack/core/switch_way.hpp"

namespace catwalk::rack {
namespace {

// What comes later than this was missed: after a restart, a long pause of the machine, or a clock
// that was put forward.
constexpr std::chrono::seconds latest{30};

const plan::RunningOrder& order(const State& state) { return state.plan->running_order; }

std::optional<std::size_t> place_of(const State& state, const plan::CueName& name) {
  const auto& cues = order(state).cues;
  const auto found = std::ranges::find(cues, name, &plan::Cue::name);
  if (found == cues.end()) return std::nullopt;
  return static_cast<std::size_t>(found - cues.begin());
}

void disarm(Turn& turn, const std::string& who, std::string what) {
  auto entry = turn.entry(JournalKind::arming, who);
  entry.what = turn.state.armed->cue.text + ' ' + std::move(what);
  turn.record({std::move(entry)});
  return_alarm(turn, AlarmKind::cue_blocked, turn.state.armed->cue.text);
  turn.state.armed.reset();
  turn.state.ahead.reset();
}

void disarm_reload(Turn& turn, const std::string& who, std::string what) {
  auto entry = turn.entry(JournalKind::arming, who);
  entry.what = "reload " + std::move(what);
  turn.record({std::move(entry)});
  turn.state.reload_armed.reset();
}

// The cue does not trigger itself. `how`: "has passed".
void held(Turn& turn, const plan::Cue& cue, const std::string& how) {
  auto entry = turn.entry(JournalKind::refused, "running order");
  entry.what = "cue " + cue.name.text;
  entry.fate = "held: its time " + how;
  turn.record({std::move(entry)});
  raise_alarm(turn, AlarmKind::trigger_held, cue.name.text,
              "The time of cue " + cue.name.text + ' ' + how + ", and nothing moved. Go by hand.");
}

// Precondition: it is not good.
std::string blocked(const plan::CueName& cue, const Prospect& prospect) {
  return "Cue " + cue.text +
         " is armed, and would not go as things are now: " + prospect.obstacles.front();
}

// Whoever has armed the cue is told what it would come to, and everybody when that changes.
void foresee(Turn& turn, Prospect prospect) {
  auto& state = turn.state;
  auto& armed = *state.armed;
  if (armed.prospect == prospect) return;
  const bool was_good = armed.prospect && armed.prospect->good();
  const bool is_told = is_raised(state, AlarmKind::cue_blocked, armed.cue.text);
  if (prospect.good())
    return_alarm(turn, AlarmKind::cue_blocked, armed.cue.text);
  else if (was_good || is_told || state.arm_waits.empty())  // else whoever arms is told
    raise_alarm(turn, AlarmKind::cue_blocked, armed.cue.text, blocked(armed.cue, prospect));
  armed.prospect = std::move(prospect);
}

// What the armed cue would come to, of its way that is planned.
void look_ahead(Turn& turn) {
  auto& state = turn.state;
  auto& armed = *state.armed;
  const auto place = place_of(state, armed.cue);
  if (!place || !state.ahead || state.ahead_awaited == state.ahead->id) return;
  state.ahead->looked_at = true;
  if (!state.ahead->way)
    return foresee(turn, {Outcome::busy, {"its way could not be worked out (see the log)."}});
  const auto& segment = *state.plan->find(order(state).cues[*place].segment);
  const auto nodes = rack_now(state);
  const auto members = members_of(*state.plan, segment, nodes, armed.without);
  auto way = *state.ahead->way;
  move_along(nodes, members.nodes, way);
  excuse_unsupplied(nodes, way.end);
  tell_left_out(*state.plan, members, armed.without, way.end);
  look_at_crew(state);
  foresee(turn, prospect_of(segment, members, way, armed.waiver.has_value()));
}

// Plans the armed cue before it is triggered, so that the trigger finds its way ready. One way at a
// time: what changes while one is being planned is looked at when it is there.
void plan_ahead(Turn& turn) {
  auto& state = turn.state;
  if (!state.armed || state.switching) return;
  if (state.ahead_awaited) return;
  if (state.ahead_at == state.conditions) {
    if (state.ahead && !state.ahead->looked_at) look_ahead(turn);
    return;
  }
  const auto place = place_of(state, state.armed->cue);
  if (!place) return;
  state.ahead_at = state.conditions;
  auto question = question_ahead(state, order(state).cues[*place].segment, state.armed->without);
  if (state.ahead && state.ahead->question == question) return look_ahead(turn);
  state.ahead = Ahead{question, ++state.last_way, {}, false};
  state.ahead_awaited = state.ahead->id;
  turn.effects.emplace_back(PlanWay{state.ahead->id, std::move(question)});
}

// Whoever has armed a cue is told what it would come to; not while a switch is under way, after
// which the rack is another.
void answer_arming(Turn& turn) {
  auto& state = turn.state;
  if (state.armed && !state.armed->prospect && !state.switching) return;
  const auto* prospect = state.armed && state.armed->prospect ? &*state.armed->prospect : nullptr;
  const auto detail =
      prospect != nullptr && !prospect->good() ? blocked(state.armed->cue, *prospect) : "";
  for (const auto request : std::exchange(state.arm_waits, {}))
    turn.respond(request, {Outcome::done, detail, {}, 0, nullptr, {}, {}, state.armed});
}

// A cue that is not next any more is held by nothing.
void forget_held(Turn& turn) {
  const auto* next = next_cue(turn.state);
  for (const auto& cue : order(turn.state).cues)
    if (&cue != next) return_alarm(turn, AlarmKind::trigger_held, cue.name.text);
}

}  // namespace

std::optional<plan::CueName> cue_for(const State& state, const plan::SegmentName& segment) {
  return order(state).leads_to(segment, state.armed ? &state.armed->cue : nullptr,
                               state.at_cue ? &order(state).cues[*state.at_cue].name : nullptr);
}

void reached(Turn& turn, const plan::SegmentName& segment,
             const std::optional<plan::CueName>& cue) {
  auto& state = turn.state;
  std::vector<Write> writes{KeepReached{segment.text, turn.now}};
  state.reached[segment.text] = turn.now;
  if (cue)
    if (const auto place = place_of(state, *cue)) {
      state.at_cue = place;
      writes.emplace_back(KeepCue{cue->text});
    }
  state.owed.add({{}, std::move(writes)});
  aim(turn);
  forget_held(turn);
}

void aim(Turn& turn) {
  auto& state = turn.state;
  const auto* next = next_cue(state);
  state.due.reset();
  state.due_moves_with_clock = false;
  state.triggered = false;
  if (next == nullptr) return;
  std::visit(Overloaded{
                 [](const plan::ByHand&) {},
                 [](const plan::ByMessage&) {},
                 [&](const plan::AtClock& at) {
                   state.due =
                       at.time.next(order(state).zone,
                                    std::chrono::floor<std::chrono::seconds>(turn.now) - latest);
                 },
                 [&](const plan::AfterSegment& after) {
                   const auto since = state.reached.find(after.segment.text);
                   if (since == state.reached.end()) return;
                   state.due = since->second + after.by;
                   state.due_moves_with_clock = true;
                 },
             },
             next->trigger);
}

void place_in_order(State& state, const plan::CueName& cue) { state.at_cue = place_of(state, cue); }

void clock_stepped(Turn& turn, std::chrono::microseconds by) {
  if (turn.state.other_heard) *turn.state.other_heard += by;
  auto& state = turn.state;
  if (state.asking_until) *state.asking_until += by;
  if (state.armed) state.armed->until += by;
  if (state.reload_armed) state.reload_armed->until += by;
  state.owed_again = turn.now;  // nobody knows which clock it was counted by
  shelvings_move_with_clock(turn, by);
  rests_move_with_clock(turn, by);
  for (auto& [segment, at] : state.reached) at += by;
  if (state.due && state.due_moves_with_clock)
    *state.due += by;
  else if (by < by.zero() && !state.triggered)
    aim(turn);  // today's time may be to come once more
}

void keep_time(Turn& turn) {
  auto& state = turn.state;
  if (state.armed && turn.now >= state.armed->until)
    disarm(turn, "rack", "armed no longer: expired");
  if (state.reload_armed && turn.now >= state.reload_armed->until)
    disarm_reload(turn, "rack", "armed no longer: expired");
  if (state.control != Control::ours) return;
  if (state.due && turn.now >= *state.due) {
    const auto due = *std::exchange(state.due, {});
    state.triggered = true;
    const auto& cue = *next_cue(state);
    if (turn.now - due > latest)
      held(turn, cue, "has passed");
    else if (const auto because = not_by_itself(state); !because.empty())
      held(turn, cue, "has come, but " + because);
    else
      ask_for_switch(turn, {.segment = cue.segment,
                            .cue = cue.name,
                            .triggered_by = std::holds_alternative<plan::AtClock>(cue.trigger)
                                                ? TriggeredBy::clock
                                                : TriggeredBy::duration,
                            .who = "running order"});
  }
  begin_waiting(turn);
  plan_ahead(turn);
  answer_arming(turn);
}

void on_request(Turn& turn, const SwitchRequested& event) {
  auto& state = turn.state;
  Wish wish{.segment = {},
            .request = event.request,
            .waiver = event.waiver,
            .who = event.who,
            .why = event.why,
            .without = event.without};
  if (event.segment) {
    wish.segment = *event.segment;
    wish.cue = cue_for(state, *event.segment);
  } else {
    const auto* next = next_cue(state);
    if (next == nullptr)
      return turn.respond(event.request, {Outcome::unknown_name,
                                          order(state).cues.empty()
                                              ? "This show has no running order: name a segment."
                                              : "The running order is over: name a segment."});
    wish.segment = next->segment;
    wish.cue = next->name;
  }
  ask_for_switch(turn, std::move(wish));
}

void on_request(Turn& turn, const RestoreRequested& event) {
  auto& state = turn.state;
  if (state.switching || !state.wishes.empty())
    return turn.respond(event.request,
                        {Outcome::busy, "A switch is under way; try again when it has ended."});
  ask_for_switch(turn, {.segment = state.segment,
                        .request = event.request,
                        .waiver = event.waiver,
                        .who = event.who,
                        .why = event.why,
                        .restores = true,
                        .only = event.nodes});
}

void on_request(Turn& turn, const MessageReceived& event) {
  auto& state = turn.state;
  const auto* next = next_cue(state);
  const auto* by_message = next == nullptr ? nullptr : std::get_if<plan::ByMessage>(&next->trigger);
  if (by_message == nullptr || by_message->text != event.text)
    return turn.respond(
        event.request,
        {Outcome::refused, "The next cue does not wait for the message \"" + event.text + "\"."});
  ask_for_switch(turn, {.segment = next->segment,
                        .cue = next->name,
                        .triggered_by = TriggeredBy::message,
                        .request = event.request,
                        .who = event.who});
}

void on_request(Turn& turn, const AbortRequested& event) {
  auto& state = turn.state;
  const auto dropped = std::exchange(state.wishes, {});
  for (const auto& wish : dropped)
    refuse_wish(turn, wish, Outcome::refused, "Aborted by " + event.who + " before it began.");
  if (!state.switching) {
    turn.respond(event.request, {dropped.empty() ? Outcome::refused : Outcome::done,
                                 dropped.empty() ? "No switch is under way." : "",
                                 {},
                                 0,
                                 nullptr,
                                 state.switch_view});
    return;
  }
  auto entry = turn.entry(JournalKind::switching, event.who);
  entry.change = state.switching->view.id;
  entry.what = "aborted";
  entry.why = event.why;
  turn.record({std::move(entry)});
  if (state.switching->view.back)
    state.switching.write().aborted = true;
  else
    turn_back(turn, "Aborted by " + event.who + (event.why.empty() ? "." : ": " + event.why + '.'));
  turn.respond(event.request, {Outcome::done});
}

void on_request(Turn& turn, const ArmRequested& event) {
  auto& state = turn.state;
  const auto* next = next_cue(state);
  if (!event.cue && next == nullptr)
    return turn.respond(event.request, {Outcome::unknown_name,
                                        "There is no next cue in the running order to arm."});
  const auto cue = event.cue ? *event.cue : next->name;
  if (order(state).find(cue) == nullptr)
    return turn.respond(event.request, {Outcome::unknown_name, "There is no cue \"" + cue.text +
                                                                   "\" in the running order."});
  if (state.armed) return_alarm(turn, AlarmKind::cue_blocked, state.armed->cue.text);
  state.armed =
      Armed{cue, event.who, event.waiver, event.without, turn.now + order(state).arming_lasts};
  state.ahead.reset();
  state.ahead_at.reset();
  auto entry = turn.entry(JournalKind::arming, event.who);
  entry.what = cue.text + " armed for " + std::to_string(order(state).arming_lasts.count()) + " s";
  entry.why = event.why;
  if (event.waiver) entry.waiver = event.waiver->text();
  turn.record({std::move(entry)});
  state.arm_waits.push_back(event.request);
}

void on_request(Turn& turn, const ArmReloadRequested& event) {
  auto& state = turn.state;
  state.reload_armed = ArmedReload{event.who, turn.now + order(state).arming_lasts};
  auto entry = turn.entry(JournalKind::arming, event.who);
  entry.what = "reload armed for " + std::to_string(order(state).arming_lasts.count()) + " s";
  entry.why = event.why;
  turn.record({std::move(entry)});
  turn.respond(event.request, {Outcome::done});
}

void disarm_all(Turn& turn, const std::string& who, const std::string& what) {
  if (turn.state.armed) disarm(turn, who, what);
  if (turn.state.reload_armed) disarm_reload(turn, who, what);
}

void on_request(Turn& turn, const DisarmRequested& event) {
  const bool is_armed = turn.state.armed || turn.state.reload_armed;
  disarm_all(turn, event.who, "disarmed");
  turn.respond(event.request, {Outcome::done, is_armed ? "" : "Nothing was armed."});
}

}  // namespace catwalk::rack
