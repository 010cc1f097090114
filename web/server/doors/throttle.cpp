// SPDX-License-Identifier: Apache-2.0
#include "web/server/doors/throttle.hpp"

#include <algorithm>

namespace catwalk::web {

std::optional<std::chrono::seconds> Throttle::pause(const std::string& key, Time now) const {
  const auto* tries = tries_.find(key);
  if (tries == nullptr || now >= tries->until) return std::nullopt;
  return std::chrono::ceil<std::chrono::seconds>(tries->until - now);
}

void Throttle::wrong(const std::string& key, Time now) {
  auto& tries = tries_.touch(key);
  if (tries.wrong > 0 && now - tries.last > forgotten_after) tries.wrong = 0;
  tries.last = now;
  ++tries.wrong;
  if (tries.wrong <= free_tries) return;
  const auto doublings = std::min(tries.wrong - free_tries - 1, 16U);
  tries.until = now + std::min(longest_pause, std::chrono::seconds{1LL << doublings});
}

void Throttle::right(const std::string& address, const std::string& token) {
  right_.touch(pair(address, token)) = true;
}

bool Throttle::was_right(const std::string& address, const std::string& token) const {
  return right_.find(pair(address, token)) != nullptr;
}

std::string Throttle::pair(const std::string& address, const std::string& token) {
  return address + '\n' + token;
}

}  // namespace catwalk::web
