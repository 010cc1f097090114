// SPDX-License-Identifier: Apache-2.0
#pragma once
// How much memory answers take until their readers have taken them. Small ones are not counted:
// that every command is answered matters more, and connections are counted themselves. Who may only
// look takes no room from who acts, nor strangers on the network from users of this machine: each
// of the three has a part of its own. For one thread; outlives its shares.

#include <array>
#include <cstddef>
#include <map>
#include <string>
#include <utility>

#include "web/server/doors/seats.hpp"

namespace catwalk::web {

class Outbox {
 public:
  static constexpr std::size_t small = 65'536;  // bytes

  // Bytes, of each part together, and of one name in it.
  Outbox(std::size_t most, std::size_t most_of_one) : most_{most}, most_of_one_{most_of_one} {}

  // What one answer takes; given back by the destructor too.
  class Share {
   public:
    Share() = default;
    Share(const Share&) = delete;
    Share& operator=(const Share&) = delete;
    ~Share() { give_back(); }

    // False: that is too much now, and nothing is taken. Whatever was taken before is given back.
    bool take(Outbox& from, const Holder& holder, std::size_t bytes) {
      give_back();
      if (bytes <= small) return true;
      auto& part = from.parts_[part_of(holder)];
      auto& mine = part.by_name[holder.name];
      const bool fits = mine + bytes <= from.most_of_one_ && part.taken + bytes <= from.most_;
      if (!fits) {
        if (mine == 0) part.by_name.erase(holder.name);
        return false;
      }
      part.taken += bytes;
      mine += bytes;
      from_ = &part;
      name_ = holder.name;
      bytes_ = bytes;
      return true;
    }
    void give_back() {
      if (from_ == nullptr) return;
      from_->taken -= bytes_;
      const auto mine = from_->by_name.find(name_);
      if ((mine->second -= bytes_) == 0) from_->by_name.erase(mine);
      from_ = nullptr;
    }

   private:
    friend class Outbox;
    struct Part {
      std::size_t taken = 0;
      std::map<std::string, std::size_t> by_name;
    };
    Part* from_ = nullptr;
    std::string name_;
    std::size_t bytes_ = 0;
  };

  std::size_t taken() const {
    std::size_t all = 0;
    for (const auto& part : parts_) all += part.taken;
    return all;
  }

 private:
  static std::size_t part_of(const Holder& holder) {
    if (holder.kind == Guests::trusted || holder.kind == Guests::users) return 0;
    return holder.role == Role::watch ? 2 : 1;
  }

  std::size_t most_;
  std::size_t most_of_one_;
  std::array<Share::Part, 3> parts_{};
};

}  // namespace catwalk::web
