// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/switching/preview.hpp"

#include <algorithm>
#include <map>

#include "daemon/rack/switching/members.hpp"
#include "daemon/rack/wire.hpp"
#include "protocol/codec.hpp"
#include "protocol/frame.hpp"

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

protocol::Reading reading_of(const plan::Settings& settings) {
  protocol::Reading reading;
  reading.settings = to_wire(settings);
  return reading;
}

std::vector<LineTime> times_of(const plan::RackPlan& plan, const Way& way) {
  std::map<plan::LineName, LineTime> lines;
  for (std::size_t number = 0; number < way.steps.size(); ++number) {
    std::map<plan::LineName, std::vector<plan::Settings>> moved;
    for (const auto& move : way.steps[number].moves)
      moved[plan.find(move.node)->line].push_back(move.to);
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

// A switch leads to the armed cue, to the next one with this segment, or to any.
std::optional<plan::CueName> cue_of(const Snapshot& snapshot, const plan::SegmentName& segment) {
  return snapshot.plan->running_order.leads_to(
      segment, snapshot.order.armed ? &snapshot.order.armed->cue : nullptr,
      snapshot.order.at ? &*snapshot.order.at : nullptr);
}

void look_for_obstacles(const Snapshot& snapshot, const Members& members, Preview& preview) {
  const auto obstacle = [&](Outcome outcome, std::string sentence) {
    if (preview.would_be == Outcome::done || preview.would_be == Outcome::needs_waiver)
      preview.would_be = outcome;
    preview.obstacles.push_back(std::move(sentence));
  };
  if (snapshot.switching && !is_end(snapshot.switching->stage))
    obstacle(Outcome::busy, "The switch to " + snapshot.switching->entered.text + " is under way.");
  const bool armed =
      preview.cue && snapshot.order.armed && snapshot.order.armed->cue == *preview.cue;
  if (snapshot.lock && !armed) obstacle(Outcome::refused, std::string{locked_without_arming});
  if (!members.missing.empty()) {
    const bool go_on =
        snapshot.plan->find(preview.entered)->if_a_node_fails == plan::IfNodeFails::go_on;
    if (go_on)
      preview.obstacles.push_back(do_not_answer(members.missing) +
                                  ": the switch would go on without.");
    else
      obstacle(Outcome::unreachable, all_or_nothing(members.missing));
  }
  for (const auto& finding : members.findings) obstacle(Outcome::refused, finding.sentence);
  if (preview.way.end.refuses()) obstacle(Outcome::refused, "The rules refuse where it would end.");
  if (preview.way.breaches.refuses())
    obstacle(Outcome::refused, "There is no way that is not worse than either end.");
  if (preview.would_be == Outcome::done &&
      (preview.way.end.needs_waiver() || preview.way.breaches.needs_waiver())) {
    preview.would_be = Outcome::needs_waiver;
    preview.obstacles.push_back("There are cautions: a named person has to say why to go on.");
  }
}

}  // namespace

microseconds time_of_step(const plan::LineTiming& timing,
                          const std::vector<plan::Settings>& settings) {
  const protocol::Message done{protocol::Reply{protocol::Done{}}};
  const protocol::Message apply{protocol::Request{protocol::Apply{}}};
  const protocol::Message read{protocol::Request{protocol::Read{}}};
  microseconds whole{0};
  microseconds longest{0};
  const bool broadcast = settings.size() > 1 && !timing.all_at_once;
  for (const auto& one : settings) {
    const protocol::Message stage{protocol::Request{protocol::Stage{{}, {}, to_wire(one)}}};
    const protocol::Message reading{protocol::Reply{reading_of(one)}};
    auto each = exchange(timing, stage, done) + exchange(timing, read, reading);
    if (!broadcast) each += exchange(timing, apply, done);
    whole += each;
    longest = std::max(longest, each);
  }
  if (broadcast) whole += broadcasts * bytes_take(timing, on_wire(apply) + gap_characters);
  return timing.all_at_once ? longest : whole;
}

Preview preview(const Snapshot& snapshot, const plan::SegmentName& segment) {
  const auto& plan = *snapshot.plan;
  Preview preview;
  preview.left = snapshot.segment;
  preview.entered = segment;
  preview.cue = cue_of(snapshot, segment);
  std::vector<NodeNow> nodes;
  for (const auto& node : snapshot.nodes) nodes.push_back(now_of(*node));
  const auto members = members_of(plan, *plan.find(segment), nodes);
  for (const auto& member : members.nodes)
    preview.nodes.push_back({nodes[member.place].name, plan.nodes[member.place].line, member.before,
                             member.target, !member.missing, nodes[member.place].supplied});
  if (members.findings.empty()) {
    auto question = way_to(snapshot.plan, snapshot.segment, segment, nodes, members);
    question.detail = WayDetail::with_verdicts;
    preview.way = plan_way(question);
    move_along(nodes, members.nodes, preview.way);
    excuse_unsupplied(nodes, preview.way.end);
  }
  preview.lines = times_of(plan, preview.way);
  preview.time = time_of(preview.lines, preview.way.steps.size());
  look_for_obstacles(snapshot, members, preview);
  return preview;
}

}  // namespace catwalk::rack
