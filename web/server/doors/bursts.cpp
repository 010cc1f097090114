// SPDX-License-Identifier: Apache-2.0
#include "web/server/doors/bursts.hpp"

#include <algorithm>
#include <utility>

namespace catwalk::web {

void Bursts::add(const std::string& who, const std::string& from, const std::string& why,
                 rack::TimePoint now) {
  const auto find = [&](const std::string& name, const std::string& where) {
    return std::ranges::find_if(open_, [&](const Burst& burst) {
      return burst.told.who == name && burst.told.from == where && burst.told.why == why;
    });
  };
  auto burst = find(who, from);
  if (burst == open_.end() && open_.size() >= most) burst = find({}, "elsewhere");
  if (burst == open_.end()) {
    const bool fits = open_.size() < most;
    open_.push_back({{fits ? who : "", fits ? from : "elsewhere", why, 0, now}, now});
    burst = std::prev(open_.end());
  }
  ++burst->told.times;
  burst->last = now;
}

std::vector<rack::TurnedAway> Bursts::take_over(rack::TimePoint now) {
  std::vector<rack::TurnedAway> over;
  std::vector<Burst> left;
  for (auto& burst : open_) {
    // The wall clock may have been put back.
    burst.told.since = std::min(burst.told.since, now);
    burst.last = std::min(burst.last, now);
    if (now - burst.last < quiet && now - burst.told.since < longest)
      left.push_back(std::move(burst));
    else
      over.push_back(std::move(burst.told));
  }
  open_ = std::move(left);
  return over;
}

}  // namespace catwalk::web
