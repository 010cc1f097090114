// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/outlook/preview.hpp"

#include <algorithm>
#include <iterator>
#include <map>

#include "daemon/rack/values/wire.hpp"
#include "daemon/rack/way/members.hpp"
#include "protocol/codec.hpp"
#include "protocol/frame.hpp"
#include "protocol/matrix_codec.hpp"
#include "protocol/parts.hpp"

namespace catwalk::rack {
namespace {

using std::chrono::microseconds;

// PROTOCOL.md, section 2: a broadcast is sent twice, and the line changes hands after a silence of
// two characters.
constexpr int broadcasts = 2;
constexpr std::size_t gap_characters = 2;
constexpr int bits_of_a_byte = 10;

std::size_t on_wire(const protocol::Message& message) {
  return protocol::to_frame(protocol::encode({protocol::Header{}, message})).size();
}

microseconds bytes_take(const plan::LineTiming& timing, std::size_t bytes) {
  if (timing.baud == 0) return microseconds{0};
  const auto bits = static_cast<std::int64_t>(bytes) * bits_of_a_byte;
  return microseconds{(bits * 1'000'000 + timing.baud - 1) / timing.baud};
}

microseconds exchange(const plan::LineTiming& timing, const protocol::Message& question,
                      const protocol::Message& answer) {
  const auto gaps = timing.baud == 0 ? 0 : 2 * gap_characters;
  return bytes_take(timing, on_wire(question) + on_wire(answer) + gaps) + timing.turn_round;
}

const protocol::Message done{protocol::Reply{protocol::Done{}}};
const protocol::Message apply{protocol::Request{protocol::Apply{}}};
const protocol::Message read{protocol::Request{protocol::Read{}}};

// To stage settings and to read them back.
microseconds told_and_read(const plan::LineTiming& timing, const plan::Settings& settings) {
  protocol::Reading reading;
  reading.settings = to_wire(settings);
  const protocol::Message stage{protocol::Request{protocol::Stage{{}, {}, reading.settings}}};
  return exchange(timing, stage, done) + exchange(timing, read, {protocol::Reply{reading}});
}

// The same of a matrix, in parts.
microseconds told_and_read(const plan::LineTiming& timing, const plan::MatrixSettings& settings) {
  const auto bytes = protocol::encode(to_wire(settings));
  auto whole = exchange(timing, read, {protocol::Reply{protocol::MatrixReading{}}});
  for (std::size_t at = 0; at < bytes.size(); at += protocol::largest_staged_part) {
    protocol::StagePart part;
    part.bytes =
        protocol::part_of(bytes, at / protocol::largest_staged_part, protocol::largest_staged_part);
    whole += exchange(timing, {protocol::Request{part}}, done);
  }
  for (std::size_t at = 0; at < bytes.size(); at += protocol::largest_read_part) {
    protocol::Part part;
    part.bytes =
        protocol::part_of(bytes, at / protocol::largest_read_part, protocol::largest_read_part);
    whole += exchange(timing, {protocol::Request{protocol::ReadPart{}}}, {protocol::Reply{part}});
  }
  return whole;
}

microseconds told_and_read(const plan::LineTiming& timing, const plan::NodeSettings& settings) {
  return settings.matrix() != nullptr ? told_and_read(timing, *settings.matrix())
                                      : told_and_read(timing, *settings.amplifier());
}

std::vector<LineTime> times_of(const plan::RackPlan& plan, const Way& way) {
  std::map<plan::LineName, LineTime> lines;
  for (std::size_t number = 0; number < way.steps.size(); ++number) {
    std::map<plan::LineName, std::vector<plan::NodeSettings>> moved;
    for (const auto& move : way.steps[number].moves)
      if (const auto device = plan::device_named(plan, move.node))
        moved[device->line()].push_back(move.to);
    for (const auto& [line, settings] : moved) {
      const auto timing = plan.line_timings.find(line);
      if (timing == plan.line_timings.end()) continue;
      auto& time = lines[line];
      time.line = line;
      time.steps.resize(way.steps.size());
      time.steps[number] = time_of_step(timing->second, settings);
      time.total += time.steps[number];
    }
  }
  std::vector<LineTime> all;
  for (const auto& name : plan.lines)
    if (const auto found = lines.find(name); found != lines.end()) all.push_back(found->second);
  return all;
}

microseconds time_of(const std::vector<LineTime>& lines, std::size_t steps) {
  microseconds whole{0};
  for (std::size_t number = 0; number < steps; ++number) {
    microseconds longest{0};
    for (const auto& line : lines) longest = std::max(longest, line.steps[number]);
    whole += longest;
  }
  return whole;
}

// The place in the order stays where a segment is in none of its cues.
std::optional<Follows> follows(const Snapshot& snapshot, const std::optional<plan::CueName>& cue) {
  const auto& order = snapshot.plan->running_order;
  const auto* next = order.after(cue ? &*cue : snapshot.order.at ? &*snapshot.order.at : nullptr);
  if (next == nullptr) return std::nullopt;
  Follows then{*next, {}, snapshot.is_held_by_lock(next->name)};
  if (std::holds_alternative<plan::AfterSegment>(next->trigger)) return then;
  const auto* at = std::get_if<plan::AtClock>(&next->trigger);
  if (at == nullptr) return std::nullopt;
  const auto due = at->time.next(order.zone, std::chrono::floor<std::chrono::seconds>(snapshot.at));
  if (!due) return std::nullopt;
  then.due = *due;
  return then;
}

// Of the lock and of a switch that is under way; then what the planner found.
Prospect prospect_of(const Snapshot& snapshot, const Members& members, const Preview& preview,
                     bool is_held) {
  Prospect prospect;
  const auto obstacle = [&](Outcome outcome, std::string sentence) {
    if (prospect.good()) prospect.would_be = outcome;
    prospect.obstacles.push_back(std::move(sentence));
  };
  if (auto none = no_control(snapshot.control, snapshot.watching_because))
    obstacle(none->outcome, std::move(none->sentence));
  if (snapshot.switching && !is_end(snapshot.switching->stage))
    obstacle(Outcome::busy, "The switch to " + snapshot.switching->entered.text + " is under way.");
  if (is_held) obstacle(Outcome::refused, std::string{locked_without_arming});
  auto planned =
      prospect_of(*snapshot.plan->find(preview.entered), members, preview.way, preview.is_signed);
  if (prospect.good())
    prospect.would_be = planned.would_be;
  else if (planned.would_be == Outcome::needs_waiver)
    planned.obstacles.pop_back();  // of the cautions nobody need speak yet
  std::ranges::move(planned.obstacles, std::back_inserter(prospect.obstacles));
  return prospect;
}

}  // namespace

microseconds time_of_step(const plan::LineTiming& timing,
                          const std::vector<plan::NodeSettings>& settings) {
  microseconds whole{0};
  microseconds longest{0};
  const bool broadcast = settings.size() > 1 && !timing.all_at_once;
  for (const auto& setting : settings) {
    auto each = told_and_read(timing, setting);
    if (!broadcast) each += exchange(timing, apply, done);
    whole += each;
    longest = std::max(longest, each);
  }
  if (broadcast) whole += broadcasts * bytes_take(timing, on_wire(apply) + gap_characters);
  return timing.all_at_once ? longest : whole;
}

namespace {

std::vector<NodeNow> nodes_of(const Snapshot& snapshot) {
  std::vector<NodeNow> nodes;
  for (const auto& node : snapshot.nodes) nodes.push_back(now_of(*node));
  for (const auto& matrix : snapshot.matrices) nodes.push_back(now_of(*matrix));
  return nodes;
}

void add_nodes(const plan::RackPlan& plan, const std::vector<NodeNow>& nodes,
               const Members& members, Preview& preview) {
  preview.missing = members.missing;
  for (const auto& member : members.nodes) {
    const auto& node = nodes[member.place];
    preview.nodes.push_back({node.name, plan::device_at(plan, member.place).line(), member.before,
                             member.target, node.in_force.has_value(), member.left_out,
                             node.supplied});
  }
}

// As they are wanted in a segment. Of one that was never met, and of which the segment does not say
// everything, nothing is known.
std::vector<NodeNow> nodes_in(const Snapshot& snapshot, const plan::Segment& segment) {
  std::vector<NodeNow> nodes;
  for (std::size_t place = 0; place < plan::count_devices(*snapshot.plan); ++place) {
    const auto node = plan::device_at(*snapshot.plan, place);
    const auto met = node.amplifier() != nullptr ? snapshot.find(node.name())
                                                 : snapshot.find_matrix(node.name());
    const auto there = planned_in(
        segment, node, met && met->wanted ? std::optional{met->wanted->settings} : std::nullopt);
    const auto settings = there ? std::optional{there->settings} : std::nullopt;
    nodes.push_back({node.name(), settings, settings, settings, true});
  }
  return nodes;
}

std::vector<CrewRow> crew_of(const Snapshot& snapshot, const Preview& preview) {
  return crew_sheet(*snapshot.plan->find(preview.left), *snapshot.plan->find(preview.entered),
                    *snapshot.ticks);
}

// Fills in the way, with its end as it counts, and the times.
void add_way(const Snapshot& snapshot, const std::vector<NodeNow>& nodes, const Members& members,
             Preview& preview) {
  auto question = way_to(snapshot.plan, preview.left, preview.entered, nodes, members);
  question.detail = WayDetail::with_verdicts;
  preview.way = plan_way(question);
  move_along(nodes, members.nodes, preview.way);
  excuse_unsupplied(nodes, preview.way.end);
  preview.lines = times_of(*snapshot.plan, preview.way);
  preview.time = time_of(preview.lines, preview.way.steps.size());
}

}  // namespace

Preview preview(const Snapshot& snapshot, const plan::SegmentName& segment,
                const std::vector<plan::NodeName>& without) {
  const auto& plan = *snapshot.plan;
  Preview preview;
  preview.left = snapshot.segment;
  preview.entered = segment;
  preview.if_a_node_fails = plan.find(segment)->if_a_node_fails;
  preview.cue = snapshot.cue_to(segment);
  // What is armed brings its waiver and whom it leaves out, unless somebody says otherwise.
  auto left_out = without;
  if (without.empty() && preview.cue && snapshot.order.armed &&
      snapshot.order.armed->cue == *preview.cue) {
    left_out = snapshot.order.armed->without;
    preview.is_signed = snapshot.order.armed->waiver.has_value();
  }
  const auto nodes = nodes_of(snapshot);
  const auto members = members_of(plan, *plan.find(segment), nodes, left_out);
  add_nodes(plan, nodes, members, preview);
  if (members.findings.empty()) {
    add_way(snapshot, nodes, members, preview);
    tell_left_out(plan, members, left_out, preview.way.end);
  }
  const bool is_held = snapshot.is_held_by_lock(preview.cue);
  preview.prospect = prospect_of(snapshot, members, preview, is_held);
  if (is_held && preview.cue) preview.if_armed = prospect_of(snapshot, members, preview, false);
  preview.follows = follows(snapshot, preview.cue);
  preview.crew = crew_of(snapshot, preview);
  return preview;
}

Preview preview_between(const Snapshot& snapshot, const plan::SegmentName& left,
                        const plan::SegmentName& entered,
                        const std::vector<plan::NodeName>& without) {
  const auto& plan = *snapshot.plan;
  const auto& segment = *plan.find(entered);
  Preview preview;
  preview.left = left;
  preview.entered = entered;
  preview.from_now = false;
  preview.if_a_node_fails = segment.if_a_node_fails;
  preview.cue = snapshot.cue_to(entered);
  const auto nodes = nodes_in(snapshot, *plan.find(left));
  const auto members = members_of(plan, segment, nodes, without);
  add_nodes(plan, nodes, members, preview);
  if (members.findings.empty()) {
    add_way(snapshot, nodes, members, preview);
    tell_left_out(plan, members, without, preview.way.end);
  }
  preview.prospect = prospect_of(segment, members, preview.way, false);
  preview.crew = crew_of(snapshot, preview);
  return preview;
}

Preview preview_restoring(const Snapshot& snapshot, const std::vector<plan::NodeName>& only) {
  Preview preview;
  preview.left = preview.entered = snapshot.segment;
  const auto nodes = nodes_of(snapshot);
  auto members = members_to_restore(nodes, only);
  leave_out_refused(*snapshot.plan, *snapshot.plan->find(snapshot.segment), nodes, members);
  add_nodes(*snapshot.plan, nodes, members, preview);
  add_way(snapshot, nodes, members, preview);
  keep_findings_on(nodes, members, preview.way.end);
  if (auto none = no_control(snapshot.control, snapshot.watching_because))
    preview.prospect = {none->outcome, {std::move(none->sentence)}};
  else if (snapshot.switching && !is_end(snapshot.switching->stage))
    preview.prospect = {Outcome::busy,
                        {"The switch to " + snapshot.switching->entered.text + " is under way."}};
  else if (members.nodes.empty()) {
    auto nothing = nothing_to_restore(nodes, only);
    preview.prospect = {nothing.outcome, {std::move(nothing.sentence)}};
  } else if (std::ranges::all_of(members.nodes, &Member::missing))
    preview.prospect = {Outcome::refused, {members.nodes.front().refused}};
  else
    preview.prospect =
        prospect_of(*snapshot.plan->find(snapshot.segment), members, preview.way, false);
  return preview;
}

}  // namespace catwalk::rack
