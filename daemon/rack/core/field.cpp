// SPDX-License-Identifier: Apache-2.0
// What nodes and lines say, and what the rack makes of it.
#include "daemon/rack/core/field.hpp"

#include <algorithm>

#include "daemon/rack/core/alarms.hpp"
#include "daemon/rack/core/changes.hpp"
#include "daemon/rack/core/running_order.hpp"
#include "daemon/rack/core/supplies.hpp"
#include "daemon/rack/core/watching.hpp"
#include "daemon/rack/rules/power_failure.hpp"
#include "daemon/rack/values/epochs.hpp"
#include "daemon/rack/values/settings_words.hpp"
#include "daemon/rack/values/wire.hpp"
#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

// While the rack is hung nothing is decided for a node that is met for the first time: wanted
// starts as what it shows. Once something is on the air it comes in for another, and is wanted
// where the segment has it.
void meet(Turn& turn, NodeState& node) {
  const auto planned = turn.state.plan_of(node);
  auto settings = node.seen->settings;
  if (!turn.state.reached.empty() && is_set_in(turn.state.active(), node.name)) {
    auto proposal = propose(planned, settings, turn.state.active());
    if (proposal.findings.empty() && check_datasheet(planned, proposal.settings).empty())
      settings = std::move(proposal.settings);
  }
  turn.know(node, &NodeState::wanted, std::optional{Wanted{settings, 1}});
  auto entry = turn.entry(JournalKind::found, "rack", &node);
  entry.what = "met for the first time with " + in_words(node.seen->settings, planned);
  if (settings != node.seen->settings)
    entry.what += "; wanted is what " + turn.state.segment.text +
                  " has for it: " + in_words(settings, planned);
  turn.record({std::move(entry)}, {KeepWanted{node.uid, *node.wanted}});
}

// The node is back with other settings than wanted, and its rack file says to re-apply. False: the
// rules refuse by now what was wanted then.
bool reapply(Turn& turn, NodeState& node) {
  auto around = turn.surroundings();
  around.locked = false;  // restoring what was locked in is what a lock is for
  auto verdict = turn.verdict_on(around, node, node.wanted->settings);
  if (verdict.refuses()) return false;
  begin_change(turn, node,
               {node.wanted->settings,
                std::move(verdict),
                {},
                {},
                "rack",
                "the node came back with other settings (on_return: reapply)"});
  return true;
}

void say_drifted(Turn& turn, NodeState& node) {
  std::string how = " shows ";
  const bool by_hand = node.seen->reading.telemetry.locally_changed;
  if (node.had_by)
    how = " obeyed another controller last (epoch " + std::to_string(node.had_by->value) +
          "), which may have set it" + (by_hand ? ", or somebody by hand" : "") +
          ", since it was set from here: it shows ";
  else if (by_hand)
    how = " was changed by hand: it shows ";
  raise_alarm(
      turn, AlarmKind::drifted, node.name.text,
      node.name.text + how +
          differences(node.seen->settings, node.wanted->settings, turn.state.plan_of(node)) +
          ". Adopt it or re-apply.");
}

// A line on which several nodes hang and none answers is as good as down, whatever its driver says.
void look_whether_heard(Turn& turn, const plan::LineName& name) {
  const auto* found = turn.state.find(name);
  if (found == nullptr || !found->up) return;
  std::size_t nodes = 0;
  std::size_t silent = 0;
  for (const auto& node : turn.state.nodes) {
    if (turn.state.plan_of(node).line() != name) continue;
    ++nodes;
    silent += node.link == Link::silent;
  }
  const bool unheard = nodes > 1 && silent == nodes;
  if (unheard == found->unheard) return;
  auto& line = turn.state.lines.write(*found);
  line.unheard = unheard;
  line.reason = unheard ? "none of its " + std::to_string(nodes) + " nodes answers" : "";
  if (unheard)
    raise_alarm(turn, AlarmKind::line_down, name.text,
                "Line " + name.text + " is as good as down: " + line.reason +
                    ". They keep their last settings.");
  else
    return_alarm(turn, AlarmKind::line_down, name.text);
}

std::string without_supply_in_words(const plan::Matrix& matrix) {
  return std::string{" has lost its supply: it feeds no antenna"} +
         (matrix.sheet->unsupplied ? ", and only its passive routes are left."
                                   : ", and nothing is heard through it.");
}

// As things are when it happens; what somebody has seen is not told anew with every figure that
// moves afterwards.
void say_passive(Turn& turn, const NodeState& node) {
  const auto& name = node.name.text;
  const auto device = turn.state.plan_of(node);
  if (const auto* matrix = device.matrix())
    return raise_alarm(turn, AlarmKind::passive, name, name + without_supply_in_words(*matrix));
  if (is_raised(turn.state, AlarmKind::passive, name)) return;
  std::string less;
  if (const auto* wanted = node.wanted ? node.wanted->settings.amplifier() : nullptr)
    less = heard_less_without_power(turn.surroundings(), *device.amplifier(), *wanted);
  raise_alarm(turn, AlarmKind::passive, name,
              name +
                  " has lost its supply: it is a plain passive antenna now, without gain and "
                  "without filter." +
                  (less.empty() ? "" : " " + std::move(less) + '.'));
}

void lose(Turn& turn, NodeState& node, Link link) {
  if (node.link == link) {
    // Said again by a line that was opened anew.
    if (link == Link::silent) look_whether_heard(turn, turn.state.plan_of(node).line());
    return;
  }
  node.link = link;
  turn.state.ahead_at.reset();  // who answers decides what an armed cue would come to
  node.was_lost = bool{node.seen};
  if (link == Link::silent)
    raise_alarm(turn, AlarmKind::silent, node.name.text,
                node.name.text +
                    " does not answer. A node keeps its last settings when it is out "
                    "of contact.");
  if (link == Link::silent) look_whether_heard(turn, turn.state.plan_of(node).line());
}

}  // namespace

std::optional<protocol::AnyReading> reading_of_its_kind(const State& state, const NodeState& node,
                                                        const protocol::Answer& answer) {
  auto reading = protocol::reading_in(answer);
  if (reading && !is_of_its_kind(*reading, state.plan_of(node))) reading.reset();
  return reading;
}

void hold_to_wanted(Turn& turn, NodeState& node, bool returned) {
  if (!turn.state.has(node)) return;  // another controller's: shown, and left alone
  if (node.change) {
    if (node.change->view.stage == ChangeStage::interrupted) resolve_interrupted(turn, node);
    if (node.change) {
      node.was_lost = returned;  // to be held to it when the change has ended
      return;
    }
  }
  if (!node.wanted) meet(turn, node);
  if (node.adopting || turn.state.switching) {
    node.was_lost = returned;
    return;
  }
  if (node.seen->settings == node.wanted->settings) {
    node.had_by.reset();
    // Without supply it shows what it had; what it starts with is still to come.
    if (node.seen->reading.telemetry.powered) node.cycled = false;
    return_alarm(turn, AlarmKind::drifted, node.name.text);
    return;
  }
  // It obeys us as soon as we have told it something. Of epochs before the first that is known here
  // nobody can say whose they were.
  const auto epoch = node.seen->reading.epoch;
  const auto& spoken = turn.state.spoken;
  const auto first = std::ranges::min_element(spoken.all());
  if (first != spoken.all().end() && *first < epoch && epoch < turn.state.epoch &&
      !spoken.have(epoch))
    node.had_by = epoch;
  const bool may_reapply =
      returned && (std::exchange(node.cycled, false) ||
                   turn.state.plan_of(node).on_return() == plan::OnReturn::reapply);
  if (may_reapply && reapply(turn, node)) return;
  say_drifted(turn, node);
}

void take_reading(Turn& turn, NodeState& node, const protocol::AnyReading& reading) {
  const auto& telemetry = protocol::telemetry_of(reading);
  const auto epoch = protocol::epoch_of(reading);
  const bool restarted = node.seen && node.seen->reading.telemetry.boots != telemetry.boots;
  const bool came_back = node.was_lost || restarted;
  const auto& name = node.name.text;
  turn.know(node, &NodeState::seen, std::optional{Seen{settings_of(reading), reading, turn.now}});
  if (node.maybe) turn.know<plan::NodeSettings>(node, &NodeState::maybe, std::nullopt);
  if (node.link != Link::answering) turn.state.ahead_at.reset();
  node.link = Link::answering;
  node.was_lost = false;
  return_alarm(turn, AlarmKind::silent, name);
  look_whether_heard(turn, turn.state.plan_of(node).line());

  if (telemetry.powered)
    return_alarm(turn, AlarmKind::passive, name);
  else
    say_passive(turn, node);
  look_at_supplies(turn, node);
  if (turn.state.control != Control::ours) return;
  if (epoch > turn.state.epoch)
    obeys_other(turn, node, epoch);
  else
    obeys_us(turn, node, epoch);
  if (!turn.state.has(node)) return;
  // What another has set meanwhile nobody undoes by itself.
  const bool returned = came_back && !node.was_held;
  // A node keeps an epoch with what it is told under it: a reading alone is forgotten with its
  // supply, and then it is the other's again. What the other has staged goes, too.
  if (node.was_held)
    turn.send(node, protocol::Discard{turn.state.epoch, ticket_for(0)}, ForNobody{});
  node.was_held = false;
  hold_to_wanted(turn, node, returned);
}

namespace {

// It answers, but with nothing that could be a setting of what the rack file says it is.
std::string kind_in_words(const protocol::AnyReading& reading) {
  const auto* matrix = std::get_if<protocol::MatrixState>(&reading);
  if (matrix == nullptr) return "an amplifier";
  return "a matrix, " + std::to_string(matrix->settings.inputs.size()) + " on " +
         std::to_string(matrix->settings.outputs.size());
}

void is_of_another_kind(Turn& turn, NodeState& node, const protocol::AnyReading& reading) {
  lose(turn, node, Link::silent);
  raise_alarm(turn, AlarmKind::wrong_type, node.name.text,
              node.name.text + " says that it is " + kind_in_words(reading) +
                  ", the rack file says " + turn.state.plan_of(node).type() +
                  ". Nothing can be set on it.");
}

}  // namespace

void on_field_event(Turn& turn, const NodeReported& event) {
  if (turn.state.control == Control::asking) return;  // it is read again once that is known
  auto* node = turn.state.write(event.node);
  if (node == nullptr) return;
  const auto planned = turn.state.plan_of(*node);
  if (!is_of_its_kind(event.reading, planned))
    return is_of_another_kind(turn, *node, event.reading);
  if (node->identity && node->identity->type == planned.type())
    return_alarm(turn, AlarmKind::wrong_type, node->name.text);
  take_reading(turn, *node, event.reading);
}

void on_field_event(Turn& turn, const NodeIdentified& event) {
  auto* node = turn.state.write(event.node);
  if (node == nullptr) return;
  node->identity = event.identity;
  const auto type = turn.state.plan_of(*node).type();
  if (event.identity.type == type)
    return_alarm(turn, AlarmKind::wrong_type, node->name.text);
  else
    raise_alarm(turn, AlarmKind::wrong_type, node->name.text,
                node->name.text + " says it is a " + event.identity.type + ", the rack file says " +
                    type + ". Its limits are not to be trusted.");
}

void on_field_event(Turn& turn, const NodeBabbles& event) {
  const auto* node = turn.state.find(event.node);
  if (node == nullptr) return;
  const auto& name = node->name.text;
  if (event.babbles)
    raise_alarm(
        turn, AlarmKind::babbling, name,
        name +
            " reports without end: it is heeded once a second until it is calm. Its knobs or "
            "its supply may flicker, or it is faulty.");
  else
    return_alarm(turn, AlarmKind::babbling, name);
}

void on_field_event(Turn& turn, const NodeFellSilent& event) {
  if (auto* node = turn.state.write(event.node)) lose(turn, *node, Link::silent);
}

void on_field_event(Turn& turn, const LineWentUp& event) {
  auto* line = turn.state.write(event.line);
  if (line == nullptr) return;
  line->up = true;
  line->unheard = false;
  line->reason.clear();
  return_alarm(turn, AlarmKind::line_down, event.line.text);
  for (const auto& node : turn.state.nodes)
    if (turn.state.plan_of(node).line() == event.line && node.link == Link::line_down)
      turn.state.nodes.write(node).link = Link::unknown;
}

void on_field_event(Turn& turn, const LineWentDown& event) {
  auto* line = turn.state.write(event.line);
  if (line == nullptr) return;
  line->up = line->unheard = false;
  line->reason = event.reason;
  line->searching = false;
  raise_alarm(turn, AlarmKind::line_down, event.line.text,
              "Line " + event.line.text + " is down: " + event.reason +
                  ". Its nodes keep their last settings.");
  for (const auto& node : turn.state.nodes)
    if (turn.state.plan_of(node).line() == event.line)
      lose(turn, turn.state.nodes.write(node), Link::line_down);
}

void on_field_event(Turn& turn, const NodeDiscovered& event) {
  auto* line = turn.state.write(event.line);
  if (line == nullptr) return;
  LineView::Discovery found{event.node, event.address, std::nullopt};
  if (const auto* node = turn.state.find(event.node)) found.node = node->name;
  if (event.identity) {
    found.type = event.identity->type;
    found.firmware = event.identity->firmware;
  }
  found.endpoint = event.endpoint;
  found.doubt = event.doubt;
  const auto row = std::ranges::find(line->discovered, event.node, &LineView::Discovery::uid);
  if (row != line->discovered.end())
    *row = std::move(found);
  else if (line->searching)
    line->discovered.push_back(std::move(found));
}

void name_discovered(State& state) {
  for (const auto& line : state.lines)
    for (auto& found : state.lines.write(line).discovered) {
      const auto* node = state.find(found.uid);
      found.node = node == nullptr ? std::optional<plan::NodeName>{} : node->name;
    }
}

void on_field_event(Turn& turn, const DiscoveryEnded& event) {
  auto* line = turn.state.write(event.line);
  if (line == nullptr) return;
  line->searching = false;
  line->trouble = event.trouble;
}

}  // namespace catwalk::rack
