// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/way/members.hpp"

#include <algorithm>
#include <iterator>

#include "daemon/plan/routed.hpp"
#include "daemon/rack/rules/supply_rules.hpp"
#include "daemon/rack/values/settings_words.hpp"
#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

// Do these make whole settings of a node that nothing is known of?
bool says_everything(const plan::SettingsPatch& patch, const plan::Datasheet& sheet) {
  if (!patch.gain || !patch.filter) return false;
  const auto filter = sheet.filter_index(*patch.filter);
  return patch.centre || (filter && !sheet.filters[*filter].tuning);
}

}  // namespace

std::optional<NodeProposal> planned_in(const plan::Segment& segment, const plan::Device& device,
                                       const std::optional<plan::NodeSettings>& wanted) {
  if (wanted) return propose(device, *wanted, segment);
  const auto* node = device.amplifier();
  const auto found = segment.settings.find(device.name());
  if (node == nullptr || found == segment.settings.end() ||
      !says_everything(found->second, *node->datasheet))
    return std::nullopt;
  return propose(device, plan::Settings{}, segment);
}

std::optional<plan::NodeSettings> in_force(const std::optional<Seen>& seen,
                                           const std::optional<Wanted>& wanted) {
  if (!seen) return wanted ? std::optional{wanted->settings} : std::nullopt;
  return passive_without_supply(seen);
}

std::optional<plan::NodeSettings> passive_without_supply(const std::optional<Seen>& seen) {
  if (!seen) return std::nullopt;
  auto settings = seen->settings;
  if (auto* amplifier = settings.amplifier())
    amplifier->power = amplifier->power && seen->reading.telemetry.powered;
  return settings;
}

NodeNow now_of(const plan::NodeName& name, const std::optional<Wanted>& wanted,
               const std::optional<Seen>& seen, Link link, bool uncertain, bool held) {
  NodeNow now{name, {}, {}, {}, seen && seen->reading.telemetry.powered, held};
  if (wanted) now.wanted = wanted->settings;
  if (seen) now.seen = seen->settings;
  if (link == Link::answering && !uncertain && !held) now.in_force = passive_without_supply(seen);
  return now;
}

std::string do_not_answer(const Members& members) {
  auto silent = members.missing;
  std::erase_if(silent, [&](const std::string& name) {
    return std::ranges::find(members.held, name) != members.held.end();
  });
  std::string words;
  if (!silent.empty())
    words = listed(silent) + (silent.size() == 1 ? " does not answer" : " do not answer");
  if (members.held.empty()) return words;
  return words + (words.empty() ? "" : ", and ") + listed(members.held) +
         (members.held.size() == 1 ? " is another controller's" : " are another controller's");
}

Outcome outcome_of_missing(const Members& members) {
  return members.held.size() == members.missing.size() ? Outcome::refused : Outcome::unreachable;
}

std::string all_or_nothing(const Members& members) {
  return do_not_answer(members) +
         ", and this segment is all or nothing (if_a_node_fails: roll back).";
}

Members members_of(const plan::RackPlan& plan, const plan::Segment& segment,
                   const std::vector<NodeNow>& nodes, const std::vector<plan::NodeName>& without) {
  Members members;
  for (std::size_t i = 0; i < nodes.size(); ++i) {
    const auto& node = nodes[i];
    if (!is_set_in(segment, node.name)) continue;
    const bool left_out = std::ranges::find(without, node.name) != without.end();
    if (!node.wanted && left_out) continue;
    const auto missing = [&members, &node] {
      members.missing.push_back(node.name.text);
      if (node.held) members.held.push_back(node.name.text);
    };
    if (!node.wanted) {
      missing();
      continue;
    }
    auto [target, findings] = propose(plan::device_at(plan, i), *node.wanted, segment);
    if (left_out) {
      // What the datasheet does not know is not wanted of it either.
      if (!findings.empty()) target = *node.wanted;
      members.nodes.push_back(
          {i, node.seen.value_or(*node.wanted), target, true, true, {}, !node.in_force});
      continue;
    }
    std::ranges::move(findings, std::back_inserter(members.findings));
    if (node.in_force && node.seen == target) continue;
    if (!node.in_force) missing();
    members.nodes.push_back({i, node.seen.value_or(*node.wanted), target, !node.in_force});
  }
  find_those_fed(plan, members.nodes);
  return members;
}

namespace {

// Routed as the members will have it. Null: none of them is a matrix. One without supply feeds
// nobody, however it is set.
std::shared_ptr<const plan::RackPlan> routed_then(const plan::RackPlan& plan,
                                                  const std::vector<Member>& members) {
  plan::MatricesNow moved;
  for (const auto& member : members)
    if (const auto* matrix = member.target.matrix(); matrix != nullptr && !member.missing) {
      const auto& unit = *plan::device_at(plan, member.place).matrix();
      moved.emplace(unit.name, plan::MatrixNow{*matrix, unit.supplied});
    }
  return moved.empty() ? nullptr : plan::routed(plan, moved);
}

}  // namespace

void find_those_fed(const plan::RackPlan& plan, std::vector<Member>& members) {
  const auto then = routed_then(plan, members);
  if (!then) return;
  for (auto& member : members)
    if (member.place < plan.nodes.size())
      member.gets_supply = !is_supplied(plan, plan.nodes[member.place]) &&
                           is_supplied(*then, then->nodes[member.place]);
}

Members members_to_restore(const std::vector<NodeNow>& nodes,
                           const std::vector<plan::NodeName>& only) {
  Members members;
  for (std::size_t i = 0; i < nodes.size(); ++i) {
    const auto& node = nodes[i];
    if (!only.empty() && std::ranges::find(only, node.name) == only.end()) continue;
    if (!node.wanted || !node.in_force || node.seen == node.wanted) continue;
    members.nodes.push_back({i, *node.seen, *node.wanted, false, false});
  }
  return members;
}

void keep_findings_on(const std::vector<NodeNow>& nodes, const Members& members, Verdict& end) {
  std::erase_if(end.findings, [&](const Finding& finding) {
    return std::ranges::none_of(members.nodes, [&](const Member& member) {
      return nodes[member.place].name == finding.node;
    });
  });
}

void leave_out_refused(const plan::RackPlan& plan, const plan::Segment& segment,
                       const std::vector<NodeNow>& nodes, Members& members) {
  // As the rack will be: each that is restored where it is wanted, the others where they are.
  const auto then = routed_then(plan, members.nodes);
  const auto& there = then ? *then : plan;
  const Surroundings around{there, segment,
                            [&](const plan::NodeName& name) {
                              const auto found = std::ranges::find(nodes, name, &NodeNow::name);
                              PossibleSettings states;
                              if (found == nodes.end() || !found->in_force) return states;
                              const auto also = [&states](const plan::NodeSettings& settings) {
                                if (const auto* own = settings.amplifier()) states.push_back(*own);
                              };
                              also(*found->in_force);
                              for (const auto& member : members.nodes)
                                if (nodes[member.place].name == name) also(member.target);
                              return states;
                            },
                            false};
  for (auto& member : members.nodes) {
    const auto verdict = check(around, plan::device_at(there, member.place), member.target);
    if (!verdict.refuses()) continue;
    const auto first = std::ranges::find(verdict.findings, Severity::refuse, &Finding::severity);
    member.missing = true;
    member.refused = "The rules refuse by now what is wanted of it: " + first->sentence;
  }
}

NothingToRestore nothing_to_restore(const std::vector<NodeNow>& nodes,
                                    const std::vector<plan::NodeName>& only) {
  std::vector<std::string> unknown;
  std::size_t concerned = 0;
  for (const auto& node : nodes) {
    if (!only.empty() && std::ranges::find(only, node.name) == only.end()) continue;
    ++concerned;
    if (!node.in_force) unknown.push_back(node.name.text);
  }
  const bool is_known = only.empty() ? unknown.size() < concerned : unknown.empty();
  if (!is_known)
    return {Outcome::unreachable, "Whether " + listed(unknown) +
                                      (unknown.size() == 1 ? " shows" : " show") +
                                      " what is wanted is not known: nothing was heard of " +
                                      (unknown.size() == 1 ? "it." : "them.")};
  return {Outcome::done,
          only.empty()
              ? "Every node of ours that answers shows what is wanted of it: there is "
                "nothing to bring back."
              : "All nodes that are named show what is wanted of them: there is nothing to "
                "bring back."};
}

namespace {

// "truss is left out: it stays as it is, …, and is wanted at …."
std::string left_out_in_words(const plan::Device& device, const Member& member) {
  return device.name().text + " is left out: it stays as it is, " +
         in_words(member.before, device) + ", and is wanted at " + in_words(member.target, device) +
         "." + (member.unheard ? " What it does there is not known, and was not checked." : "");
}

}  // namespace

void tell_left_out(const plan::RackPlan& plan, const Members& members,
                   const std::vector<plan::NodeName>& without, Verdict& end) {
  const auto find_left_out = [&](const plan::NodeName& name) {
    return std::ranges::find_if(members.nodes, [&](const Member& member) {
      return member.left_out && plan::device_at(plan, member.place).name() == name;
    });
  };
  // A node that the segment says nothing of is left where it is by everybody: not by who signs.
  const auto is_left_out = [&](const plan::NodeName& name) {
    return std::ranges::find(without, name) != without.end() &&
           find_left_out(name) != members.nodes.end();
  };
  for (auto& finding : end.findings)
    if (finding.rule == Rule::carrier_outside_window && finding.severity == Severity::refuse &&
        is_left_out(finding.node))
      finding.severity = Severity::caution;
  for (const auto& name : without) {
    if (plan.find(name) == nullptr && plan.find_matrix(name) == nullptr) continue;
    const auto member = find_left_out(name);
    end.findings.push_back(
        {Rule::node_left_out,
         Severity::caution,
         name,
         {},
         {},
         member == members.nodes.end()
             ? name.text + " is left out; there is nothing to move it to, or it was never met."
             : left_out_in_words(plan::device_at(plan, member->place), *member)});
  }
}

std::string left_out_and_refused(const std::vector<plan::NodeName>& without, const Verdict& end) {
  std::vector<std::string> names;
  for (const auto& name : without)
    if (std::ranges::any_of(end.findings, [&](const Finding& finding) {
          return finding.node == name && finding.severity == Severity::refuse &&
                 finding.rule != Rule::diversity_dark;
        }))
      names.push_back(name.text);
  if (names.empty()) return {};
  return listed(names) + (names.size() == 1 ? ", which is" : ", which are") +
         " left out, may not stay so there: set power=off or other settings first, or do not "
         "leave " +
         (names.size() == 1 ? "it out." : "them out.");
}

WayQuestion way_to(std::shared_ptr<const plan::RackPlan> plan, const plan::SegmentName& left,
                   const plan::SegmentName& entered, const std::vector<NodeNow>& nodes,
                   const Members& members) {
  WayQuestion question{std::move(plan), left, entered, {}, false, WayDetail::steps_and_end};
  for (const auto& node : nodes) question.nodes.push_back({node.name, node.in_force, {}});
  for (const auto& member : members.nodes)
    if (!member.missing && (nodes[member.place].supplied || member.gets_supply))
      question.nodes[member.place].target = member.target;
  return question;
}

void move_along(const std::vector<NodeNow>& nodes, const std::vector<Member>& members, Way& way) {
  for (const auto& member : members) {
    const auto& node = nodes[member.place];
    const bool has_moved = node.supplied || member.gets_supply || node.seen == member.target;
    if (member.missing || has_moved) continue;
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

Prospect prospect_of(const plan::Segment& segment, const Members& members, const Way& way,
                     bool is_signed) {
  Prospect prospect;
  const auto obstacle = [&](Outcome outcome, std::string sentence) {
    if (prospect.good()) prospect.would_be = outcome;
    prospect.obstacles.push_back(std::move(sentence));
  };
  if (!members.missing.empty()) {
    if (segment.if_a_node_fails == plan::IfNodeFails::go_on)
      prospect.obstacles.push_back(do_not_answer(members) + ": the switch would go on without.");
    else
      obstacle(outcome_of_missing(members), all_or_nothing(members));
  }
  for (const auto& finding : members.findings) obstacle(Outcome::refused, finding.sentence);
  if (way.end.refuses()) obstacle(Outcome::refused, "The rules refuse where it would end.");
  std::vector<plan::NodeName> left_out;
  for (const auto& finding : way.end.findings)
    if (finding.rule == Rule::node_left_out) left_out.push_back(finding.node);
  if (auto sentence = left_out_and_refused(left_out, way.end); !sentence.empty())
    obstacle(Outcome::refused, std::move(sentence));
  if (way.breaches.refuses())
    obstacle(Outcome::refused, "There is no way that is not worse than either end.");
  // Said last, and only where nothing else is in the way.
  if (prospect.good() && !is_signed && (way.end.needs_waiver() || way.breaches.needs_waiver()))
    obstacle(Outcome::needs_waiver, "There are cautions: a named person has to say why to go on.");
  return prospect;
}

}  // namespace catwalk::rack
