// SPDX-License-Identifier: Apache-2.0
#pragma once
// Parts of the state that snapshots show. Everybody reads them; to get at one for writing is to
// mark it. So no line marks by hand, and none forgets to. Internal to the room, like state.hpp.

#include <algorithm>
#include <cstddef>
#include <optional>
#include <utility>
#include <vector>

namespace catwalk::rack {

// Something that may not be there.
template <class T>
class Shown {
 public:
  explicit operator bool() const { return value_.has_value(); }
  const T& operator*() const { return *value_; }
  const T* operator->() const { return &*value_; }

  // Precondition: it is there.
  T& write() {
    changed_ = true;
    return *value_;
  }
  T& emplace() {
    changed_ = true;
    return value_.emplace();
  }
  void reset() {
    changed_ = true;
    value_.reset();
  }

  bool changed() const { return changed_; }
  void was_shown() { changed_ = false; }

 private:
  std::optional<T> value_;
  bool changed_ = false;
};

// A list; each of its rows is marked by itself. A new list is changed as a whole.
template <class T>
class Rows {
 public:
  auto begin() const { return rows_.begin(); }
  auto end() const { return rows_.end(); }
  std::size_t size() const { return rows_.size(); }
  bool empty() const { return rows_.empty(); }
  const T& operator[](std::size_t place) const { return rows_[place]; }
  const std::vector<T>& all() const { return rows_; }
  // Precondition: it is one of these.
  std::size_t place_of(const T& row) const { return static_cast<std::size_t>(&row - rows_.data()); }

  // Precondition: it is one of these.
  T& write(const T& row) { return write_at(place_of(row)); }
  T& write_at(std::size_t place) {
    changed_ = marks_[place] = true;
    return rows_[place];
  }
  T& add(T row) {
    rows_.push_back(std::move(row));
    marks_.push_back(true);
    changed_ = true;
    return rows_.back();
  }
  template <class Predicate>
  void erase_if(Predicate&& is_over) {
    if (std::erase_if(rows_, is_over) == 0) return;
    marks_.assign(rows_.size(), true);
    changed_ = true;
  }
  // Leaves none.
  std::vector<T> take() {
    marks_.clear();
    changed_ = true;
    return std::exchange(rows_, {});
  }

  bool changed() const { return changed_; }
  bool changed(std::size_t place) const { return marks_[place]; }
  void were_shown() {
    marks_.assign(rows_.size(), false);
    changed_ = false;
  }

 private:
  std::vector<T> rows_;
  std::vector<bool> marks_;
  bool changed_ = true;
};

}  // namespace catwalk::rack
