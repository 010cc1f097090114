// SPDX-License-Identifier: Apache-2.0
#include "web/server/api/long_work.hpp"

namespace catwalk::web {

LongWork LongWork::at_once() {
  const auto now = [](const std::function<HttpResponse()>& work, const Respond& respond) {
    respond(work());
    return true;
  };
  return {now, now, rack::one_after_the_other};
}

}  // namespace catwalk::web
