// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/switching/members.hpp"

#include <algorithm>
#include <iterator>

#include "daemon/rack/rules.hpp"
#include "daemon/rack/wording.hpp"

namespace catwalk::rack {

std::optional<plan::Settings> passive_without_supply(const std::optional<Seen>& seen) {
  if (!seen) return std::nullopt;
  auto settings = seen->settings;
  settings.power = settings.power && seen->reading.telemetry.powered;
  return settings;
}

NodeNow now_of(const plan::NodeName& name, const std::optional<Wanted>& wanted,
               const std::optional<Seen>& seen, Link link, bool uncertain) {
  NodeNow now{name, {}, {}, {}, seen && seen->reading.telemetry.powered};
  if (wanted) now.wanted = wanted->settings;
  if (seen) now.seen = seen->settings;
  if (link == Link::answering && !uncertain) now.in_force = passive_without_supply(seen);
  return now;
}

std::string do_not_answer(const std::vector<std::string>& names) {
  return listed(names) + (names.size() == 1 ? " does not answer" : " do not answer");
}

std::string all_or_nothing(const std::vector<std::string>& missing) {
  return do_not_answer(missing) +
         ", and this segment is all or nothing (if_a_node_fails: roll back).";
}

Members members_of(const plan::RackPlan& plan, const plan::Segment& segment,
                   const std::vector<NodeNow>& nodes) {
  Members members;
  for (std::size_t i = 0; i < nodes.size(); ++i) {
    const auto& node = nodes[i];
    const auto patch = segment.settings.find(node.name);
    if (patch == segment.settings.end()) continue;
    if (!node.wanted) {
      members.missing.push_back(node.name.text);
      continue;
    }
    auto [target, findings] = propose(plan.nodes[i], *node.wanted, patch->second);
    std::ranges::move(findings, std::back_inserter(members.findings));
    if (node.in_force && node.seen == target) continue;
    if (!node.in_force) members.missing.push_back(node.name.text);
    members.nodes.push_back({i, node.seen.value_or(*node.wanted), target, !node.in_force});
  }
  return members;
}

WayQuestion way_to(std::shared_ptr<const plan::RackPlan> plan, const plan::SegmentName& left,
                   const plan::SegmentName& entered, const std::vector<NodeNow>& nodes,
                   const Members& members) {
  WayQuestion question{std::move(plan), left, entered, {}, false, WayDetail::steps_and_end};
  for (const auto& node : nodes) question.nodes.push_back({node.name, node.in_force, {}});
  for (const auto& member : members.nodes)
    if (!member.missing && nodes[member.place].supplied)
      question.nodes[member.place].target = member.target;
  return question;
}

void move_along(const std::vector<NodeNow>& nodes, const std::vector<Member>& members, Way& way) {
  for (const auto& member : members) {
    const auto& node = nodes[member.place];
    if (member.missing || node.supplied || node.seen == member.target) continue;
    if (way.steps.empty()) way.steps.emplace_back();
    way.steps.back().moves.push_back({node.name, MovePart::whole, node.seen, member.target});
  }
}

void excuse_unsupplied(const std::vector<NodeNow>& nodes, Verdict& end) {
  for (auto& finding : end.findings) {
    if (finding.rule == Rule::diversity_dark) continue;
    const auto found = std::ranges::find(nodes, finding.node, &NodeNow::name);
    if (found != nodes.end() && found->seen && !found->supplied) finding.severity = Severity::note;
  }
}

}  // namespace catwalk::rack
