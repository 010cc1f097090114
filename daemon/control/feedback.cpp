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
        subscribers_, [](const Subscriber& subscriber) { return subscriber.until.has_value(); });
    if (static_cast<std::size_t>(passing) == most_subscribers) return false;
    subscribers_.push_back({peer, now, {}});
    found = subscribers_.end() - 1;
  }
  if (found->until) found->until = now + subscription_lasts;
  found->behind = true;
  return true;
}

bool Feedback::unsubscribe(const Peer& peer) {
  return std::erase_if(subscribers_, [&](const Subscriber& subscriber) {
           return subscriber.peer == peer && subscriber.until.has_value();
         }) > 0;
}

std::vector<Transmission> Feedback::look(const rack::Snapshot& snapshot, Steady now) {
  std::erase_if(subscribers_, [now](const Subscriber& subscriber) {
    return subscriber.until && *subscriber.until <= now;
  });
  if (subscribers_.empty()) return {};
  if (changed_ && (state_.empty() || now - compared_ >= shortest_pause)) {
    changed_ = false;
    compared_ = now;
    if (auto state = write_bundle(state_of(snapshot)); state != state_) {
      state_ = std::move(state);
      for (auto& subscriber : subscribers_) subscriber.behind = true;
    }
  }
  std::vector<Transmission> told;
  for (auto& subscriber : subscribers_) {
    if (!subscriber.behind && now - *subscriber.told_at < longest_pause) continue;
    subscriber.behind = false;
    subscriber.told_at = now;
    told.push_back({subscriber.peer, state_});
  }
  return told;
}

std::optional<Steady> Feedback::deadline() const {
  std::optional<Steady> first;
  const auto consider = [&first](Steady at) {
    if (!first || at < *first) first = at;
  };
  for (const auto& subscriber : subscribers_) {
    if (subscriber.until) consider(*subscriber.until);
    consider(subscriber.behind ? Steady::min() : *subscriber.told_at + longest_pause);
  }
  if (first && changed_) consider(state_.empty() ? Steady::min() : compared_ + shortest_pause);
  return first;
}

}  // namespace catwalk::control
