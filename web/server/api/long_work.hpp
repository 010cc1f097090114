// SPDX-License-Identifier: Apache-2.0
#pragma once
// Answers that take long, made where they keep nobody waiting.

#include <functional>

#include "daemon/rack/outlook/recommend.hpp"
#include "web/server/http/http.hpp"

namespace catwalk::web {

// How that is done which takes long.
struct LongWork {
  // Runs `work` anywhere, and hands what it returns to `respond` on the caller's thread. False: too
  // much waits already, and neither is called.
  using Run = std::function<bool(std::function<HttpResponse()> work, Respond respond)>;
  Run soon;        // a second or less, which somebody waits for
  Run at_leisure;  // many seconds, perhaps; never in the way of anything else
  rack::ForEach for_each;
  std::function<bool()> going_on = [] { return true; };  // false: the daemon is about to end

  // Here and now.
  static LongWork at_once();
};

}  // namespace catwalk::web
