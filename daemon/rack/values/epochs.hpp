// SPDX-License-Identifier: Apache-2.0
#pragma once
// Which epochs controllers speak under (PROTOCOL.md, section 8), and which none can have. What a
// node says of its epoch is not proof: one with bad memory would make the next take-over use the
// numbers up for all.

#include <algorithm>
#include <chrono>
#include <cstdint>
#include <limits>
#include <optional>

#include "daemon/rack/values/time.hpp"
#include "protocol/values.hpp"

namespace catwalk::rack {

// No controller spoke before 2025, 00:00 UTC; a clock that shows less was lost with its battery.
constexpr std::uint32_t earliest_epoch = 1'735'689'600;
// Ten years of seconds: how far ahead of ours another controller's may lie, its clock being wrong.
constexpr std::uint32_t furthest_ahead = 10U * 366U * 86'400U;

constexpr std::uint32_t seconds_of(TimePoint now) {
  const auto seconds =
      std::chrono::duration_cast<std::chrono::seconds>(now.time_since_epoch()).count();
  return static_cast<std::uint32_t>(
      std::clamp<std::int64_t>(seconds, 0, std::numeric_limits<std::uint32_t>::max()));
}

// Two that start, or take over, within one second would speak under one number, and nodes could not
// tell them apart. So each daemon draws a share at its start, and takes epochs of that share alone:
// those that leave it as the remainder of a division by 64, up to 63 s ahead of the clock: who
// starts a minute after the last word of another outranks it all the same. Nothing: any.
using EpochShare = std::optional<std::uint8_t>;

// Higher than every one before and not below the seconds of the wall clock, so that a controller on
// a new machine, with an empty journal, outranks the one it replaces. Where the numbers are used
// up, by a controller that followed a node that lied, they begin again with the clock's: nodes obey
// those when they are reclaimed.
constexpr protocol::Epoch next_epoch(protocol::Epoch last, TimePoint now, EpochShare share = {}) {
  constexpr auto highest = std::numeric_limits<std::uint32_t>::max();
  const auto least = last.value == highest ? 1U : last.value + 1U;
  const auto clock = seconds_of(now);
  const auto base = std::max(least, clock);
  if (!share || base > highest - 64U) return {base};
  return {base + ((*share - base) & 63U)};
}

// Can a controller have this one, seen from `ours`? If not, the node that says so is at fault, and
// nobody follows it.
constexpr bool could_be_an_epoch(protocol::Epoch heard, protocol::Epoch ours, TimePoint now) {
  const auto known = std::max({ours.value, seconds_of(now), earliest_epoch});
  return heard.value <= known || heard.value - known <= furthest_ahead;
}

}  // namespace catwalk::rack
