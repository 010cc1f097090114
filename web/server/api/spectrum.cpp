// SPDX-License-Identifier: Apache-2.0
// Behind a picture: what a node may be set to, what it does to any frequency, and the spectrum of a
// segment. Read from the snapshot; the core hears nothing of it.
#include <utility>

#include "daemon/base/sha256.hpp"
#include "daemon/rack/outlook/outlook.hpp"
#include "daemon/rack/outlook/spectrum.hpp"
#include "web/server/api/acts.hpp"
#include "web/server/api/asked.hpp"
#include "web/server/api/routes.hpp"
#include "web/server/api/settings_query.hpp"
#include "web/server/documents/render_spectrum.hpp"
#include "web/server/http/input.hpp"
#include "web/server/http/problem.hpp"

namespace catwalk::web {
namespace {

// Are nodes being moved to another segment?
bool moves(const rack::Snapshot& snapshot) {
  if (!snapshot.switching || rack::is_end(snapshot.switching->stage)) return false;
  const auto& now = *snapshot.switching;
  const bool not_begun =
      now.stage == rack::SwitchStage::planning || now.stage == rack::SwitchStage::recording;
  return !(not_begun && now.step == 0) && snapshot.plan->find(now.left) != nullptr &&
         snapshot.plan->find(now.entered) != nullptr;
}

SpectrumKey key_of(const rack::SnapshotPtr& snapshot, const plan::Segment& segment) {
  const rack::Outlook outlook{snapshot, segment};
  SpectrumKey key{snapshot->plan, segment.name, snapshot->segment, {}, {}, {}};
  if (moves(*snapshot)) {
    key.active = snapshot->switching->left;
    key.entered = snapshot->switching->entered;
  }
  for (const auto& node : snapshot->nodes) {
    auto settings = outlook.in_force(node->name);
    if (settings) settings->label.clear();  // changes nothing here
    key.in_force.push_back(std::move(settings));
    key.seen.push_back(node->seen.has_value());
  }
  return key;
}

HttpResponse spectrum_for(const SpectrumKey& key, const rack::ForEach& for_each) {
  const auto& plan = *key.plan;
  const auto& segment = *plan.find(key.segment);
  const auto span = rack::span_of_show(plan);
  const auto settings = [&](const plan::NodeName& name) -> std::optional<plan::Settings> {
    for (std::size_t i = 0; i < plan.nodes.size(); ++i)
      if (plan.nodes[i].name == name) return key.in_force[i];
    return std::nullopt;
  };
  const auto live = rack::live_in(segment, *plan.find(key.active),
                                  key.entered ? plan.find(*key.entered) : nullptr);
  auto response = json_response(render_spectrum(
      plan, segment, span, live, rack::spectrum_of(plan, segment, settings, span, for_each),
      key.in_force, key.seen));
  // Weak: it is the same however it is coded.
  response.headers.emplace_back("ETag", "W/\"" + sha256_hex(response.body).substr(0, 32) + '"');
  return response;
}

// As it is, or 304 for whoever has it already.
HttpResponse unless_known(const HttpResponse& response, const std::string& known) {
  for (const auto& [name, tag] : response.headers)
    if (name == "ETag" && names_tag(known, tag)) return {304, "", "", {{"ETag", tag}}};
  return response;
}

void get_allowed(const Call& call) {
  const auto snapshot = call.desk.gate.snapshot();
  const auto* node = snapshot->plan->find(plan::NodeName{call.names[0]});
  if (node == nullptr) return call.respond(not_found("node", call.names[0]));
  if (complained(call, unknown_parameters(call.request, {}))) return;
  call.respond(json_response(render_allowed(*snapshot->plan, *node)));
}

void get_response(const Call& call) {
  const auto snapshot = call.desk.gate.snapshot();
  const auto* node = snapshot->plan->find(plan::NodeName{call.names[0]});
  if (node == nullptr) return call.respond(not_found("node", call.names[0]));
  auto complaints = unknown_parameters(call.request, settings_in_query);
  const auto patch = read_settings_query(call.request, *node->datasheet, complaints);
  if (complained(call, complaints)) return;

  const rack::Outlook outlook{snapshot, snapshot->active()};
  auto base = outlook.wanted(node->name);
  if (!base) base = outlook.in_force(node->name);
  if (!base) return call.respond(never_read(*node));
  const auto settings = rack::propose(*node, *base, patch).settings;
  const auto impossible = rack::check_datasheet(*node, settings);
  if (!impossible.empty()) {
    auto asked = patch.empty() ? std::vector<BadValue>{}
                               : in_the_query(impossible, call.request, *node->datasheet);
    return call.respond(asked.empty() ? not_of_this_type(*node, impossible.front())
                                      : bad_values(asked));
  }
  const auto span = rack::span_of_show(*snapshot->plan);
  const auto& segment = snapshot->active();
  call.respond(
      json_response(render(rack::picture_of(*snapshot->plan, segment, *node, settings, span),
                           segment, *node, settings)));
}

void get_spectrum(const Call& call) {
  const auto snapshot = call.desk.gate.snapshot();
  auto complaints = unknown_parameters(call.request, {"segment"});
  const auto* segment = segment_of(*snapshot, in_query(call, "segment"), complaints);
  if (complained(call, complaints)) return;

  const auto key = key_of(snapshot, *segment);
  const bool is_made = call.desk.spectra.ask(
      key, [respond = call.respond, known = std::string{call.request.header("if-none-match")}](
               const HttpResponse& response) { respond(unless_known(response, known)); });
  if (is_made) return;
  const auto run = [key, for_each = call.desk.long_work.for_each] {
    return spectrum_for(key, for_each);
  };
  const bool taken = call.desk.long_work.soon(
      run,
      [&desk = call.desk, key](const HttpResponse& response) { desk.spectra.fill(key, response); });
  if (!taken) call.desk.spectra.give_up(key, too_much_to_compute());
}

constexpr Route rows_of_spectrum[]{
    get("nodes/{node}/allowed", get_allowed),
    get("nodes/{node}/response", get_response),
    get("spectrum", get_spectrum),
};

}  // namespace

std::span<const Route> spectrum_routes() { return rows_of_spectrum; }

}  // namespace catwalk::web
