// SPDX-License-Identifier: Apache-2.0
#pragma once
// How much memory answers take until their readers have taken them. Small ones are not counted:
// that every command is answered matters more, and connections are counted themselves. For one
// thread; outlives its shares.

#include <cstddef>
#include <map>
#include <string>
#include <utility>

namespace catwalk::web {

class Outbox {
 public:
  static constexpr std::size_t small = 65'536;  // bytes

  // Bytes, of all together and of one name: a token's or an address.
  Outbox(std::size_t most, std::size_t most_of_one) : most_{most}, most_of_one_{most_of_one} {}

  // What one answer takes; given back by the destructor too.
  class Share {
   public:
    Share() = default;
    Share(const Share&) = delete;
    Share& operator=(const Share&) = delete;
    ~Share() { give_back(); }

    // False: that is too much now, and nothing is taken. Whatever was taken before is given back.
    bool take(Outbox& from, const std::string& name, std::size_t bytes) {
      give_back();
      if (bytes <= small) return true;
      if (!from.fits(name, bytes)) return false;
      from.taken_ += bytes;
      from.by_name_[name] += bytes;
      from_ = &from;
      name_ = name;
      bytes_ = bytes;
      return true;
    }
    void give_back() {
      if (from_ == nullptr) return;
      from_->taken_ -= bytes_;
      const auto mine = from_->by_name_.find(name_);
      if ((mine->second -= bytes_) == 0) from_->by_name_.erase(mine);
      from_ = nullptr;
    }

   private:
    Outbox* from_ = nullptr;
    std::string name_;
    std::size_t bytes_ = 0;
  };

  std::size_t taken() const { return taken_; }

 private:
  // One that is larger than all that is allowed goes out alone.
  bool fits(const std::string& name, std::size_t bytes) const {
    const auto mine = by_name_.find(name);
    const auto of_one = mine == by_name_.end() ? 0 : mine->second;
    return (of_one == 0 || of_one + bytes <= most_of_one_) &&
           (taken_ == 0 || taken_ + bytes <= most_);
  }

  std::size_t most_;
  std::size_t most_of_one_;
  std::size_t taken_ = 0;
  std::map<std::string, std::size_t> by_name_;
};

}  // namespace catwalk::web
