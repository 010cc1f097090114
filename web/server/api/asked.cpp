// SPDX-License-Identifier: Apache-2.0
#include "web/server/api/asked.hpp"

#include "daemon/rack/values/carriers_at.hpp"
#include "daemon/rack/values/outcome.hpp"
#include "daemon/rack/values/wording.hpp"
#include "web/server/documents/render.hpp"
#include "web/server/http/problem.hpp"

namespace catwalk::web {
namespace {

BadValue bad_name(const std::string& what, const Asked& asked, const std::string& allowed) {
  return {asked.pointer, *asked.name, allowed,
          what + " is \"" + *asked.name + "\"; allowed is " + allowed + "."};
}

}  // namespace

Asked in_query(const Call& call, const std::string& name) {
  const auto found = call.request.query.find(name);
  if (found == call.request.query.end()) return {{}, "query/" + name};
  return {found->second, "query/" + name};
}

std::vector<std::string> listed_in(const Asked& asked) {
  std::vector<std::string> names;
  if (!asked.name) return names;
  for (std::size_t at = 0; at <= asked.name->size();) {
    const auto end = std::min(asked.name->find(',', at), asked.name->size());
    names.push_back(asked.name->substr(at, end - at));
    at = end + 1;
  }
  return names;
}

const plan::Segment* segment_of(const rack::Snapshot& snapshot, const Asked& asked,
                                std::vector<BadValue>& complaints) {
  if (!asked.name) return &snapshot.active();
  if (const auto* found = snapshot.plan->find(plan::SegmentName{*asked.name})) return found;
  std::string names;
  for (const auto& segment : snapshot.plan->segments)
    names += (names.empty() ? "one of " : ", ") + segment.name.text;
  complaints.push_back(bad_name("segment", asked, names));
  return nullptr;
}

plan::SegmentName segment_to_leave(const rack::Snapshot& snapshot, const Asked& asked,
                                   const plan::SegmentName& entered,
                                   std::vector<BadValue>& complaints) {
  const auto& last = snapshot.switching;
  const bool was_reached = last && last->entered == entered && last->left != entered &&
                           last->stage == rack::SwitchStage::done;
  const plan::SegmentName left{asked.name.value_or(
      snapshot.segment == entered && was_reached ? last->left.text : snapshot.segment.text)};
  const bool is_known = snapshot.plan->find(left) != nullptr;
  if (is_known && left != entered) return left;
  std::vector<std::string> others;
  for (const auto& segment : snapshot.plan->segments)
    if (segment.name != entered) others.push_back(segment.name.text);
  const auto allowed = others.empty() ? "no segment: there is no other one" : rack::listed(others);
  complaints.push_back(
      {asked.pointer, left.text, allowed,
       (is_known ? "From " + left.text + " to itself there is no way; allowed is "
                 : "There is no segment \"" + left.text + "\" in this show; allowed is ") +
           allowed + '.'});
  return left;
}

plan::CarrierName carrier_of(const plan::RackPlan& plan, const plan::Segment& segment,
                             const plan::Node& node, const Asked& asked,
                             std::vector<BadValue>& complaints) {
  if (!asked.name) return {};
  std::string names;
  for (const auto& carrier : rack::own_carriers(plan, segment, node.name)) {
    if (carrier.text == *asked.name) return carrier;
    names += (names.empty() ? "one of " : ", ") + carrier.text;
  }
  if (names.empty())
    names = "none: " + node.name.text + " has no carrier to hear in " + segment.name.text;
  complaints.push_back(bad_name("carrier", asked, names));
  return {};
}

HttpResponse not_yet(const std::string& detail) {
  return problem_with(404, "not-found", detail,
                      {{"outcome", rack::name_of(rack::Outcome::refused)}});
}

HttpResponse never_read(const plan::Node& node) {
  return not_yet("Node \"" + node.name.text +
                 "\" has never been read, so nothing is in force on it yet.");
}

HttpResponse not_of_this_type(const plan::Node& node, const rack::Finding& finding) {
  return problem(409, "not-of-this-type",
                 "Node \"" + node.name.text +
                     "\" is in settings that its datasheet does not have: " + finding.sentence);
}

}  // namespace catwalk::web
