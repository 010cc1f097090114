// SPDX-License-Identifier: Apache-2.0
#pragma once
// Luck from a seed, in streams that do not know of each other: what one part of
// the simulation draws, or a part that is added later, changes nothing for the
// others.

#include <cstdint>
#include <string_view>

#include "drivers/line/faults.hpp"

namespace catwalk::simulation {

// Fowler-Noll-Vo, FNV-1a with 64 bits (from memory): small, and the same
// everywhere.
class Fingerprint {
 public:
  void add(std::string_view text) {
    for (const char c : text) {
      value_ ^= static_cast<unsigned char>(c);
      value_ *= 0x0000'0100'0000'01b3U;
    }
  }
  std::uint64_t value() const { return value_; }

 private:
  std::uint64_t value_ = 0xcbf2'9ce4'8422'2325U;
};

// A number that looks random, the same for the same two: luck that belongs to a
// moment, so that leaving out what happened before it changes nothing. The
// finalizer of SplitMix64 (from memory).
constexpr std::uint64_t luck_of(std::uint64_t seed, std::uint64_t moment) {
  std::uint64_t z = moment + (seed + 1) * 0x9e37'79b9'7f4a'7c15U;
  z = (z ^ (z >> 30U)) * 0xbf58'476d'1ce4'e5b9U;
  z = (z ^ (z >> 27U)) * 0x94d0'49bb'1331'11ebU;
  return z ^ (z >> 31U);
}

class Random {
 public:
  Random(std::uint64_t seed, std::string_view stream) : dice_{mixed(seed, stream)} {}

  // 0 to bound - 1. Precondition: bound > 0.
  std::uint64_t below(std::uint64_t bound) { return dice_.below(bound); }
  // Both ends included.
  int any(int low, int high) {
    return low + static_cast<int>(below(static_cast<std::uint64_t>(high - low) + 1));
  }
  double between(double low, double high) { return low + dice_.unit() * (high - low); }
  bool one_in(std::uint64_t count) { return below(count) == 0; }
  bool chance(double probability) { return dice_.chance(probability); }
  template <class Items>
  const auto& of(const Items& items) {
    return items[static_cast<std::size_t>(below(items.size()))];
  }

 private:
  static std::uint64_t mixed(std::uint64_t seed, std::string_view stream) {
    Fingerprint print;
    print.add(stream);
    return print.value() ^ (seed * 0x9e37'79b9'7f4a'7c15U);
  }

  drivers::Dice dice_;
};

}  // namespace catwalk::simulation
