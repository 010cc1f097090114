// SPDX-License-Identifier: Apache-2.0
#pragma once
// Whom a node obeys: us, or another controller (PROTOCOL.md, section 8).

#include <algorithm>
#include <cstddef>
#include <limits>
#include <vector>

#include "protocol/message.hpp"
#include "protocol/values.hpp"

namespace catwalk::protocol {

// The epochs that one controller has spoken under, the newest last. The last alone would not do: an
// epoch is kept before its first word, so after a crash between the two every node still obeys the
// one before it, and one that nothing reached obeys an older one.
//   ours 5 and 9, heard 7: another's      heard 5: ours      heard 0: nobody's, so nobody else's
class OurEpochs {
 public:
  // More than starts within spoke_lately_ms, after which none of them matters.
  static constexpr std::size_t most = 16;
  // Stands for those of a journal that is lost: nobody knows, so what nodes obey is taken for ours
  // and the rack runs on.
  static constexpr Epoch unknown{std::numeric_limits<std::uint32_t>::max()};

  OurEpochs() = default;
  explicit OurEpochs(Epoch only) { add(only); }

  void add(Epoch epoch) {
    std::erase(epochs_, epoch);
    epochs_.push_back(epoch);
    if (epochs_.size() > most) epochs_.erase(epochs_.begin());
  }
  bool have(Epoch heard) const {
    return heard.value == 0 || std::ranges::any_of(epochs_, [heard](Epoch one) {
             return one == heard || one == unknown;
           });
  }
  const std::vector<Epoch>& all() const { return epochs_; }
  friend bool operator==(const OurEpochs&, const OurEpochs&) = default;

 private:
  std::vector<Epoch> epochs_;
};

// Who spoke longer ago than that, in milliseconds, speaks no more.
inline constexpr std::uint32_t spoke_lately_ms = 60'000;

// From what a node tells of it.
//   heard 7, 400 ms ago, ours 5 and 9: yes      heard 7, 61 s ago: no
inline bool other_speaks(const ControllerHeard& heard, const OurEpochs& ours) {
  return !ours.have(heard.epoch) && heard.ago_ms < spoke_lately_ms;
}

}  // namespace catwalk::protocol
