// SPDX-License-Identifier: Apache-2.0
// What people ask of a node's settings: each is answered once, and none is half done.
#include "daemon/rack/core/requests.hpp"

#include <algorithm>
#include <iterator>

#include "daemon/plan/routed.hpp"
#include "daemon/rack/core/alarms.hpp"
#include "daemon/rack/core/asked.hpp"
#include "daemon/rack/core/changes.hpp"
#include "daemon/rack/values/settings_words.hpp"
#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

// What every request that would change a node has to pass first. Null: it was answered.
template <class Event>
NodeState* ready_node(Turn& turn, const Event& event) {
  const auto* node = node_of_ours(turn, event.request, event.node);
  if (node == nullptr) return nullptr;
  const auto answer = [&](Outcome outcome, std::string detail) {
    turn.respond(event.request, {outcome, std::move(detail), {}, 0, view_of(turn.state, *node)});
    return static_cast<NodeState*>(nullptr);
  };
  if (!node->wanted)
    return answer(Outcome::unreachable,
                  node->name.text + " has never been read, so there is nothing to change yet.");
  if (event.if_revision && *event.if_revision != node->wanted->revision)
    return answer(Outcome::stale, "The wanted settings are at revision " +
                                      std::to_string(node->wanted->revision) + ", not " +
                                      std::to_string(*event.if_revision) +
                                      ": somebody changed them in between.");
  if (node->change && node->change->view.stage == ChangeStage::interrupted)
    return answer(Outcome::unreachable, node->change->view.reason);
  if (node->change || node->adopting)
    return answer(Outcome::busy, "Another change of " + node->name.text + " is under way.");
  if (const auto switching = switch_under_way(turn.state); !switching.empty())
    return answer(Outcome::busy, switching);
  return turn.state.write(node->uid);
}

std::string what_was_asked(Turn& turn, const NodeState& node, const plan::NodeSettings& settings) {
  return move_in_words(node.wanted->settings, settings, turn.state.plan_of(node));
}

// True if the verdict lets the request go on; else it was journaled and answered.
template <class Event>
bool may_go_on(Turn& turn, const Event& event, const NodeState& node,
               const plan::NodeSettings& settings, const Verdict& verdict,
               const std::optional<Waiver>& waiver) {
  const bool signed_for = waiver && waiver->is_signed();
  if (!verdict.refuses() && (!verdict.needs_waiver() || signed_for)) return true;
  const auto outcome = verdict.refuses() ? Outcome::refused : Outcome::needs_waiver;
  auto entry = turn.entry(JournalKind::refused, event.who, &node);
  entry.what = what_was_asked(turn, node, settings);
  for (const auto& finding : verdict.findings)
    if (finding.rule == Rule::filter_known && !finding.concerns.empty())
      entry.what += ", asked for filter \"" + finding.concerns.front() + '"';
  entry.why = event.why;
  entry.verdict = in_words(verdict);
  entry.fate = name_of(outcome);
  turn.record({std::move(entry)});
  turn.respond(event.request,
               {outcome,
                verdict.refuses() ? "Refused; nothing was changed."
                                  : "There are cautions: a named person has to say why to go on.",
                verdict, 0, view_of(turn.state, node)});
  return false;
}

// The journal has it that the node's settings were adopted, and what is wanted was kept with that;
// but a plan that was read meanwhile has another device there. It says so, and what is wanted of
// the node by that plan is kept again.
void not_adopted(Turn& turn, const ThenAdopt& then, const NodeState* node) {
  auto entry = turn.entry(JournalKind::fate, "rack", node);
  entry.what = "adopt from " + then.node.text();
  entry.fate = "not adopted: another device hangs there by a plan that was read since";
  std::vector<Write> writes;
  if (node != nullptr && node->wanted) writes.emplace_back(KeepWanted{then.node, *node->wanted});
  turn.record({std::move(entry)}, std::move(writes));
  turn.respond(then.request, hangs_there_no_more());
}

// `settings`: what was proposed, with what the datasheet does not know of it.
template <class Event>
void change_to(Turn& turn, const Event& event, NodeState* node, const plan::NodeSettings& settings,
               std::vector<Finding> findings) {
  auto verdict = turn.verdict_on(turn.surroundings(), *node, settings);
  verdict.findings.insert(verdict.findings.begin(), std::make_move_iterator(findings.begin()),
                          std::make_move_iterator(findings.end()));
  if (event.dry_run) {
    turn.respond(event.request,
                 {Outcome::checked, {}, std::move(verdict), 0, view_of(turn.state, *node)});
    return;
  }
  if (!may_go_on(turn, event, *node, settings, verdict, event.waiver)) return;
  const bool already = node->seen && node->link == Link::answering &&
                       node->seen->settings == settings && node->wanted->settings == settings;
  if (already) {
    turn.respond(event.request, {Outcome::settled, "It is already so; nothing was sent.",
                                 std::move(verdict), 0, view_of(turn.state, *node)});
    return;
  }
  begin_change(turn, *node,
               {settings, std::move(verdict), event.waiver, event.request, event.who, event.why});
}

// Empty: there is some.
std::string no_power_to_cycle(const NodeState& node, const plan::Matrix& matrix,
                              const plan::MatrixSettings& wanted, std::size_t input) {
  const auto& sheet = *matrix.sheet;
  const auto& name = node.name.text;
  if (input < 1 || input > sheet.inputs)
    return "A " + sheet.type + " has no input " + std::to_string(input) + "; its inputs are 1 to " +
           std::to_string(sheet.inputs) + '.';
  if (!sheet.supply) return "A " + sheet.type + " feeds nothing: there is no power to cycle.";
  if (wanted.inputs[input - 1].supply_mv == 0)
    return "Input " + std::to_string(input) + " of " + name +
           " feeds nothing: there is no power to cycle.";
  if (!node.seen || node.link != Link::answering || node.seen->settings != node.wanted->settings)
    return name + " does not show what is wanted of it now; adopt what it shows or re-apply first.";
  return {};
}

// Whoever names one kind of node and means the other.
void of_other_kind(Turn& turn, RequestId request, const NodeState& node, const std::string& what) {
  turn.respond(request, {Outcome::unknown_name, node.name.text + " is no " + what + '.'});
}

}  // namespace

void on_request(Turn& turn, const ChangeRequested& event) {
  auto* node = ready_node(turn, event);
  if (node == nullptr) return;
  const auto* planned = turn.state.plan_of(*node).amplifier();
  const auto* wanted = node->wanted->settings.amplifier();
  if (planned == nullptr || wanted == nullptr)
    return of_other_kind(turn, event.request, *node, "amplifier");
  auto [settings, findings] = propose(*planned, *wanted, event.patch);
  change_to(turn, event, node, settings, std::move(findings));
}

void on_request(Turn& turn, const RoutesRequested& event) {
  auto* node = ready_node(turn, event);
  if (node == nullptr) return;
  const auto* planned = turn.state.plan_of(*node).matrix();
  const auto* wanted = node->wanted->settings.matrix();
  if (planned == nullptr || wanted == nullptr)
    return of_other_kind(turn, event.request, *node, "matrix");
  auto [settings, findings] = propose(*planned, *wanted, event.patch);
  change_to(turn, event, node, settings, std::move(findings));
}

void on_request(Turn& turn, const PowerCycleRequested& event) {
  auto* node = ready_node(turn, event);
  if (node == nullptr) return;
  const auto* matrix = turn.state.plan_of(*node).matrix();
  const auto* wanted = node->wanted->settings.matrix();
  if (matrix == nullptr || wanted == nullptr)
    return of_other_kind(turn, event.request, *node, "matrix");
  if (const auto why_not = no_power_to_cycle(*node, *matrix, *wanted, event.input);
      !why_not.empty())
    return turn.respond(event.request,
                        {Outcome::refused, why_not, {}, 0, view_of(turn.state, *node)});
  auto off = *wanted;
  off.inputs[event.input - 1].supply_mv = 0;
  auto verdict = turn.verdict_on(turn.surroundings(), *node, off);
  if (event.dry_run)
    return turn.respond(event.request,
                        {Outcome::checked, {}, std::move(verdict), 0, view_of(turn.state, *node)});
  if (!may_go_on(turn, event, *node, off, verdict, event.waiver)) return;
  const auto* antenna = plan::at_input(*turn.state.plan, {matrix->name, event.input});
  const auto supply = antenna == nullptr ? std::nullopt : antenna->datasheet->supply;
  const auto lasting = supply.value_or(plan::TakenSupply{}).off;
  std::optional<plan::NodeName> name;
  if (antenna != nullptr) name = antenna->name;
  const auto what = "input " + std::to_string(event.input) +
                    (antenna == nullptr ? "" : " (" + antenna->name.text + ')') + " off";
  begin_change(turn, *node,
               {node->wanted->settings, std::move(verdict), event.waiver, event.request, event.who,
                event.why, false, Detour{off, lasting, what, name}});
}

void on_request(Turn& turn, const ReapplyRequested& event) {
  auto* node = ready_node(turn, event);
  if (node == nullptr) return;
  const auto settings = node->wanted->settings;
  auto around = turn.surroundings();
  around.locked = false;  // what was locked in is what a lock is for
  auto verdict = turn.verdict_on(around, *node, settings);
  if (!may_go_on(turn, event, *node, settings, verdict, event.waiver)) return;
  begin_change(
      turn, *node,
      {settings, std::move(verdict), event.waiver, event.request, event.who, event.why, true});
}

void on_request(Turn& turn, const AdoptRequested& event) {
  auto* node = ready_node(turn, event);
  if (node == nullptr) return;
  // What nobody sees at the node now may have been turned since, and would be decided unseen.
  if (!node->seen || node->link != Link::answering) {
    const auto why = node->seen
                         ? " is out of contact: what it shows now is not known, and nothing was "
                           "adopted."
                         : " has not been read since the daemon started.";
    turn.respond(event.request,
                 {Outcome::unreachable, node->name.text + why, {}, 0, view_of(turn.state, *node)});
    return;
  }
  const auto settings = node->seen->settings;
  auto verdict = turn.verdict_on(turn.surroundings(), *node, settings);
  if (!may_go_on(turn, event, *node, settings, verdict, event.waiver)) return;
  auto entry = turn.entry(JournalKind::adopted, event.who, node);
  entry.what = what_was_asked(turn, *node, settings);
  entry.why = event.why;
  entry.verdict = in_words(verdict);
  if (event.waiver) entry.waiver = event.waiver->text();
  node->adopting = true;
  turn.record({std::move(entry)}, {KeepWanted{node->uid, {settings, node->wanted->revision + 1}}},
              ThenAdopt{event.request, node->uid, settings, std::move(verdict)});
}

void kept(Turn& turn, const ThenAdopt& then) {
  auto& state = turn.state;
  auto* found = state.write(then.node);
  if (found == nullptr || !found->adopting || !found->wanted) return not_adopted(turn, then, found);
  auto& node = *found;
  node.adopting = false;
  turn.know(node, &NodeState::wanted,
            std::optional{Wanted{then.settings, node.wanted->revision + 1}});
  if (node.seen && node.seen->settings == then.settings)
    return_alarm(turn, AlarmKind::drifted, node.name.text);
  turn.respond(then.request, {Outcome::settled, {}, then.verdict, 0, view_of(state, node)});
}

void lost(Turn& turn, const ThenAdopt& then, const std::string& reason) {
  if (auto* node = turn.state.write(then.node); node != nullptr && node->adopting) {
    node->adopting = false;
    // What was owed of this node was left out for the adoption's sake.
    if (node->wanted) turn.state.owed.writes.emplace_back(KeepWanted{node->uid, *node->wanted});
  }
  turn.respond(then.request, not_recorded(reason));
}

}  // namespace catwalk::rack
