// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/core/plan_replaced.hpp"

#include <algorithm>
#include <iterator>
#include <map>

#include "daemon/rack/core/alarms.hpp"
#include "daemon/rack/core/crew.hpp"
#include "daemon/rack/core/field.hpp"
#include "daemon/rack/core/running_order.hpp"
#include "daemon/rack/values/plan_differences.hpp"
#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

// A segment of this plan was chosen, and its record is on its way: it decides.
bool is_choosing_segment(const State& state) {
  return std::ranges::any_of(state.records, [&](const auto& record) {
    const auto* then = std::get_if<ThenSegment>(&record.second.after);
    return then != nullptr && state.plan->find(then->segment) != nullptr;
  });
}

// What is wanted belongs to the place that a name stands for, whatever hangs there now.
using WantedAt = std::map<plan::NodeName, std::optional<Wanted>>;

// Another device than before hangs at this place.
bool is_another(const plan::Device& place, const NodeState& device, const WantedAt& wanted_at) {
  return device.name != place.name() && wanted_at.contains(place.name());
}

// What is known of it is of a node of another kind, or of a matrix with other sockets.
void forget_other_kind(Turn& turn, const plan::Device& place, NodeState& device) {
  if (device.seen && !place.fits(device.seen->settings))
    turn.know<Seen>(device, &NodeState::seen, std::nullopt);
  if (device.wanted && !place.fits(device.wanted->settings))
    turn.know<Wanted>(device, &NodeState::wanted, std::nullopt);
  if (device.maybe && !place.fits(*device.maybe))
    turn.know<plan::NodeSettings>(device, &NodeState::maybe, std::nullopt);
}

// The device that hangs at this place now, with what is known of it.
NodeState hung_at(Turn& turn, const plan::Device& place, NodeState device,
                  const WantedAt& wanted_at, std::vector<Write>& writes) {
  const auto uid = place.uid();
  if (device.name != place.name()) device.adopting = false;  // that was for the other place
  if (is_another(place, device, wanted_at)) {
    auto wanted = wanted_at.at(place.name());
    if (wanted && !check_datasheet(place, wanted->settings).empty())
      wanted.reset();  // another type hangs there
    turn.know(device, &NodeState::wanted, std::move(wanted));
    if (device.wanted) writes.emplace_back(KeepWanted{uid, *device.wanted});
  }
  device.name = place.name();
  device.uid = uid;
  forget_other_kind(turn, place, device);
  return device;
}

}  // namespace

void replace_plan(Turn& turn, const PlanReplaced& event) {
  auto& state = turn.state;
  auto old_nodes = state.nodes.take();
  WantedAt wanted_at;
  for (const auto& node : old_nodes) wanted_at.emplace(node.name, node.wanted.get());
  std::vector<Write> writes;
  const auto cue =
      state.at_cue ? state.plan->running_order.cues[*state.at_cue].name : plan::CueName{};
  const auto described = state.plan->described ? state.plan->described : state.plan;
  const auto differences = differences_of(*described, *event.plan);
  const auto* was = state.plan->find(state.segment);
  const auto were = was == nullptr ? std::string{} : on_the_air(*was);
  state.outlived.push_back(state.plan);
  state.plan = event.plan;
  if (state.plan->find(state.segment) == nullptr) state.segment = state.plan->segments[0].name;
  state.by_uid.clear();
  std::vector<plan::NodeName> changed_places;
  for (std::size_t i = 0; i < plan::count_devices(*event.plan); ++i) {
    const auto place = plan::device_at(*event.plan, i);
    const auto uid = place.uid();
    const auto known = std::ranges::find(old_nodes, uid, &NodeState::uid);
    auto device = known == old_nodes.end() ? NodeState{} : std::move(*known);
    if (is_another(place, device, wanted_at)) changed_places.push_back(place.name());
    state.nodes.add(hung_at(turn, place, std::move(device), wanted_at, writes));
    state.by_uid.emplace(uid, state.nodes.size() - 1);
  }
  // What was said of the device that hung there is not true of this one. Not before all hang where
  // they do now: a record takes along what is owed of any of them.
  for (const auto& place : changed_places)
    for (const auto kind : {AlarmKind::babbling, AlarmKind::wrong_type, AlarmKind::other_controller,
                            AlarmKind::epoch_out_of_reach, AlarmKind::not_fed})
      return_alarm(turn, kind, place.text);
  name_discovered(state);
  // A change that was interrupted waits for a device that will not answer any more.
  for (const auto& old : old_nodes)
    if (old.change && state.find(old.uid) == nullptr)
      writes.emplace_back(ForgetUnfinished{old.change->view.id});
  turn.route();
  turn.conditions_changed();
  // Arming was for what the running order said then.
  if (state.armed) return_alarm(turn, AlarmKind::cue_blocked, state.armed->cue.text);
  state.armed.reset();
  state.reload_armed.reset();
  state.ahead.reset();
  place_in_order(state, cue);
  aim(turn);
  std::ranges::move(drop_untrue_ticks(state), std::back_inserter(writes));
  auto entry = turn.entry(JournalKind::plan, event.who);
  entry.what = "plan replaced: " + event.plan->name;
  entry.why = differences.empty() ? "nothing differs" : few_of(differences);
  std::vector<JournalEntry> entries{std::move(entry)};
  if (on_the_air(state.active()) != were)
    entries.push_back(turn.on_the_air(state.segment, event.who));
  if (!is_choosing_segment(state)) writes.emplace_back(KeepSegment{state.segment.text});
  turn.record(std::move(entries), std::move(writes));
}

}  // namespace catwalk::rack
