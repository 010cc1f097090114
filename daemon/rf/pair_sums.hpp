// SPDX-License-Identifier: Apache-2.0
#pragma once
// A histogram of the powers of pairs of carriers, by the sum of their bins. Part of PairTables.

#include <algorithm>
#include <bit>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace catwalk::rf {

// Σ table[at + i] · weights[i], what lies outside the table being empty.
double weighed(const std::vector<double>& table, std::int32_t at, std::span<const double> weights);

struct PairSums {
  // The pairs of two different carriers that share a sum. The strongest stands apart from the rest,
  // so that any one pair can be left out without subtracting a large number from a large number.
  struct Pairs {
    double strongest = 0.0;
    double rest = 0.0;
    double peak = 0.0;        // the most that `rest` has been since it was added up
    std::int32_t member = 0;  // the lower bin of the strongest pair
    std::int32_t count = 0;
    void add(double power, std::int32_t lower_bin);
  };

  explicit PairSums(std::size_t sums)
      : power(sums), place(sums), occupied(sums / 64 + 1), shared(sums / 64 + 1) {}

  // Most sums are empty or of one pair: what is more stands apart, so that the rest stays small.
  std::vector<double> power;            // strongest + rest of each
  std::vector<std::int32_t> place;      // of the shared ones in `pairs`; else the pair's lower bin
  std::vector<Pairs> pairs = {};        // of those that are or were shared
  std::vector<std::uint64_t> occupied;  // a bit for each that is not empty
  std::vector<std::uint64_t> shared;    // a bit for each that several pairs share
  double most = 0.0;                    // no sum has more power
  std::int32_t count = 0;               // of those occupied
  // Between the least and the greatest of them.
  std::int32_t least = 0;
  std::int32_t greatest = -1;

  // So few that to look for them is faster than to run through all.
  bool sparse() const { return 64 * count < greatest - least; }
  bool is_shared(std::int32_t sum) const { return bit(shared, sum); }
  Pairs pairs_on(std::int32_t sum) const;
  void add(std::int32_t sum, double power, std::int32_t lower_bin);
  // Instead of what is there. Precondition: something was.
  void put(std::int32_t sum, const Pairs& fresh);
  // As if new, in the same memory.
  void clear();
  // The power on a sum less that of one of its pairs, of this weight. Of the only pair there
  // exactly nothing is left, and where a strong one would eat the digits of the rest it is not
  // subtracted.
  double without(std::int32_t sum, std::int32_t lower_bin, double weight) const {
    constexpr double enough = 1e-3;
    const double all = power[static_cast<std::size_t>(sum)];
    const double left = all - weight;
    return left >= enough * all || !is_shared(sum) ? left : without_strong(sum, lower_bin, weight);
  }
  // Σ power[first + i] · weights[i]
  double weighed(std::int32_t first, std::span<const double> weights) const;
  // visit(sum) of those from `first` to `last` that are not empty, and of others where most are
  // not.
  template <class Visit>
  void for_each(std::int32_t first, std::int32_t last, const Visit& visit) const {
    first = std::max(first, least);
    last = std::min(last, greatest);
    if (!sparse()) {
      for (auto at = first; at <= last; ++at) visit(at);
      return;
    }
    for (auto at = first; at <= last;) {
      const auto word = occupied[static_cast<std::size_t>(at / 64)] >> (at % 64);
      if (word == 0) {
        at += 64 - at % 64;
        continue;
      }
      at += std::countr_zero(word);
      if (at <= last) visit(at);
      ++at;
    }
  }

 private:
  double without_strong(std::int32_t sum, std::int32_t lower_bin, double weight) const;
  static bool bit(const std::vector<std::uint64_t>& bits, std::int32_t sum) {
    return (bits[static_cast<std::size_t>(sum / 64)] >> (sum % 64) & 1U) != 0;
  }
};

}  // namespace catwalk::rf
