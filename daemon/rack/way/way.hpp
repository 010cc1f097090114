// SPDX-License-Identifier: Apache-2.0
#pragma once
// The way between two segments: which nodes move together, in which order, so that no moment on the
// way is worse than either end. Pure; README.md beside this says why it is as it is.
//
// What holds at every moment of a clean way, each node that is in flight being in its old or its
// new settings, in any combination:
//  (a) diversity-dark: a receiver that must hear a carrier in both segments has an antenna that
//      surely passes it. A node without power passes everything; one in flight counts if it passes
//      the carrier in both states. A receiver that is dark at an end already is no worse on the
//      way.
//  (b) own-transmitter-in-window: no transmitter that is live on the way stands in a window
//      (perhaps_passed), unless an end has that transmitter in a window of that node too.
//      amplifier-overload: all carriers that are live on the way together stay below the limit of
//      every amplifier, the node's and the rack's: its P1dB less the plan's compression margin, or
//      what the louder of the two ends has, if that is more.
//  (c) One apply is one moment on the wire, but not in the amplifier: gain and filter each settle
//      in their own time. So a node in flight is also taken to be at (old gain, new window) and
//      (new gain, old window), window being filter, centre and power. If (b) does not stand that,
//      the node moves in two steps: gain first when it goes down, window first when it goes up. An
//      own transmitter in the window whose level is not known counts as too strong for a gain
//      higher than that end's.
//  (d) What is not kept apart by these moves in the same step.
//
// For (b) window and node amplifier depend on one node alone: they decide how it moves, not when.
// Order comes from (a), and from amplifiers behind a combiner, where powers of several nodes add.

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "daemon/base/words.hpp"
#include "daemon/plan/node_settings.hpp"
#include "daemon/plan/rack_plan.hpp"
#include "daemon/rack/values/verdict.hpp"

namespace catwalk::rack {

struct NodeEnds {
  plan::NodeName node;
  // As it is now. Absent: not known. It is then relied on for nothing, and what it lets through to
  // a shared amplifier is not counted.
  std::optional<plan::NodeSettings> present;
  std::optional<plan::NodeSettings> target;  // absent: it stays
  friend bool operator==(const NodeEnds&, const NodeEnds&) = default;
};

struct SwitchTask {
  const plan::RackPlan& plan;
  const plan::Segment& left;     // the rules for the settings it starts from …
  const plan::Segment& entered;  // … and for those where it ends
  std::vector<NodeEnds> nodes;   // those of the plan that are not here stay, and are not known
  // The way back from the middle of a switch: `left` is the segment that was to be entered, and
  // `entered` the one that is returned to. The same carriers are live as on the way there.
  bool back = false;
};

enum class MovePart { whole, gain, window };
constexpr auto words_of(MovePart) {
  using enum MovePart;
  return WordTable<MovePart, 3>{{{"whole", whole}, {"gain", gain}, {"window", window}}};
}
using catwalk::name_of;

struct Move {
  plan::NodeName node;
  MovePart part = MovePart::whole;
  std::optional<plan::NodeSettings> from;  // absent: not known
  plan::NodeSettings to;                   // all of them, as they are staged
  friend bool operator==(const Move&, const Move&) = default;
};

struct Step {
  std::vector<Move> moves;  // in the order of the plan; never empty; a node at most once
  Verdict in_flight;        // what is worse than both ends while they move
  Verdict after;            // of the whole rack when they have moved
  friend bool operator==(const Step&, const Step&) = default;
};

struct Way {
  std::vector<Step> steps;  // empty: nothing moves

  // What breaks on the way: the findings in flight of all steps, and first what no order could
  // avoid: carriers that meet on the way alone (rules/carrier_rules.hpp), amplifiers. Numbers say
  // in which step. Empty: the way is clean, and nobody has to waive anything. A moment without
  // reception or with a transmitter in a window is a caution, since it passes; an amplifier past
  // P1dB is refused.
  Verdict breaches;
  bool clean() const { return breaches.findings.empty(); }
  bool needs_waiver() const { return breaches.needs_waiver(); }

  // No way with as few breaches has fewer steps. Equal to the number of steps for all but large
  // racks whose nodes hang together in groups of more than 12.
  int at_least_steps = 0;
  bool least_bad = true;  // proven that no way breaks less

  Verdict before;  // of the rack as it is, in the segment that is left
  Verdict end;     // of the rack as it is to be, in the segment that is entered
};

// Verdicts of whole racks cost most of the time: who only wants to move leaves out those of the
// states between (`before` and Step::after are empty then), who is on the way already that of the
// end too.
enum class WayDetail { steps_only, steps_and_end, with_verdicts };

// Precondition: targets name filters that their datasheets have.
Way plan_way(const SwitchTask& task, WayDetail detail = WayDetail::with_verdicts);

// The same as a value of its own, that may travel.
struct WayQuestion {
  std::shared_ptr<const plan::RackPlan> plan;
  plan::SegmentName left;  // both are in the plan
  plan::SegmentName entered;
  std::vector<NodeEnds> nodes;
  bool back = false;
  WayDetail detail = WayDetail::steps_and_end;
  friend bool operator==(const WayQuestion&, const WayQuestion&) = default;
};
Way plan_way(const WayQuestion& question);

}  // namespace catwalk::rack
