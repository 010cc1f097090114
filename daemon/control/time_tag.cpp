// SPDX-License-Identifier: Apache-2.0
#include "daemon/control/time_tag.hpp"

namespace catwalk::control {
namespace {

using std::chrono::microseconds;
using std::chrono::seconds;

// From 1900 to 1970 (RFC 868).
constexpr seconds before_1970{2'208'988'800};
constexpr std::uint64_t million = 1'000'000;

}  // namespace

TimeTag time_tag_of(rack::TimePoint at) {
  const auto whole = std::chrono::floor<seconds>(at);
  const auto rest = static_cast<std::uint64_t>((at - whole).count());
  const auto since_1900 =
      static_cast<std::uint64_t>((whole.time_since_epoch() + before_1970).count());
  return {since_1900 << 32 | (rest << 32) / million};
}

microseconds ahead_of(TimeTag tag, rack::TimePoint now) {
  if (tag == TimeTag::immediately()) return microseconds{0};
  const auto apart = static_cast<std::int64_t>(tag.bits - time_tag_of(now).bits);
  const auto fraction = static_cast<std::uint64_t>(apart) & 0xFFFF'FFFF;
  // To the nearest: a tag is up to a quarter of a nanosecond beside its moment.
  return seconds{apart >> 32} + microseconds{(fraction * million + (1ULL << 31)) >> 32};
}

}  // namespace catwalk::control
