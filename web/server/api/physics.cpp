// SPDX-License-Identifier: Apache-2.0
// What the physics says of settings that are in force, or might be. Read from the snapshot; the
// core hears nothing of it.
#include <algorithm>
#include <iterator>
#include <utility>
#include <vector>

#include "daemon/rack/outlook/outlook.hpp"
#include "daemon/rack/outlook/recommend.hpp"
#include "daemon/rack/outlook/what_if.hpp"
#include "daemon/rack/rules/carrier_rules.hpp"
#include "daemon/rack/rules/matrix_rules.hpp"
#include "web/server/api/acts.hpp"
#include "web/server/api/asked.hpp"
#include "web/server/api/routes.hpp"
#include "web/server/api/what_if_body.hpp"
#include "web/server/documents/render_physics.hpp"
#include "web/server/documents/render_spectrum.hpp"
#include "web/server/http/input.hpp"
#include "web/server/http/problem.hpp"

namespace catwalk::web {
namespace {

// Nobody reads it, unless somebody only stopped sending, or the daemon is about to end.
HttpResponse given_up() {
  return passing_problem(503, "given-up", "Nobody seemed to wait for this any more.",
                         std::chrono::seconds{2});
}

// Whether somebody waits for the answer, and the daemon goes on.
rack::StillWanted still_wanted(const Call& call) {
  return [gone = call.request.gone, going_on = call.desk.long_work.going_on] {
    return (gone == nullptr || !*gone) && going_on();
  };
}

HttpResponse explained(const rack::Surroundings& around, const plan::Node& node, const char* basis,
                       const plan::Settings& settings, const plan::CarrierName& carrier) {
  Json json = {{"node", node.name.text},
               {"segment", around.segment.name.text},
               {"basis", basis},
               {"settings", render(settings, *node.datasheet)}};
  add_explained(json, rack::explain(around.plan, around.segment, node, settings,
                                    rack::settings_of(around), carrier));
  return json_response(json);
}

// As the segment has the node, and all the others.
void explain_planned(const Call& call, const rack::Outlook& outlook, const plan::Node& node,
                     const plan::CarrierName& carrier) {
  const auto planned = outlook.planned();
  const auto found = planned.find(node.name);
  const auto& segment = outlook.segment().name.text;
  if (found == planned.end())
    return call.respond(not_yet("Node \"" + node.name.text + "\" has never been read, and " +
                                segment + " does not say all its settings."));
  auto findings = found->second.findings;
  if (findings.empty()) findings = rack::check_datasheet(node, found->second.settings);
  if (!findings.empty())
    return call.respond(
        problem(409, "not-of-this-type",
                segment + " has settings for node \"" + node.name.text +
                    "\" that its datasheet does not have: " + findings.front().sentence));
  call.respond(explained(outlook.surroundings_as_planned(planned),
                         *outlook.plan_as_planned().find(node.name), "planned",
                         found->second.settings, carrier));
}

bool wants_planned(const Call& call, std::vector<BadValue>& complaints) {
  const auto asked = in_query(call, "basis").name;
  if (asked && *asked != "planned" && *asked != "in-force")
    complaints.push_back({"query/basis", *asked, "in-force or planned",
                          "basis is \"" + *asked + "\"; allowed is in-force or planned."});
  return asked == "planned";
}

// Looks where there is nothing to compute with, too: what could not be counted is told in words.
void explain_node(const Call& call) {
  const auto snapshot = call.desk.gate.snapshot();
  const auto* node = snapshot->plan->find(plan::NodeName{call.names[0]});
  if (node == nullptr) return call.respond(not_found("node", call.names[0]));
  auto complaints = unknown_parameters(call.request, {"carrier", "segment", "basis"});
  const auto* segment = segment_of(*snapshot, in_query(call, "segment"), complaints);
  plan::CarrierName carrier;
  if (segment != nullptr)
    carrier = carrier_of(*snapshot->plan, *segment, *node, in_query(call, "carrier"), complaints);
  const bool as_planned = wants_planned(call, complaints);
  if (complained(call, complaints)) return;

  const rack::Outlook outlook{snapshot, *segment};
  if (as_planned) return explain_planned(call, outlook, *node, carrier);
  const auto settings = outlook.in_force(node->name);
  if (!settings) return call.respond(never_read(*node));
  const auto impossible = rack::check_datasheet(*node, *settings);
  if (!impossible.empty()) return call.respond(not_of_this_type(*node, impossible.front()));
  const auto view = snapshot->find(node->name);
  call.respond(
      explained(outlook.surroundings(), *node, view->seen ? "seen" : "wanted", *settings, carrier));
}

void recommend_node(const Call& call) {
  auto snapshot = call.desk.gate.snapshot();
  const auto* node = snapshot->plan->find(plan::NodeName{call.names[0]});
  if (node == nullptr) return call.respond(not_found("node", call.names[0]));
  auto complaints = unknown_parameters(call.request, {"segment"});
  const auto* segment = segment_of(*snapshot, in_query(call, "segment"), complaints);
  if (complained(call, complaints)) return;
  compute(
      call, call.desk.long_work.at_leisure,
      [outlook = rack::Outlook{std::move(snapshot), *segment}, node, wanted = still_wanted(call)] {
        const auto base = outlook.wanted(node->name).value_or(plan::Settings{});
        auto json =
            render(rack::recommend(outlook.surroundings(), *node, base, wanted), *node->datasheet);
        if (!wanted()) return given_up();
        json["segment"] = outlook.segment().name.text;
        return json_response(json);
      });
}

void what_if(const Call& call) {
  const auto snapshot = call.desk.gate.snapshot();
  const auto* node = snapshot->plan->find(plan::NodeName{call.names[0]});
  if (node == nullptr) return call.respond(not_found("node", call.names[0]));
  Body body{call.request.body};
  const auto ask = read_what_if(body, node->name, *node->datasheet);
  auto complaints = body.finish();
  const auto* segment = segment_of(*snapshot, {ask.segment, "/segment"}, complaints);
  plan::CarrierName carrier;
  if (segment != nullptr)
    carrier = carrier_of(*snapshot->plan, *segment, *node, {ask.carrier, "/carrier"}, complaints);
  if (complained(call, complaints)) return;

  const rack::Outlook outlook{snapshot, *segment};
  const auto base = outlook.in_force(node->name);
  if (!base) return call.respond(never_read(*node));
  const auto supposed = rack::what_if(outlook.surroundings(), *node, *base, ask.question, carrier);
  if (!supposed) return call.respond(bad_values(in_the_body(supposed.error(), ask.question)));
  Json json = {{"node", node->name.text},
               {"segment", segment->name.text},
               {"settings", render(supposed->settings, *node->datasheet)},
               {"would_be", would_be(supposed->verdict)},
               {"findings", render(supposed->verdict)}};
  add_explained(json, supposed->explained);
  if (ask.response && supposed->possible)
    json["response"] = render(rack::picture_of(*snapshot->plan, *segment, *node, supposed->settings,
                                               rack::span_of_show(*snapshot->plan)),
                              *segment, *node, supposed->settings);
  call.respond(json_response(json));
}

void recommend_segment(const Call& call) {
  auto snapshot = call.desk.gate.snapshot();
  const auto* segment = snapshot->plan->find(plan::SegmentName{call.names[0]});
  if (segment == nullptr) return call.respond(not_found("segment", call.names[0]));
  if (complained(call, unknown_parameters(call.request, {}))) return;
  compute(call, call.desk.long_work.at_leisure,
          [outlook = rack::Outlook{std::move(snapshot), *segment},
           for_each = call.desk.long_work.for_each, wanted = still_wanted(call)] {
            const auto all = rack::recommend_segment(
                outlook.plan_as_planned(), outlook.segment(),
                [&](const plan::NodeName& name) { return outlook.wanted(name); }, for_each, wanted);
            if (!wanted()) return given_up();
            Json recommendations = Json::array();
            for (const auto& recommendation : all)
              recommendations.push_back(
                  render(recommendation, *outlook.plan().find(recommendation.node)->datasheet));
            return json_response({{"segment", outlook.segment().name.text},
                                  {"recommendations", std::move(recommendations)}});
          });
}

void check_segment(const Call& call) {
  auto snapshot = call.desk.gate.snapshot();
  const auto* segment = snapshot->plan->find(plan::SegmentName{call.names[0]});
  if (segment == nullptr) return call.respond(not_found("segment", call.names[0]));
  if (complained(call, unknown_parameters(call.request, {}))) return;
  compute(call, call.desk.long_work.soon, [outlook = rack::Outlook{std::move(snapshot), *segment}] {
    const auto& plan = outlook.plan_as_planned();
    const auto planned = outlook.planned();
    const auto around = outlook.surroundings_as_planned(planned);
    // What a switch would find where it ends: what is published of bands that no node has to bring
    // is for people, and holds none.
    rack::Verdict end{rack::check_carriers(plan, outlook.segment())};
    Json nodes = Json::array();
    for (const auto& node : plan.nodes) {
      Json json = {{"node", node.name.text}};
      const auto found = planned.find(node.name);
      if (found != planned.end()) {
        const auto& [settings, findings] = found->second;
        auto verdict = rack::check(around, node, settings);
        verdict.findings.insert(verdict.findings.begin(), findings.begin(), findings.end());
        json["settings"] = render(settings, *node.datasheet);
        json["would_be"] = would_be(verdict);
        json["findings"] = render(verdict);
        end.findings.insert(end.findings.end(), verdict.findings.begin(), verdict.findings.end());
      }
      nodes.push_back(std::move(json));
    }
    Json matrices = Json::array();
    for (const auto& matrix : plan.matrices) {
      auto verdict = rack::check(around, matrix, matrix.settings);
      matrices.push_back({{"matrix", matrix.name.text},
                          {"would_be", would_be(verdict)},
                          {"findings", render(verdict)}});
      std::ranges::move(verdict.findings, std::back_inserter(end.findings));
    }
    const auto verdict = rack::check_segment(plan, outlook.segment());
    return json_response({{"segment", outlook.segment().name.text},
                          {"would_be", would_be(end)},
                          {"findings", render(verdict)},
                          {"nodes", std::move(nodes)},
                          {"matrices", std::move(matrices)}});
  });
}

constexpr Route rows_of_physics[]{
    get("nodes/{node}/explain", explain_node),
    get("nodes/{node}/recommend", recommend_node),
    post("nodes/{node}/what-if", Role::watch, what_if),
    get("segments/{segment}/recommend", recommend_segment),
    get("segments/{segment}/check", check_segment),
};

}  // namespace

std::span<const Route> physics_routes() { return rows_of_physics; }

}  // namespace catwalk::web
