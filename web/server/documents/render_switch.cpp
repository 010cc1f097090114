// SPDX-License-Identifier: Apache-2.0
#include "web/server/documents/render_switch.hpp"

#include "daemon/base/overloaded.hpp"
#include "web/server/documents/switched_words.hpp"

namespace catwalk::web {
namespace {

double milliseconds(std::chrono::microseconds time) {
  return static_cast<double>(time.count()) / 1000.0;
}

Json render_member(const rack::SwitchedNode& node, const SwitchedWords& words,
                   const plan::Device& device) {
  Json json = {{"node", node.node.text},
               {"where", rack::name_of(node.where)},
               {"progress", rack::name_of(node.progress)},
               {"level", name_of(words.level)},
               {"word", words.word},
               {"steps_done", words.steps_done},
               {"before", render(node.before, device)},
               {"target", render(node.target, device)}};
  if (!node.reason.empty()) json["reason"] = node.reason;
  if (!node.what_to_do.empty()) json["what_to_do"] = node.what_to_do;
  return json;
}

Json render_move(const rack::Move& move, const plan::Device& device) {
  Json json = {{"node", move.node.text}, {"part", rack::name_of(move.part)}};
  if (move.from) json["from"] = render(*move.from, device);
  json["to"] = render(move.to, device);
  return json;
}

// "2026-08-14 20:15:00"
std::string local_text(std::chrono::local_seconds time) {
  const auto day = std::chrono::floor<std::chrono::days>(time);
  return plan::in_words(std::chrono::year_month_day{day}) + ' ' + plan::in_words(time - day);
}

Json render_ticked(const rack::Ticked& ticked) {
  return {{"who", ticked.who}, {"at", time_text(ticked.at)}};
}

Json render_row(const rack::CrewRow& row) {
  Json json = {{"key", row.key},
               {"act", rack::name_of(row.act)},
               {"moment", rack::name_of(row.moment)},
               {"carrier", row.carrier.text},
               {"use", plan::name_of(row.use)},
               {"what", row.what()}};
  if (row.from) json["from_mhz"] = row.from->megahertz();
  if (row.to) json["to_mhz"] = row.to->megahertz();
  Json receivers = Json::array();
  for (const auto& receiver : row.receivers) receivers.push_back(receiver.text);
  json["receivers"] = std::move(receivers);
  if (!row.held_by.empty()) json["held_by"] = row.held_by;
  if (!row.otherwise.empty()) json["otherwise"] = row.otherwise;
  if (row.ticked) json["ticked"] = render_ticked(*row.ticked);
  return json;
}

Json render_trigger(const plan::Trigger& trigger) {
  return std::visit(Overloaded{
                        [](const plan::ByHand&) -> Json {
                          return {{"by", "hand"}};
                        },
                        [](const plan::AtClock& at) -> Json {
                          Json json = {{"by", "clock"}, {"at", plan::in_words(at.time.of_day)}};
                          if (at.time.date) json["date"] = plan::in_words(*at.time.date);
                          return json;
                        },
                        [](const plan::AfterSegment& after) -> Json {
                          return {{"by", "duration"},
                                  {"after", after.segment.text},
                                  {"seconds", after.by.count()}};
                        },
                        [](const plan::ByMessage& message) -> Json {
                          return {{"by", "message"}, {"text", message.text}};
                        },
                    },
                    trigger);
}

Json render_follows(const rack::Follows& follows, const plan::TimeZone& zone) {
  Json json = {{"cue", follows.cue.name.text},
               {"segment", follows.cue.segment.text},
               {"trigger", render_trigger(follows.cue.trigger)},
               {"held_by_lock", follows.held_by_lock}};
  if (follows.due) {
    json["due_at"] = time_text(*follows.due);
    json["due_local"] =
        local_text(zone.local(std::chrono::floor<std::chrono::seconds>(*follows.due)));
  }
  return json;
}

Json render_prospect(const rack::Prospect& prospect) {
  return {{"would_be", rack::name_of(prospect.would_be)}, {"obstacles", prospect.obstacles}};
}

// What going by hand comes to, segment by segment.
Json render_going(const rack::Snapshot& snapshot) {
  Json all = Json::array();
  for (const auto& segment : snapshot.plan->segments) {
    const auto cue = snapshot.cue_to(segment.name);
    const bool is_held = snapshot.is_held_by_lock(cue);
    Json next = {{"segment", segment.name.text},
                 {"may_go", !is_held && snapshot.control == rack::Control::ours},
                 {"held_by_lock", is_held}};
    if (cue) next["cue"] = cue->text;
    all.push_back(std::move(next));
  }
  return all;
}

}  // namespace

Json render(const rack::SwitchView& view, const plan::RackPlan& plan,
            const rack::SwitchView* since) {
  Json json = {{"id", view.id},
               {"from", view.left.text},
               {"to", view.entered.text},
               {"triggered_by", rack::name_of(view.triggered_by)},
               {"who", view.who},
               {"why", view.why},
               {"stage", rack::name_of(view.stage)},
               {"ended", rack::is_end(view.stage)},
               {"restores", view.restores},
               {"back", view.back},
               {"step", view.step},
               {"steps", view.steps},
               {"requested_at", time_text(view.requested)}};
  if (view.ended) json["ended_at"] = time_text(*view.ended);
  if (!view.reason.empty()) json["reason"] = view.reason;
  if (!view.not_ticked.empty()) json["not_ticked"] = view.not_ticked;
  Json nodes = Json::array();
  for (std::size_t i = 0; i < view.nodes.size(); ++i) {
    const auto words = switched_words(*view.nodes[i], view);
    // The same node is told in other words when the switch turns back, and when it ends.
    const bool told = since != nullptr && i < since->nodes.size() &&
                      since->nodes[i] == view.nodes[i] &&
                      switched_words(*since->nodes[i], *since) == words;
    const auto device = plan::device_named(plan, view.nodes[i]->node);
    if (!told && device) nodes.push_back(render_member(*view.nodes[i], words, *device));
  }
  json["nodes"] = std::move(nodes);
  if (since == nullptr || since->verdict != view.verdict)
    json["findings"] = view.verdict ? render(*view.verdict) : Json::array();
  return json;
}

Json render_crew(const plan::SegmentName& left, const plan::SegmentName& entered,
                 const std::vector<rack::CrewRow>& rows) {
  Json all = Json::array();
  for (const auto& row : rows) all.push_back(render_row(row));
  Json json = {{"from", left.text}, {"to", entered.text}, {"rows", std::move(all)}};
  if (const auto open = rack::not_ticked(rows); !open.empty()) json["not_ticked"] = open;
  return json;
}

Json render(const rack::CrewTick& tick) {
  Json json = render_ticked(tick.ticked);
  json["from"] = tick.left;
  json["to"] = tick.entered;
  json["row"] = tick.row;
  return json;
}

Json render(const rack::Preview& preview, const plan::RackPlan& plan) {
  Json nodes = Json::array();
  for (const auto& node : preview.nodes) {
    const auto device = plan::device_named(plan, node.node);
    if (!device) continue;
    nodes.push_back({{"node", node.node.text},
                     {"line", node.line.text},
                     {"before", render(node.before, *device)},
                     {"target", render(node.target, *device)},
                     {"answers", node.answers},
                     {"left_out", node.left_out},
                     {"supplied", node.supplied}});
  }
  Json steps = Json::array();
  for (const auto& step : preview.way.steps) {
    Json moves = Json::array();
    for (const auto& move : step.moves)
      if (const auto device = plan::device_named(plan, move.node))
        moves.push_back(render_move(move, *device));
    steps.push_back({{"moves", std::move(moves)},
                     {"in_flight", render(step.in_flight)},
                     {"after", render(step.after)}});
  }
  Json lines = Json::array();
  for (const auto& line : preview.lines) {
    Json each = Json::array();
    for (const auto time : line.steps) each.push_back(milliseconds(time));
    lines.push_back({{"line", line.line.text},
                     {"steps_ms", std::move(each)},
                     {"total_ms", milliseconds(line.total)}});
  }
  Json json = {{"from", preview.left.text},
               {"to", preview.entered.text},
               {"from_now", preview.from_now},
               {"would_be", rack::name_of(preview.prospect.would_be)},
               {"obstacles", preview.prospect.obstacles},
               {"missing", preview.missing},
               {"nodes", std::move(nodes)},
               {"steps", std::move(steps)},
               {"at_least_steps", preview.way.at_least_steps},
               {"clean", preview.way.clean()},
               {"least_bad", preview.way.least_bad},
               {"breaches", render(preview.way.breaches)},
               {"before", render(preview.way.before)},
               {"end", render(preview.way.end)},
               {"lines", std::move(lines)},
               {"time_ms", milliseconds(preview.time)}};
  if (preview.cue) json["cue"] = preview.cue->text;
  json["if_a_node_fails"] = plan::name_of(preview.if_a_node_fails);
  if (preview.if_armed) json["if_armed"] = render_prospect(*preview.if_armed);
  if (preview.follows) json["follows"] = render_follows(*preview.follows, plan.running_order.zone);
  json["crew_sheet"] = render_crew(preview.left, preview.entered, preview.crew);
  return json;
}

Json render(const rack::Armed& armed) {
  Json json = {{"cue", armed.cue.text}, {"who", armed.who}, {"until", time_text(armed.until)}};
  if (armed.waiver) json["waiver"] = {{"who", armed.waiver->who}, {"reason", armed.waiver->reason}};
  if (!armed.without.empty()) {
    Json names = Json::array();
    for (const auto& node : armed.without) names.push_back(node.text);
    json["without"] = std::move(names);
  }
  if (!armed.not_ticked.empty()) json["not_ticked"] = armed.not_ticked;
  if (armed.prospect) {
    json["would_be"] = rack::name_of(armed.prospect->would_be);
    json["obstacles"] = armed.prospect->obstacles;
  }
  return json;
}

Json render_order(const rack::Snapshot& snapshot) {
  const auto& order = snapshot.plan->running_order;
  const auto& view = snapshot.order;
  Json cues = Json::array();
  for (const auto& cue : order.cues)
    cues.push_back({{"name", cue.name.text},
                    {"segment", cue.segment.text},
                    {"trigger", render_trigger(cue.trigger)}});
  Json waiting = Json::array();
  for (const auto& segment : view.waiting) waiting.push_back(segment.text);
  Json json = {{"cues", std::move(cues)},
               {"zone", order.zone.name},
               {"second_trigger", plan::name_of(order.second_trigger)},
               {"after_restart", plan::name_of(order.after_restart)},
               {"arming_s", order.arming_lasts.count()},
               {"may_arm", snapshot.control == rack::Control::ours},
               {"going_to", render_going(snapshot)},
               {"waiting", std::move(waiting)}};
  if (view.at) json["at"] = view.at->text;
  if (view.next) json["next"] = view.next->text;
  json["next_held_by_lock"] = view.next && snapshot.is_held_by_lock(view.next);
  if (view.due) {
    json["due_at"] = time_text(*view.due);
    json["due_local"] =
        local_text(order.zone.local(std::chrono::floor<std::chrono::seconds>(*view.due)));
  }
  if (!view.held_because.empty()) json["held_because"] = view.held_because;
  if (view.armed) json["armed"] = render(*view.armed);
  if (view.reload_armed)
    json["reload_armed"] = {{"who", view.reload_armed->who},
                            {"until", time_text(view.reload_armed->until)}};
  return json;
}

}  // namespace catwalk::web
