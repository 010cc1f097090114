// SPDX-License-Identifier: Apache-2.0
#pragma once
// Readings that wait for their turn. Bounded, and fair: whoever asks for many waits behind
// themselves, not before others.

#include <algorithm>
#include <cstdint>
#include <deque>
#include <functional>
#include <optional>
#include <string>
#include <utility>

#include "daemon/base/result.hpp"
#include "daemon/rack/values/journal.hpp"

namespace catwalk::store {

struct Reading {
  using Page = std::function<void(Result<rack::JournalPage, rack::Unread>)>;
  rack::JournalQuery query;
  Page page;
  std::uint64_t after = 0;  // records that it has to see, if they are kept in time
};

struct QueueBounds {
  std::size_t most = 64;
  std::size_t most_of_one = 16;  // asker
};

class ReadingQueue {
 public:
  explicit ReadingQueue(QueueBounds bounds = {}) : bounds_{bounds} {}

  // False: too many wait, of all or of this asker. One that goes on was let in before.
  bool put(Reading& reading) {
    const auto& asker = reading.query.asker;
    auto found = std::ranges::find(askers_, asker, &Asker::first);
    if (!reading.query.goes_on) {
      const auto own = found == askers_.end() ? 0 : found->second.size();
      if (size_ >= bounds_.most || own >= bounds_.most_of_one) return false;
    }
    if (found == askers_.end()) found = askers_.insert(askers_.end(), Asker{asker, {}});
    found->second.push_back(std::move(reading));
    ++size_;
    return true;
  }

  // One of each asker in turn.
  std::optional<Reading> take() {
    if (askers_.empty()) return std::nullopt;
    auto asker = std::move(askers_.front());
    askers_.pop_front();
    auto reading = std::move(asker.second.front());
    asker.second.pop_front();
    if (!asker.second.empty()) askers_.push_back(std::move(asker));
    --size_;
    return reading;
  }

  bool empty() const { return askers_.empty(); }

 private:
  using Asker = std::pair<std::string, std::deque<Reading>>;  // never empty
  QueueBounds bounds_;
  std::deque<Asker> askers_;
  std::size_t size_ = 0;
};

}  // namespace catwalk::store
