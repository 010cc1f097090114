// SPDX-License-Identifier: Apache-2.0
#pragma once
// A table by text that holds so many entries at most: of more, the one that was not touched for the
// longest is forgotten. All in constant time. For one thread.

#include <cstddef>
#include <list>
#include <string>
#include <unordered_map>
#include <utility>

namespace catwalk::web {

template <class Value>
class Recent {
 public:
  // `most` > 0.
  explicit Recent(std::size_t most) : most_{most} {}

  // Null if it is not known. Looking does not touch.
  const Value* find(const std::string& key) const {
    const auto found = places_.find(key);
    return found == places_.end() ? nullptr : &found->second->second;
  }

  // Made if it is not known.
  Value& touch(const std::string& key) {
    if (const auto found = places_.find(key); found != places_.end()) {
      entries_.splice(entries_.begin(), entries_, found->second);
      return found->second->second;
    }
    if (entries_.size() >= most_) {
      places_.erase(entries_.back().first);
      entries_.pop_back();
    }
    entries_.emplace_front(key, Value{});
    places_.emplace(key, entries_.begin());
    return entries_.front().second;
  }

  std::size_t size() const { return entries_.size(); }

 private:
  std::size_t most_;
  std::list<std::pair<std::string, Value>> entries_;  // the one touched last comes first
  std::unordered_map<std::string, typename std::list<std::pair<std::string, Value>>::iterator>
      places_;
};

}  // namespace catwalk::web
