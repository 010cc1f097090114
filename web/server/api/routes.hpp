// SPDX-License-Identifier: Apache-2.0
#pragma once
// A route is a row: method, path, the least role, and what answers it. Each resource has its rows
// at the end of its source, and its part of the OpenAPI document beside it (….openapi.json).

#include <span>
#include <string>
#include <vector>

#include "daemon/rack/values/snapshot.hpp"
#include "web/server/api/gate.hpp"
#include "web/server/api/long_work.hpp"
#include "web/server/api/makers.hpp"
#include "web/server/api/spectra.hpp"
#include "web/server/documents/render.hpp"
#include "web/server/http/http.hpp"

namespace catwalk::web {

// What routes work with; outlives every answer.
struct Desk {
  Gate& gate;
  std::function<rack::TimePoint()> clock;
  LongWork long_work;
  NodeTexts texts = {};
  Spectra spectra = {};
  Makers makers = {};
};

// One request on its way through a route, which calls `respond` exactly once, now or when the fate
// is known.
struct Call {
  Desk& desk;
  const HttpRequest& request;
  const Caller& caller;
  const Respond& respond;
  std::vector<std::string> names;  // what stood in the place of each {…} of the route
};

struct Route {
  using Run = void (*)(const Call& call);

  const char* method;
  const char* path;  // "nodes/{node}/settings", below /api/v1
  Role role;
  Run run;
};

// What is only read, whoever watches may read.
constexpr Route get(const char* path, Route::Run run) { return {"GET", path, Role::watch, run}; }
constexpr Route post(const char* path, Role role, Route::Run run) {
  return {"POST", path, role, run};
}
constexpr Route patch(const char* path, Role role, Route::Run run) {
  return {"PATCH", path, role, run};
}

std::span<const Route> rack_routes();
std::span<const Route> nodes_routes();
std::span<const Route> matrices_routes();
std::span<const Route> physics_routes();
std::span<const Route> spectrum_routes();
std::span<const Route> segments_routes();
std::span<const Route> order_routes();
std::span<const Route> lines_routes();
std::span<const Route> alarms_routes();
std::span<const Route> record_routes();

}  // namespace catwalk::web
