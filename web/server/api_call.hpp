// SPDX-License-Identifier: Apache-2.0
#pragma once
// What the files of the API share. Internal to the room.

#include <string>
#include <string_view>
#include <vector>

#include "web/server/api.hpp"
#include "web/server/problem.hpp"

namespace catwalk::web {

class Body;

struct Api::Call {
  const HttpRequest& request;
  const Caller& caller;
  const Respond& respond;
  std::vector<std::string> names;  // what stood in the place of each {…} of the route
};

HttpResponse json_response(const Json& json, int status = 200);
// True: something was wrong, and has been answered.
bool complained(const Api::Call& call, const std::vector<BadValue>& complaints);
// A fate in the terms of HTTP.
HttpResponse respond_to(const rack::Answer& answer, const plan::RackPlan& plan,
                        rack::TimePoint now);
// 503, and when to ask again.
HttpResponse too_much_to_compute();
HttpResponse not_found(const std::string& what, const std::string& name);
// The reason given with a request; may be empty.
std::string read_why(Body& body);
// Does If-None-Match name this tag? A list, compared weakly, or "*": RFC 9110, section 13.1.2.
bool names_tag(std::string_view list, std::string_view tag);
// Of the wanted settings: their revision in quotes.
std::string etag_of(const rack::NodeView& node);

}  // namespace catwalk::web
