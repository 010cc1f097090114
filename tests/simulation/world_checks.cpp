// SPDX-License-Identifier: Apache-2.0
// What the World looks at after every event; and what it breaks on purpose.
#include <algorithm>
#include <set>

#include "daemon/rack/values/wire.hpp"
#include "tests/simulation/explanations.hpp"
#include "tests/simulation/views.hpp"
#include "tests/simulation/words.hpp"
#include "tests/simulation/world.hpp"

namespace catwalk::simulation {

void World::complain(Complaint complaint) {
  if (!complaint || end_.violation) return;
  say([&] { return "VIOLATION: " + complaint->invariant + ": " + complaint->sentence; });
  end_.violation = std::move(complaint);
}

void World::check_respond(const rack::Respond& respond) {
  Ask asked;
  if (auto complaint = asks_.answered(respond, asked)) return complain(std::move(complaint));
  end_.tally.count(respond.answer.outcome);
  complain(promises_.answered(asked, respond.answer, store_.kept()));
  const auto& answer = respond.answer;
  if (answer.outcome == rack::Outcome::settled && asked.kind != Ask::Kind::adopt) {
    // Read back after it was told; or, where it was so already, at its last
    // reading.
    const auto& node = *answer.node;
    auto* truly = truth_.find(node.uid);
    const auto since = answer.change != 0 ? orders_.staged_at(node.uid)
                                          : clock_.now() - truly->line->setup().reading_age -
                                                std::chrono::seconds{30};
    if (!truly->is_not_believed(clock_.now()) && !truly->had(node.wanted->settings, since))
      complain(Violation{"settled is only said of what the node truly has",
                         node.name.text + " is settled as " + words(node.wanted->settings) +
                             ", and never had that since it was told"});
  }
  if (mutation_ == Mutation::answered_twice && mutant_.one_in(20)) check_respond(respond);
}

void World::check_switch_sends(const rack::Send& send) {
  const auto& snapshot = *core_->snapshot();
  if (!snapshot.switching || rack::is_end(snapshot.switching->stage)) return;
  if (const auto* apply = std::get_if<protocol::Apply>(&send.request))
    return complain(switches_.applied(snapshot, *apply, store_.kept()));
  const auto stage = staged_in(send.request);
  if (!stage) return;
  const auto* node = view_of(snapshot, send.node);
  if (node == nullptr) return;
  if (snapshot.switching->step == 1 && switches_.is_new_step(*stage))
    passage_.begins(*snapshot.switching, node->name, stage->settings, truth_, clock_.now());
  complain(switches_.staged(snapshot, *node, *stage, truth_, store_.kept(), clock_.now()));
}

// Only what is new since the last snapshot.
void World::check_snapshot() {
  if (end_.violation || !core_) return;
  const auto now = core_->snapshot();
  if (now == looked_at_) return;
  const bool switching = now->switching && !rack::is_end(now->switching->stage);
  bool nodes_changed = !looked_at_;
  for (std::size_t i = 0; i < count_views(*now); ++i) {
    const auto* before = looked_at_ ? view_at(*looked_at_, i).get() : nullptr;
    const auto& node = *view_at(*now, i);
    if (before == &node) continue;
    nodes_changed = true;
    const bool adopting = asks_.adopts(node.name);
    complain(
        promises_.wanted_as_promised(node, adopting, now->switching != nullptr, store_.kept()));
    if (!switching) complain(difference_is_explained(*now, node, before, adopting));
  }
  if (now->switching) {
    complain(switches_.ended(*now, truth_, clock_.now()));
    complain(promises_.switch_ended(*now->switching));
    if (!switching) passage_.over();
  }
  // While a switch is under way drifts and verdicts wait for its end.
  if (!switching &&
      (nodes_changed || now->alarms != looked_at_->alarms || now->lines != looked_at_->lines))
    complain(alarms_have_reasons(*now, asks_));
  if (looked_at_ && now->revision <= looked_at_->revision)
    complain(Violation{
        "revisions of snapshots grow",
        std::to_string(now->revision) + " comes after " + std::to_string(looked_at_->revision)});
  check_whose_nodes(*now);
  looked_at_ = now;
}

void World::check_whose_nodes(const rack::Snapshot& now) {
  const auto is_lately = [&](const std::optional<Moment>& at) {
    return at && clock_.now() - *at < std::chrono::seconds{65};
  };
  if (is_lately(rival_spoke_) || is_lately(spoke_unkept_)) return;
  if (watched_before_ && now.control == rack::Control::watching) return;
  if (std::ranges::any_of(truth_.nodes(),
                          [&](const TrueNode& one) { return one.is_not_believed(clock_.now()); }))
    return;
  const auto was_ours = [&](std::size_t i) {
    return !looked_at_ || view_at(*looked_at_, i)->agreement != rack::Agreement::not_ours;
  };
  for (std::size_t i = 0; i < count_views(now); ++i)
    if (view_at(now, i)->agreement == rack::Agreement::not_ours && was_ours(i) &&
        truth_.nodes()[i].node->memory().epoch <= now.epoch)
      return complain(
          Violation{"nodes are another's only where another speaks",
                    view_at(now, i)->name.text + " is shown as another's, and nobody spoke"});
}

void World::check_idle() {
  if (end_.violation || !core_ || !inbox_.empty() || !store_.idle()) return;
  if (!orders_.none_under_way()) return;
  const auto one = core_->snapshot()->switching;
  complain(asks_.nobody_waits(!plannings_.empty() || (one && !rack::is_end(one->stage))));
  if (one && !rack::is_end(one->stage) && one->stage != rack::SwitchStage::interrupted &&
      plannings_.empty())
    complain(Violation{"every switch ends", "switch " + std::to_string(one->id) + " is still " +
                                                std::string{rack::name_of(one->stage)} +
                                                ", and nothing is under way"});
  complain(nothing_hangs(*core_->snapshot()));
  if (!debts_.any()) complain(disk_agrees(*core_->snapshot(), store_.kept()));
}

void World::note_supply(const TrueNode& node) {
  if (!show_.routed) return;
  calm_.disturb(node.line->setup().name, clock_.now());
  if (node.node->boots() != node.boots) switches_.meddled(node.uid, clock_.now());
  say([&] { return node.name.text + (node.is_powered() ? " has its supply" : " has no supply"); });
}

// Called after something came over a wire, and nothing else did.
void World::check_nodes_after_wires() {
  bool changed = false;
  truth_.look(
      clock_.now(), [&](const TrueNode& node) { note_supply(node); },
      [&](const TrueNode& node, const plan::NodeSettings& before) {
        changed = true;
        ++end_.tally.node_changes;
        say([&] { return node.name.text + " has " + words(node.settings()); });
        complain(orders_.node_changed(node, before));
      });
  if (changed) complain(passage_.look(truth_));
}

void World::check_end() {
  check_idle();
  if (debts_.any())
    complain(Violation{"what could not be written is written in the end",
                       "the disk has been fine for a minute, and something is "
                       "still owed to it"});
  complain(journal_is_complete(store_.kept()));
  complain(asks_.all_answered());
  if (store_.kept().state.switching && !store_.kept().state.switching->stuck)
    complain(Violation{"every switch ends", "switch " +
                                                std::to_string(store_.kept().state.switching->id) +
                                                " is unfinished on the disk at the end"});
  if (!store_.kept().state.unfinished.empty())
    complain(Violation{"every change ends",
                       "change " + std::to_string(store_.kept().state.unfinished.front().change) +
                           " is unfinished on the disk at the end"});
}

// ---- what is broken on purpose -----------------------------------------------------------------

std::optional<rack::Event> World::falsified(const rack::Event& event) {
  if (mutation_ == Mutation::none) return event;
  const bool from_node = std::holds_alternative<rack::CommandAnswered>(event);
  const bool from_store = std::holds_alternative<rack::Recorded>(event);
  if (mutation_ == Mutation::lost_answers && from_node && mutant_.one_in(100)) return std::nullopt;
  if (mutation_ == Mutation::lost_records && from_store && mutant_.one_in(100)) return std::nullopt;
  if (mutation_ == Mutation::flattering_line && from_node) {
    auto answered = std::get<rack::CommandAnswered>(event);
    if (const auto* told = orders_.last_told(answered.command)) {
      if (auto* reading = std::get_if<protocol::Reading>(&answered.reply))
        reading->settings = rack::to_wire(*told->amplifier());
      if (auto* state = std::get_if<protocol::MatrixState>(&answered.reply))
        state->settings = rack::to_wire(*told->matrix());
    }
    return answered;
  }
  return event;
}

// Its supplies first, its routes when they have been cut: what no matrix does in one move.
rack::Way World::supply_cut_early(rack::Way way) {
  const auto cuts_a_supply = [](const rack::Move& move) {
    if (move.to.matrix() == nullptr || !move.from) return false;
    const auto& before = move.from->matrix()->inputs;
    const auto& after = move.to.matrix()->inputs;
    for (std::size_t i = 0; i < before.size(); ++i)
      if (before[i].supply_mv != 0 && after[i].supply_mv == 0) return true;
    return false;
  };
  for (std::size_t number = 0; number < way.steps.size(); ++number)
    for (auto& move : way.steps[number].moves) {
      if (!cuts_a_supply(move)) continue;
      auto halfway = *move.to.matrix();
      halfway.outputs = move.from->matrix()->outputs;
      rack::Step first;
      first.moves = {{move.node, rack::MovePart::whole, move.from, halfway}};
      move.from = halfway;
      way.steps.insert(way.steps.begin() + static_cast<std::ptrdiff_t>(number), std::move(first));
      return way;
    }
  return way;
}

rack::Way World::reversed(rack::Way way) {
  std::set<plan::NodeName> moved;
  for (const auto& step : way.steps)
    for (const auto& move : step.moves)
      if (!moved.insert(move.node).second) return way;  // in two, of which the second is the last
  std::ranges::reverse(way.steps);
  return way;
}

rack::Way World::deceived(rack::Way way) const {
  if (mutation_ == Mutation::order_reversed) return reversed(std::move(way));
  if (mutation_ == Mutation::supply_cut_early) return supply_cut_early(std::move(way));
  return way;
}

void World::be_moody() {
  if (mutation_ != Mutation::moody_node || !mutant_.one_in(100)) return;
  auto& node = *mutant_.of(truth_.nodes()).node;
  if (node.is_matrix()) return;
  auto settings = node.settings();
  settings.gain_cdb = static_cast<std::int16_t>(settings.gain_cdb + 100);
  static_cast<void>(node.turn(settings));
}

}  // namespace catwalk::simulation
