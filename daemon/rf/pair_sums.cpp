// SPDX-License-Identifier: Apache-2.0
#include "daemon/rf/pair_sums.hpp"

#include <array>

namespace catwalk::rf {

double weighed(const std::vector<double>& table, std::int32_t at, std::span<const double> weights) {
  const auto from = std::max(0, -at);
  const auto to = std::min(static_cast<std::int32_t>(weights.size()),
                           static_cast<std::int32_t>(table.size()) - at);
  if (from >= to) return 0.0;
  const double* power = table.data() + at + from;
  const double* weight = weights.data() + from;
  const auto count = to - from;
  // Four at a time, which need not wait for each other.
  std::array<double, 4> sums{};
  std::int32_t i = 0;
  for (; i + 3 < count; i += 4)
    for (std::int32_t k = 0; k < 4; ++k)
      sums[static_cast<std::size_t>(k)] += power[i + k] * weight[i + k];
  double sum = (sums[0] + sums[1]) + (sums[2] + sums[3]);
  for (; i < count; ++i) sum += power[i] * weight[i];
  return sum;
}

// Without branches: which pair is stronger cannot be foreseen.
void PairSums::Pairs::add(double added, std::int32_t lower_bin) {
  const bool stronger = added > strongest;
  rest += stronger ? strongest : added;
  peak = std::max(peak, rest);
  strongest = stronger ? added : strongest;
  member = stronger ? lower_bin : member;
  ++count;
}

PairSums::Pairs PairSums::pairs_on(std::int32_t sum) const {
  const auto at = static_cast<std::size_t>(sum);
  if (is_shared(sum)) return pairs[static_cast<std::size_t>(place[at])];
  if (!bit(occupied, sum)) return {};
  return {power[at], 0.0, 0.0, place[at], 1};
}

void PairSums::add(std::int32_t sum, double added, std::int32_t lower_bin) {
  const auto at = static_cast<std::size_t>(sum);
  const auto mask = std::uint64_t{1} << (sum % 64);
  if (is_shared(sum)) {
    auto& there = pairs[static_cast<std::size_t>(place[at])];
    there.add(added, lower_bin);
    power[at] = there.strongest + there.rest;
  } else if (bit(occupied, sum)) {
    auto both = pairs_on(sum);
    both.add(added, lower_bin);
    power[at] = both.strongest + both.rest;
    place[at] = static_cast<std::int32_t>(pairs.size());
    pairs.push_back(both);
    shared[at / 64] |= mask;
  } else {
    power[at] = added;
    place[at] = lower_bin;
    occupied[at / 64] |= mask;
    ++count;
    least = greatest < least ? sum : std::min(least, sum);
    greatest = std::max(greatest, sum);
  }
  most = std::max(most, power[at]);
}

void PairSums::put(std::int32_t sum, const Pairs& fresh) {
  const auto at = static_cast<std::size_t>(sum);
  const auto mask = std::uint64_t{1} << (sum % 64);
  power[at] = fresh.strongest + fresh.rest;
  if (fresh.count > 1) {
    pairs[static_cast<std::size_t>(place[at])] = fresh;
    return;
  }
  shared[at / 64] &= ~mask;
  place[at] = fresh.member;
  if (fresh.count > 0) return;
  occupied[at / 64] &= ~mask;
  --count;
}

double PairSums::without_strong(std::int32_t sum, std::int32_t lower_bin, double weight) const {
  const auto there = pairs_on(sum);
  if (there.member == lower_bin) return there.rest;
  // The pair to leave out is no stronger than `strongest`, which stays: no digits are lost.
  return there.strongest + std::max(0.0, there.rest - weight);
}

void PairSums::clear() {
  const auto clear_from = [this](auto& table, std::int32_t each) {
    if (greatest < least) return;
    std::fill(table.begin() + least / each, table.begin() + greatest / each + 1, 0);
  };
  clear_from(power, 1);
  clear_from(occupied, 64);
  clear_from(shared, 64);
  pairs.clear();
  most = 0.0;
  count = 0;
  least = 0;
  greatest = -1;
}

double PairSums::weighed(std::int32_t first, std::span<const double> weights) const {
  if (!sparse()) return rf::weighed(power, first, weights);
  double sum = 0.0;
  for_each(first, first + static_cast<std::int32_t>(weights.size()) - 1, [&](std::int32_t at) {
    sum += power[static_cast<std::size_t>(at)] * weights[static_cast<std::size_t>(at - first)];
  });
  return sum;
}

}  // namespace catwalk::rf
