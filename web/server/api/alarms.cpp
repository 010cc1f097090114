// SPDX-License-Identifier: Apache-2.0
// The alarms: looked at, acknowledged, shelved.
#include <optional>
#include <utility>
#include <vector>

#include "web/server/api/acts.hpp"
#include "web/server/api/routes.hpp"
#include "web/server/documents/render_alarms.hpp"
#include "web/server/http/input.hpp"

namespace catwalk::web {
namespace {

HttpResponse as_it_is(const rack::Answer& answer, const rack::Snapshot& snapshot) {
  auto json = render(*answer.alarm, *snapshot.alarms);
  if (!answer.detail.empty()) json["detail"] = answer.detail;
  return json_response(json);
}

// Answered with the alarm as it is then.
void act_on_alarm(const Call& call, rack::Event event) {
  call.desk.gate.ask(std::move(event),
                     [&desk = call.desk, respond = call.respond](const rack::Answer& answer) {
                       respond(answer.outcome == rack::Outcome::done && answer.alarm
                                   ? as_it_is(answer, *desk.gate.snapshot())
                                   : respond_to(answer, *desk.gate.snapshot(), desk.clock()));
                     });
}

// The alarm in the path. Nothing: what was wrong with that, or with the body, has been answered.
std::optional<rack::AlarmId> alarm_named(const Call& call,
                                         const std::vector<BadValue>& complaints) {
  if (complained(call, complaints)) return std::nullopt;
  const auto alarm = parse_whole(call.names[0]);
  if (!alarm) call.respond(not_found("alarm", call.names[0]));
  return alarm;
}

void list_alarms(const Call& call) {
  call.respond(json_response({{"alarms", render_alarms(*call.desk.gate.snapshot()->alarms)}}));
}

void acknowledge_many(const Call& call) {
  rack::AcknowledgeManyRequested event;
  Body body{call.request.body};
  event.alarms = body.numbers_from_one("alarms");
  const auto all = body.boolean("all").value_or(false);
  event.who = call.caller.name;
  body.require("alarms", all || !event.alarms.empty(), "numbers of alarms, or all: true");
  if (complained(call, body.finish())) return;
  if (all) event.alarms.clear();
  act(call, std::move(event));
}

void acknowledge(const Call& call) {
  if (const auto alarm = alarm_named(call, Body{call.request.body}.finish()))
    act(call, rack::AcknowledgeRequested{0, *alarm, call.caller.name});
}

void shelve(const Call& call) {
  Body body{call.request.body};
  const auto lasting =
      body.whole("for_s", rack::shortest_shelving.count(), rack::longest_shelving.count());
  const auto why = body.reason("why");
  body.require("for_s", lasting.has_value(), "a whole number from 60 to 86400");
  body.require("why", why.has_value(), "the reason for it");
  if (const auto alarm = alarm_named(call, body.finish()))
    act_on_alarm(call, rack::ShelveRequested{0, *alarm, std::chrono::seconds{*lasting},
                                             call.caller.name, *why});
}

void unshelve(const Call& call) {
  if (const auto alarm = alarm_named(call, Body{call.request.body}.finish()))
    act_on_alarm(call, rack::UnshelveRequested{0, *alarm, call.caller.name});
}

constexpr Route rows_of_alarms[]{
    get("alarms", list_alarms),
    post("alarms/acknowledge", Role::operate, acknowledge_many),
    post("alarms/{alarm}/acknowledge", Role::operate, acknowledge),
    post("alarms/{alarm}/shelve", Role::operate, shelve),
    post("alarms/{alarm}/unshelve", Role::operate, unshelve),
};

}  // namespace

std::span<const Route> alarms_routes() { return rows_of_alarms; }

}  // namespace catwalk::web
