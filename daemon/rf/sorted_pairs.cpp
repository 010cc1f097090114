// SPDX-License-Identifier: Apache-2.0
#include "daemon/rf/sorted_pairs.hpp"

#include <algorithm>

namespace catwalk::rf {

SortedPairs::SortedPairs(std::span<const Tone> tones) {
  for (const auto& tone : tones) {
    carriers_.push_back({tone.frequency.hertz(), milliwatts(tone.level), tone.emission});
    beyond_ = std::max(beyond_, tone.emission.reach().hertz());
  }
  const auto count = static_cast<std::int32_t>(carriers_.size());
  std::vector<Pair> pairs;
  pairs.reserve(carriers_.size() * (carriers_.size() + 1) / 2);
  for (std::int32_t a = 0; a < count; ++a) {
    for (std::int32_t b = a; b < count; ++b) {
      const auto& first = carriers_[static_cast<std::size_t>(a)];
      const auto& second = carriers_[static_cast<std::size_t>(b)];
      const double product = first.power * second.power;
      const double times = a == b ? first.emission.power_twice() : 4.0;
      pairs.push_back({first.hertz + second.hertz, times * product, a, b});
    }
  }
  if (pairs.empty()) return;

  // Two buckets for each pair; a counting sort puts the pairs in.
  lowest_ = pairs.front().sum;
  const auto span = pairs.back().sum - lowest_;
  const auto buckets = 2 * pairs.size();
  bucket_width_ = span / static_cast<std::int64_t>(buckets) + 1;
  starts_.assign(buckets + 1, 0);
  for (const auto& pair : pairs) ++starts_[bucket(pair.sum) + 1];
  for (std::size_t i = 1; i < starts_.size(); ++i) starts_[i] += starts_[i - 1];
  auto next = starts_;
  pairs_.resize(pairs.size());
  for (const auto& pair : pairs) pairs_[next[bucket(pair.sum)]++] = pair;
}

std::size_t SortedPairs::bucket(std::int64_t sum) const {
  const auto last = static_cast<std::int64_t>(starts_.size()) - 2;
  return static_cast<std::size_t>(
      std::clamp<std::int64_t>((sum - lowest_) / bucket_width_, 0, last));
}

double SortedPairs::cubic_power(Band channel) const {
  if (pairs_.empty()) return 0.0;
  double power = 0.0;
  for (std::size_t c = 0; c < carriers_.size(); ++c) {
    const auto& less = carriers_[c];
    const auto low = channel.low.hertz() + less.hertz;
    const auto high = channel.high.hertz() + less.hertz;
    const auto index = static_cast<std::int32_t>(c);
    double sum = 0.0;
    for (auto i = starts_[bucket(low - beyond_)]; i < starts_[bucket(high + beyond_) + 1]; ++i) {
      const auto& pair = pairs_[i];
      if (pair.sum < low - beyond_ || pair.sum > high + beyond_) continue;
      if (pair.a == index || pair.b == index) continue;
      const auto& a = carriers_[static_cast<std::size_t>(pair.a)].emission;
      const auto& b = carriers_[static_cast<std::size_t>(pair.b)].emission;
      sum += pair.weight * share_between(static_cast<double>(low - pair.sum),
                                         static_cast<double>(high - pair.sum),
                                         pair.a == pair.b ? widths_of_twice(a, less.emission)
                                                          : widths_of(a, b, less.emission));
    }
    power += less.power * sum;
  }
  return power;
}

}  // namespace catwalk::rf
