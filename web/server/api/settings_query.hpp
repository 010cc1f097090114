// SPDX-License-Identifier: Apache-2.0
#pragma once
// Settings in a query: ?gain_db=6&filter=slide-40&centre_mhz=518&power=true

#include <string>
#include <vector>

#include "daemon/plan/rack_plan.hpp"
#include "daemon/rack/values/verdict.hpp"
#include "web/server/http/input.hpp"

namespace catwalk::web {

extern const std::vector<std::string> settings_in_query;  // their names

// What is not there stays as it is. Complaints say what the node can do.
plan::SettingsPatch read_settings_query(const HttpRequest& request, const plan::Datasheet& sheet,
                                        std::vector<BadValue>& complaints);

// What the datasheet finds wrong with settings that came of such a query, in its words.
std::vector<BadValue> in_the_query(const std::vector<rack::Finding>& findings,
                                   const HttpRequest& request, const plan::Datasheet& sheet);

}  // namespace catwalk::web
