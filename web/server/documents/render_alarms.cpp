// SPDX-License-Identifier: Apache-2.0
#include "web/server/documents/render_alarms.hpp"

#include "daemon/rack/values/alarm_list.hpp"

namespace catwalk::web {

Json render_alarms(const std::vector<rack::Alarm>& alarms) {
  Json json = Json::array();
  for (const auto& alarm : rack::worst_first(alarms)) json.push_back(render(alarm, alarms));
  return json;
}

Json render(const rack::Alarm& alarm, const std::vector<rack::Alarm>& all) {
  Json json = {{"id", alarm.id},
               {"kind", rack::name_of(alarm.kind)},
               {"word", rack::in_words(alarm.kind)},
               {"priority", rack::name_of(rack::priority_of(alarm.kind))},
               {"state", rack::name_of(rack::state_of(alarm))},
               {"subject", alarm.subject},
               {"sentence", alarm.sentence},
               {"active", alarm.active()},
               {"raised_at", time_text(alarm.raised)}};
  if (alarm.returned) json["returned_at"] = time_text(*alarm.returned);
  json["acknowledged"] = alarm.acknowledged_by.has_value();
  if (alarm.acknowledged_by) json["acknowledged_by"] = *alarm.acknowledged_by;
  if (alarm.cause) json["cause"] = *alarm.cause;
  if (const auto under = rack::stands_under(alarm, all)) json["under"] = *under;
  if (alarm.shelved)
    json["shelved"] = {{"by", alarm.shelved->by},
                       {"why", alarm.shelved->why},
                       {"until", time_text(alarm.shelved->until)}};
  return json;
}

}  // namespace catwalk::web
