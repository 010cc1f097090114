// SPDX-License-Identifier: Apache-2.0
#include "tests/simulation/orders.hpp"

#include <algorithm>

#include "daemon/rack/values/wire.hpp"
#include "tests/simulation/rules_by_hand.hpp"
#include "tests/simulation/views.hpp"
#include "tests/simulation/words.hpp"

namespace catwalk::simulation {
namespace {

// A line ends a command after its tries, the patience that the node asked for,
// and whatever waited before it.
constexpr auto longest_command = std::chrono::minutes{3};

// As they were read last; of a unit that is on the move nobody can say.
RoutesOf routes_of(const rack::Snapshot& snapshot) {
  return [&snapshot](const plan::NodeName& name) -> const plan::MatrixSettings* {
    const auto unit = snapshot.find_matrix(name);
    if (!unit || !unit->seen || unit->change || unit->uncertain || snapshot.switching)
      return nullptr;
    return unit->seen->reading.telemetry.powered ? unit->seen->settings.matrix() : nullptr;
  };
}

}  // namespace

std::optional<StagedSettings> staged_in(const protocol::Ask& request) {
  if (const auto* stage = std::get_if<protocol::Stage>(&request))
    return StagedSettings{stage->epoch, stage->ticket, rack::from_wire(stage->settings)};
  if (const auto* stage = std::get_if<protocol::StageMatrix>(&request))
    return StagedSettings{stage->epoch, stage->ticket, rack::from_wire(stage->settings)};
  return std::nullopt;
}

Complaint Orders::signed_for(const rack::Record& record) {
  constexpr auto invariant = "what is decided is signed for";
  for (const auto& entry : record.entries) {
    if (entry.kind != rack::JournalKind::intent && entry.kind != rack::JournalKind::adopted &&
        entry.kind != rack::JournalKind::switching)
      continue;
    if (entry.verdict.find("refuse ") != std::string::npos)
      return Violation{invariant, "an intent for " + entry.node +
                                      " is journaled that is refused: " + entry.verdict};
    if (entry.verdict.find("caution ") != std::string::npos && entry.waiver.empty() &&
        entry.who != "rack")
      return Violation{invariant, "an intent for " + entry.node +
                                      " has cautions and no waiver: " + entry.verdict};
  }
  return std::nullopt;
}

Complaint Orders::sent(const rack::Send& send, const plan::RackPlan& plan,
                       const rack::Snapshot& snapshot, const Kept& kept, Moment now) {
  if (!under_way_.emplace(send.command, UnderWay{now, send.node}).second)
    return Violation{"every command ends once",
                     "command " + std::to_string(send.command) + " is sent twice"};
  if (const auto stage = staged_in(send.request))
    return stage_sent(send, *stage, plan, snapshot, kept, now);
  if (const auto* apply = std::get_if<protocol::Apply>(&send.request)) {
    bool told = false;
    for (auto& [node, all] : staged_) {
      // A broadcast is for all of its line.
      if (node != send.node && send.node != protocol::NodeUid::everyone()) continue;
      for (auto& one : all) {
        if (one.ticket != apply->ticket) continue;
        told = true;
        // Under another epoch the node refuses it.
        one.applied = one.applied || one.epoch == apply->epoch;
      }
    }
    if (!told)
      return Violation{"nothing is sent before its intent is durable",
                       "an apply of ticket " + std::to_string(apply->ticket.value) +
                           " is sent to " + send.node.text() +
                           ", which never was told its settings"};
  }
  return std::nullopt;
}

Complaint Orders::stage_sent(const rack::Send& send, const StagedSettings& stage,
                             const plan::RackPlan& plan, const rack::Snapshot& snapshot,
                             const Kept& kept, Moment now) {
  const auto& settings = stage.settings;
  const auto* view = view_of(snapshot, send.node);
  const auto& name = view->name;
  const auto said = name.text + " is told " + words(settings);

  // Those of a switch are looked at in switches.hpp.
  const bool switches =
      snapshot.switching && !rack::is_end(snapshot.switching->stage) && !view->change;
  const bool durable = switches || std::ranges::any_of(kept.state.unfinished, [&](const auto& one) {
                         return one.node == send.node && one.after == settings;
                       });
  if (!durable)
    return Violation{"nothing is sent before its intent is durable",
                     said + ", and no such intent is on the disk"};
  auto& all = staged_[send.node];
  for (const auto& one : all)
    if (one.epoch == stage.epoch && one.ticket == stage.ticket && one.settings != settings)
      return Violation{"a ticket stands for one thing",
                       said + " under the ticket of " + words(one.settings)};
  all.push_back({stage.epoch, stage.ticket, settings, now});

  if (switches) return std::nullopt;
  const auto& segment = *plan.find(snapshot.segment);
  const auto device = *plan::device_named(plan, name);
  const bool supplied = !view->seen || view->seen->reading.telemetry.powered;
  if (const auto why =
          refused_by_hand(plan, segment, device, settings, routes_of(snapshot), supplied))
    return Violation{"nothing is sent that the rules refuse", said + ", but " + *why};
  // What is wanted already may be sent once more.
  const auto& change = view->change;
  const bool restores = change && (change->who == "rack" || change->before == change->after);
  if (snapshot.lock && !restores)
    return Violation{"nothing is sent that the rules refuse", said + " while the rack is locked"};
  return std::nullopt;
}

Complaint Orders::ended(rack::CommandId command) {
  if (under_way_.erase(command) == 1) return std::nullopt;
  return Violation{"every command ends once",
                   "command " + std::to_string(command) + " ends, and is not under way"};
}

Complaint Orders::none_is_forgotten(Moment now) const {
  // Numbers grow, so the first is the oldest.
  if (under_way_.empty() || under_way_.begin()->second.since + longest_command >= now)
    return std::nullopt;
  return Violation{"every command ends", "command " + std::to_string(under_way_.begin()->first) +
                                             " has been under way for three minutes"};
}

Complaint Orders::node_changed(const TrueNode& node, const plan::NodeSettings& before) const {
  if (node.settings() == from_wire(node.node->memory().stored) &&
      node.started_at == node.history.back().from)
    return std::nullopt;
  const auto all = staged_.find(node.uid);
  const bool told =
      all != staged_.end() && std::ranges::any_of(all->second, [&](const Staged& one) {
        return one.applied && one.settings == node.settings();
      });
  if (told) return std::nullopt;
  return Violation{"a node changes only when it is told, by hand, or with its own supply",
                   node.name.text + " goes from " + words(before) + " to " +
                       words(node.settings()) + ", and nobody told it"};
}

Moment Orders::staged_at(protocol::NodeUid node) const {
  const auto all = staged_.find(node);
  return all == staged_.end() || all->second.empty() ? Moment{} : all->second.back().at;
}

const plan::NodeSettings* Orders::last_told(rack::CommandId command) const {
  const auto found = under_way_.find(command);
  if (found == under_way_.end()) return nullptr;
  const auto all = staged_.find(found->second.node);
  return all == staged_.end() || all->second.empty() ? nullptr : &all->second.back().settings;
}

}  // namespace catwalk::simulation
