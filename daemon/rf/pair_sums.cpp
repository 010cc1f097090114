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
  strongest = stronger ? added : strongest;
  member = stronger ? lower_bin : member;
  ++count;
}

void PairSums::occupy(std::int32_t sum) {
  auto& word = occupied[static_cast<std::size_t>(sum / 64)];
  const auto bit = std::uint64_t{1} << (sum % 64);
  auto& most = highest[static_cast<std::size_t>(sum / 64)];
  most = std::max(most, power[static_cast<std::size_t>(sum)]);
  count += (word & bit) == 0 ? 1 : 0;
  word |= bit;
  least = greatest < least ? sum : std::min(least, sum);
  greatest = std::max(greatest, sum);
}

double PairSums::highest_of(std::int32_t first, std::int32_t last) const {
  double most = 0.0;
  for (auto at = std::max(first, least) / 64; at <= std::min(last, greatest) / 64; ++at)
    most = std::max(most, highest[static_cast<std::size_t>(at)]);
  return most;
}

void PairSums::vacate(std::int32_t sum) {
  auto& word = occupied[static_cast<std::size_t>(sum / 64)];
  const auto bit = std::uint64_t{1} << (sum % 64);
  count -= (word & bit) != 0 ? 1 : 0;
  word &= ~bit;
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
