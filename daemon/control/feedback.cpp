// SPDX-License-Identifier: Apache-2.0
#include "daemon/control/feedback.hpp"

#include <algorithm>

#include "daemon/control/osc_codec.hpp"
#include "daemon/control/state.hpp"

namespace catwalk::control {

Feedback::Feedback(const std::vector<Peer>& configured) {
  for (const auto& peer : configured) subscribers_.push_back({peer, {}, {}});
}

bool Feedback::subscribe(const Peer& peer, Steady now) {
  auto found = std::ranges::find(subscribers_, peer, &Subscriber::peer);
  if (found == subscribers_.end()) {
    const auto passing = std::ranges::count_if(
        subscribers_, [](const Subscriber& one) { return one.until.has_value(); });
    if (static_cast<std::size_t>(passing) == most_subscribers) return false;
    subscribers_.push_back({peer, now, {}});
    found = subscribers_.end() - 1;
  }
  if (found->until) found->until = now + subscription_lasts;
  found->behind = true;
  return true;
}

bool Feedback::unsubscribe(const Peer& peer) {
  return std::erase_if(subscribers_, [&](const Subscriber& one) {
           return one.peer == peer && one.until.has_value();
         }) > 0;
}

std::vector<Transmission> Feedback::look(const rack::Snapshot& snapshot, Steady now) {
  std::erase_if(subscribers_,
                [now](const Subscriber& one) { return one.until && *one.until <= now; });
  if (subscribers_.empty()) return {};
  if (changed_ && (state_.empty() || now - compared_ >= shortest_pause)) {
    changed_ = false;
    compared_ = now;
    if (auto state = write_bundle(state_of(snapshot)); state != state_) {
      state_ = std::move(state);
      for (auto& one : subscribers_) one.behind = true;
    }
  }
  std::vector<Transmission> told;
  for (auto& one : subscribers_) {
    if (!one.behind && now - *one.told_at < longest_pause) continue;
    one.behind = false;
    one.told_at = now;
    told.push_back({one.peer, state_});
  }
  return told;
}

std::optional<Steady> Feedback::deadline() const {
  std::optional<Steady> first;
  const auto consider = [&first](Steady at) {
    if (!first || at < *first) first = at;
  };
  for (const auto& one : subscribers_) {
    if (one.until) consider(*one.until);
    consider(one.behind ? Steady::min() : *one.told_at + longest_pause);
  }
  if (first && changed_) consider(state_.empty() ? Steady::min() : compared_ + shortest_pause);
  return first;
}

}  // namespace catwalk::control
