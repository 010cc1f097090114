// SPDX-License-Identifier: Apache-2.0
#include "tests/simulation/switches.hpp"

#include <algorithm>

#include "daemon/plan/device.hpp"
#include "daemon/rack/rules/matrix_rules.hpp"
#include "daemon/rack/rules/rules.hpp"
#include "daemon/rack/values/wire.hpp"
#include "tests/simulation/words.hpp"
#include "tests/support/routed_oracle.hpp"
#include "tests/support/way_oracle.hpp"

namespace catwalk::simulation {
namespace {

// Of a handful of nodes, there and back, planned anew now and then.
constexpr int most_steps = 60;

constexpr auto durable_first = "nothing is sent before its intent is durable";

std::string named(const rack::SwitchView& one) {
  return "switch " + std::to_string(one.id) + " from " + one.left.text + " to " + one.entered.text;
}

// What the oracle of racks with matrices can reckon: every level known, every matrix supplied, and
// not so much in flight that trying all of it takes longer than the evening.
bool can_be_told_again(const rack::SwitchTask& task) {
  constexpr int most_switches = 24;
  for (const auto* segment : {&task.left, &task.entered})
    for (const auto& carrier : segment->carriers)
      if (!carrier.erp) return false;
  if (!std::ranges::all_of(task.plan.matrices, &plan::Matrix::supplied)) return false;
  int switches = 0;
  for (const auto& ends : task.nodes) {
    const auto* before = ends.present->matrix();
    if (!ends.target) continue;
    if (before == nullptr) {
      switches += 2;
      continue;
    }
    const auto* after = ends.target->matrix();
    for (std::size_t i = 0; i < before->outputs.size(); ++i)
      switches += before->outputs[i] != after->outputs[i];
    for (std::size_t i = 0; i < before->inputs.size(); ++i)
      switches += before->inputs[i] != after->inputs[i];
  }
  return switches <= most_switches;
}

}  // namespace

Complaint Switches::planned(const rack::WayQuestion& question, const rack::Way& way) {
  // The oracle has to know where every node is and goes; who lies is nowhere, and who lied when the
  // switch began has nowhere to turn back to.
  const bool all_known = std::ranges::all_of(question.nodes, [&](const rack::NodeEnds& ends) {
    const auto node = *plan::device_named(*question.plan, ends.node);
    return ends.present && rack::check_datasheet(node, *ends.present).empty() &&
           (!ends.target || rack::check_datasheet(node, *ends.target).empty());
  });
  if (!way.clean() || !all_known) return std::nullopt;
  const rack::SwitchTask task{*question.plan, *question.plan->find(question.left),
                              *question.plan->find(question.entered), question.nodes,
                              question.back};
  const bool routed = !question.plan->matrices.empty();
  if (routed && !can_be_told_again(task)) return std::nullopt;
  const auto broken =
      routed ? test::RoutedOracle{task}.violations(way) : test::WayOracle{task}.violations(way);
  if (broken.empty()) return std::nullopt;
  return Violation{"no moment on the way is worse than either end",
                   question.left.text + " to " + question.entered.text + ": " + broken.front()};
}

Complaint Switches::staged(const rack::Snapshot& snapshot, const rack::NodeView& node,
                           const StagedSettings& stage, const Truth& truth, const Kept& kept,
                           Moment now) {
  const auto& view = *snapshot.switching;
  const auto& settings = stage.settings;
  const auto said = named(view) + " tells " + node.name.text + " " + words(settings);
  if (under_way_ != view.id) {
    under_way_ = view.id;
    steps_ = 0;
    step_ = {};
    in_step_.clear();
    told_.clear();
  }
  const auto& disk = kept.state.switching;
  if (!disk || disk->id != view.id)
    return Violation{durable_first, said + ", and it is not on the disk"};
  if (view.verdict && view.verdict->refuses())
    return Violation{"nothing is sent that the rules refuse", said + ", and is refused"};
  if (step_ != stage.ticket) {
    // Whoever was told in the step before is there, or the switch knows that it
    // is not.
    for (const auto& [uid, told] : in_step_) {
      if (is_meddled(uid, now)) continue;
      const auto one = std::ranges::find(truth.nodes(), uid, &TrueNode::uid);
      if (one->is_not_believed(now)) continue;
      const auto member = std::ranges::find_if(
          view.nodes, [&](const rack::SwitchedNodePtr& other) { return other->node == one->name; });
      const bool known =
          member != view.nodes.end() && (*member)->progress == rack::Progress::failed;
      if (one->settings() != told.to && !known && !view.back)
        return Violation{"a step begins when the one before was read back",
                         said + ", while " + one->name.text + " has " + words(one->settings()) +
                             " and was told " + words(told.to)};
    }
    step_ = stage.ticket;
    in_step_.clear();
    if (++steps_ > most_steps)
      return Violation{"every switch ends",
                       named(view) + " has taken " + std::to_string(steps_) + " steps"};
  }
  in_step_[node.uid] = {stage.ticket, settings};
  told_.insert(node.uid);
  return std::nullopt;
}

Complaint Switches::applied(const rack::Snapshot& snapshot, const protocol::Apply& apply,
                            const Kept& kept) {
  const auto& view = *snapshot.switching;
  const auto& disk = kept.state.switching;
  // On the way back a disk that fails holds nobody.
  const bool durable = disk && disk->id == view.id &&
                       (view.back || static_cast<std::uint32_t>(disk->ticket % 0xFFFF'FFFFU) + 1 ==
                                         apply.ticket.value);
  if (durable) return std::nullopt;
  return Violation{durable_first, named(view) + " applies a step that is not on the disk"};
}

Complaint Switches::ended(const rack::Snapshot& snapshot, const Truth& truth, Moment now) {
  const auto& view = *snapshot.switching;
  if (!rack::is_end(view.stage) || ended_ == view.id) return std::nullopt;
  ended_ = view.id;
  constexpr auto invariant = "a switch ends done, rolled back, or stuck with a list that is true";
  for (const auto& member : view.nodes) {
    // One that did not have to go anywhere, and was not known to be there; and one that does not
    // answer any more, and was told nothing.
    if (member->before == member->target) continue;
    if (view.stage == rack::SwitchStage::rolled_back && member->where == rack::Whereabouts::unknown)
      continue;
    const auto said = named(view) + " is " + std::string{rack::name_of(view.stage)} + ", and " +
                      member->node.text + " is said to be \"" +
                      std::string{rack::name_of(member->where)} + '"';
    const bool failed = member->progress == rack::Progress::failed;
    const auto* one = truth.find(member->node);
    if (one->is_not_believed(now)) continue;
    if (view.stage == rack::SwitchStage::rolled_back &&
        member->where != rack::Whereabouts::before && told_.contains(one->uid) && !failed &&
        !is_meddled(one->uid, now))
      return Violation{invariant, said};
    // It was read back there, and its line has gone down since.
    const bool is_there = member->where == rack::Whereabouts::unknown &&
                          (one->settings() == member->target || is_meddled(one->uid, now));
    if (view.stage == rack::SwitchStage::done && member->where != rack::Whereabouts::target &&
        !is_there && member->what_to_do.empty())
      return Violation{invariant, said};
    if (view.stage == rack::SwitchStage::stuck && member->what_to_do.empty())
      return Violation{invariant, said + ", without what to do"};
    if (under_way_ != view.id || is_meddled(one->uid, now)) continue;
    const auto& has = one->settings();
    if (member->where == rack::Whereabouts::before && has != member->before)
      return Violation{invariant, said + ", and has " + words(has)};
    if (member->where == rack::Whereabouts::target && has != member->target)
      return Violation{invariant, said + ", and has " + words(has)};
  }
  return std::nullopt;
}

bool Switches::is_meddled(protocol::NodeUid node, Moment now) const {
  const auto last = meddled_.find(node);
  return last != meddled_.end() && now - last->second < std::chrono::minutes{5};
}

void Switches::daemon_gone() {
  under_way_ = 0;
  ended_ = 0;
  step_ = {};
  in_step_.clear();
  told_.clear();
}

}  // namespace catwalk::simulation
