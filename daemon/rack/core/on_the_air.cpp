// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/core/on_the_air.hpp"

#include <algorithm>

#include "daemon/rack/core/asked.hpp"
#include "daemon/rack/core/crew.hpp"
#include "daemon/rack/core/running_order.hpp"
#include "daemon/rack/core/watching.hpp"
#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

std::string who_is_off_plan(const State& state) {
  std::vector<std::string> names;
  for (const auto& node : state.nodes)
    if (node.standing.refuses()) names.push_back(node.name.text);
  if (names.empty()) return {};
  return "Off plan in this segment as they are set now: " + listed(names) + ".";
}

}  // namespace

void on_request(Turn& turn, const SegmentRequested& event) {
  if (turn.state.plan->find(event.segment) == nullptr) {
    turn.respond(event.request, unknown_name("segment", event.segment.text));
    return;
  }
  if (auto switching = switch_under_way(turn.state); !switching.empty()) {
    turn.respond(event.request, {Outcome::busy, std::move(switching)});
    return;
  }
  // While another has the nodes it only says what is on the air there.
  if (turn.state.lock && turn.state.control != Control::watching) {
    turn.respond(event.request, {Outcome::refused,
                                 "The rack is locked for the show. Unlock it first.",
                                 {{{Rule::show_locked,
                                    Severity::refuse,
                                    {},
                                    {},
                                    {},
                                    "The rack is locked for the show. Unlock it first."}}},
                                 0,
                                 nullptr});
    return;
  }
  auto entry = turn.entry(JournalKind::segment, event.who);
  entry.what = turn.state.segment.text + " → " + event.segment.text;
  entry.why = event.why;
  turn.record({std::move(entry), turn.on_the_air(event.segment, event.who)},
              {KeepSegment{event.segment.text}, KeepReached{"", turn.now}},
              ThenSegment{event.request, event.segment});
}

void on_request(Turn& turn, const LockRequested& event) {
  std::optional<Lock> lock;
  if (event.locked) lock = Lock{event.who, event.why, turn.now};
  auto entry = turn.entry(JournalKind::lock, event.who);
  entry.what = event.locked ? "locked" : "unlocked";
  entry.why = event.why;
  turn.record({std::move(entry)}, {KeepLock{lock}}, ThenLock{event.request, lock});
}

void kept(Turn& turn, const ThenSegment& then) {
  auto& state = turn.state;
  if (state.plan->find(then.segment) == nullptr)
    return turn.respond(then.request, {Outcome::unknown_name,
                                       "The segment went away with a plan that was read since."});
  state.owed.add({{}, begin_sheets_anew(state, state.segment, then.segment)});
  state.segment = then.segment;
  // Chosen is on the air too: under no name, since no cue counts from it.
  state.reached[""] = turn.now;
  // The order goes on from there; its times count from no cue that was triggered.
  if (const auto cue = cue_for(state, then.segment)) {
    state.owed.add({{}, {KeepCue{cue->text}}});
    place_in_order(state, *cue);
    aim(turn);
  }
  turn.conditions_changed();
  refresh_standing(turn, state.nodes.size());
  auto detail = counts_only_here(state);
  if (detail.empty()) detail = who_is_off_plan(state);
  turn.respond(then.request, {Outcome::done, std::move(detail)});
}

void lost(Turn& turn, const ThenSegment& then, const std::string& reason) {
  turn.respond(then.request, not_recorded(reason));
}

void kept(Turn& turn, const ThenLock& then) {
  auto& state = turn.state;
  const bool was_locked = state.lock.has_value();
  state.lock = then.lock;
  ++state.conditions;
  auto detail = counts_only_here(state);
  if (!was_locked && !then.lock) detail = "The rack was not locked.";
  turn.respond(then.request, {Outcome::done, std::move(detail)});
}

void lost(Turn& turn, const ThenLock& then, const std::string& reason) {
  turn.respond(then.request, not_recorded(reason));
}

}  // namespace catwalk::rack
