// SPDX-License-Identifier: Apache-2.0
#pragma once
// The sums of all pairs of carriers, in order, for carriers that share no raster. Part of
// IntermodulationSearch: exact for any frequencies, but its time grows with the number of products
// that land in the channels.

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "daemon/rf/intermodulation.hpp"

namespace catwalk::rf {

class SortedPairs {
 public:
  // `tones` as merged() gives them.
  explicit SortedPairs(std::span<const Tone> tones);

  // What the products bring to a channel, its edges of either sign, before the intercept: mW³.
  double cubic_power(Band channel) const;

 private:
  struct Carrier {
    std::int64_t hertz = 0;
    double power = 0.0;  // mW
    Emission emission;
  };
  struct Pair {
    std::int64_t sum = 0;  // Hz
    double weight = 0.0;   // pa², more where its envelope varies, or 4·pa·pb
    std::int32_t a = 0;
    std::int32_t b = 0;
  };
  std::size_t bucket(std::int64_t sum) const;

  std::vector<Carrier> carriers_;
  std::vector<Pair> pairs_;          // by bucket, in no order within one
  std::vector<std::size_t> starts_;  // of each bucket, and the end
  std::int64_t lowest_ = 0;
  std::int64_t bucket_width_ = 1;  // Hz
  std::int64_t beyond_ = 0;        // Hz that a product reaches to each side at most
};

}  // namespace catwalk::rf
