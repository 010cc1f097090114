// SPDX-License-Identifier: Apache-2.0
#include "web/server/api/what_if_body.hpp"

#include "web/server/http/settings_body.hpp"

#include <algorithm>

namespace catwalk::web {

WhatIfAsk read_what_if(Body& body, const plan::NodeName& node, const plan::Datasheet& datasheet) {
  WhatIfAsk ask;
  body.object("settings", [&](Body& inner) { ask.question.patch = read_patch(inner, &datasheet); });
  const auto passive = body.names_or_true("passive", "nodes");
  if (passive.all) ask.question.passive = {node};
  for (const auto& name : passive.list) ask.question.passive.push_back({name});
  for (const auto& [name, by] : body.numbers("louder_db", "dB"))
    ask.question.louder.emplace(plan::CarrierName{name}, rf::Decibel::of(by));
  for (const auto& [name, by] : body.numbers("longer_m", "m"))
    ask.question.longer.emplace(plan::NodeName{name}, rf::Metres::of(by));
  ask.carrier = body.text("carrier", 64);
  ask.segment = body.text("segment", 64);
  ask.response = body.boolean("response").value_or(false);
  return ask;
}

std::vector<BadValue> in_the_body(const std::vector<rack::WhatIfProblem>& problems,
                                  const rack::WhatIf& question) {
  std::vector<BadValue> complaints;
  for (const auto& problem : problems) {
    const auto slash = problem.field.find('/');
    const auto field = problem.field.substr(0, slash);
    // Where no name follows the field, the name itself is what is wrong.
    const bool names = slash == std::string::npos;
    const auto name = names ? problem.value : problem.field.substr(slash + 1);
    const std::string member = field == "louder"   ? "louder_db"
                               : field == "longer" ? "longer_m"
                                                   : field;
    auto pointer = '/' + member + '/' + pointer_part(name);
    if (field == "passive") {
      const auto at = std::ranges::find(question.passive, plan::NodeName{name});
      pointer = "/passive/" + std::to_string(at - question.passive.begin());
    }
    complaints.push_back({std::move(pointer), problem.value, problem.allowed,
                          member + (names ? "" : " of " + name) + ": " + problem.sentence +
                              " Allowed is " + problem.allowed + '.'});
  }
  return complaints;
}

}  // namespace catwalk::web
