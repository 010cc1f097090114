// SPDX-License-Identifier: Apache-2.0
#pragma once
// The REST API: one request in, one response out, through the gate. Knows no sockets.
// The OpenAPI document describes every route; tests hold the two against each other.

#include <cstddef>
#include <deque>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <unordered_map>
#include <vector>

#include "web/server/api/gate.hpp"
#include "web/server/api/long_work.hpp"
#include "web/server/http/http.hpp"

namespace catwalk::web {

struct Desk;

// For one thread. The gate must outlive it.
class Api {
 public:
  using WallClock = std::function<rack::TimePoint()>;
  Api(Gate& gate, WallClock clock, LongWork long_work = LongWork::at_once());
  Api(const Api&) = delete;
  Api& operator=(const Api&) = delete;
  ~Api();

  // `respond` is called exactly once, now or when the fate is known.
  void handle(const HttpRequest& request, const Caller& caller, Respond respond);

  // "GET /nodes/{node}": every route, as the OpenAPI document writes it.
  static std::vector<std::string> route_names();

 private:
  // Answers by Idempotency-Key: the same key gets the same answer, and acts once.
  struct Kept {
    std::string fingerprint;
    std::optional<HttpResponse> response;
    std::vector<Respond> waiting;
  };
  bool replay(const HttpRequest& request, const Caller& caller, Respond& respond);

  static constexpr std::size_t keys_kept = 512;
  std::unique_ptr<Desk> desk_;
  std::unordered_map<std::string, Kept> kept_;
  std::deque<std::string> kept_order_;
};

}  // namespace catwalk::web
