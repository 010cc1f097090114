// SPDX-License-Identifier: Apache-2.0
#pragma once
// What the sources of the routes share: how an act is asked for, and how its answer reads in HTTP.

#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "web/server/api/routes.hpp"
#include "web/server/http/problem.hpp"

namespace catwalk::web {

class Body;

HttpResponse json_response(const Json& json, int status = 200);
// True: something was wrong, and has been answered.
bool complained(const Call& call, const std::vector<BadValue>& complaints);
// A fate in the terms of HTTP.
HttpResponse respond_to(const rack::Answer& answer, const rack::Snapshot& snapshot,
                        rack::TimePoint now);
// 503, and when to ask again.
HttpResponse too_much_to_compute();
HttpResponse not_found(const std::string& what, const std::string& name);
// The reason given with a request; may be empty.
std::string read_why(Body& body);
// Of the wanted settings: their revision in quotes.
std::string etag_of(const rack::NodeView& node);

// The body of an action that takes nothing but, at most, a reason. Absent: it has been answered.
std::optional<std::string> only_why(const Call& call);
// The body of an action that nobody does without saying why. Absent: it has been answered.
std::optional<std::string> required_why(const Call& call);
// How long a lamp is to blink.
std::uint8_t read_seconds(Body& body);

// Asks it of the core, and answers with what becomes of it.
void act(const Call& call, rack::Event event);
// The same of a change; answered at once with 202 if so preferred (RFC 7240).
void change(const Call& call, rack::Event event);
// Has it done elsewhere, or says that too much waits.
void compute(const Call& call, const LongWork::Run& run, std::function<HttpResponse()> work);

}  // namespace catwalk::web
