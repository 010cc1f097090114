// SPDX-License-Identifier: Apache-2.0
#include "daemon/rf/pair_tables.hpp"

#include <algorithm>

namespace catwalk::rf {

PairTables::PairTables(std::int32_t bins) : bins_{bins} {
  const auto single = index(bins);
  const auto twice = 2 * single - 1;
  power_.resize(single);
  sums_.resize(twice);
  pairs_.resize(twice);
  differences_.resize(twice);
  difference_states_.resize(twice);
}

double PairTables::total(const std::vector<double>& table, std::int32_t first, std::int32_t last,
                         std::int32_t origin) const {
  const auto from = std::max(first + origin, 0);
  const auto to = std::min(last + origin, static_cast<std::int32_t>(table.size()) - 1);
  double sum = 0.0;
  for (auto i = from; i <= to; ++i) sum += table[index(i)];
  return sum;
}

double PairTables::weight(std::int32_t a, std::int32_t b) const {
  const double product = power_[index(a)] * power_[index(b)];
  return a == b ? product : 4.0 * product;
}

void PairTables::put(Pairs& pairs, double added, std::int32_t member) {
  if (added > pairs.strongest) {
    std::swap(added, pairs.strongest);
    pairs.member = member;
  }
  pairs.rest += added;
  pairs.peak = std::max(pairs.peak, pairs.rest);
  ++pairs.count;
}

void PairTables::add_pair(std::int32_t a, std::int32_t b) {
  auto& pairs = pairs_[index(a + b)];
  put(pairs, weight(a, b), std::min(a, b));
  sums_[index(a + b)] = pairs.strongest + pairs.rest;
}

void PairTables::drop_pair(std::int32_t gone, std::int32_t other, double part) {
  auto& pairs = pairs_[index(gone + other)];
  const bool strongest = pairs.member == std::min(gone, other);
  const double left = strongest ? -1.0 : subtract_safely(pairs.rest, part, pairs.peak);
  if (pairs.count == 1) {
    pairs = {};
  } else if (left < 0.0) {
    add_up_sum(gone + other);
  } else {
    pairs.rest = left;
    --pairs.count;
  }
  sums_[index(gone + other)] = pairs.strongest + pairs.rest;
}

// From nothing.
void PairTables::add_up_sum(std::int32_t sum) {
  auto& pairs = pairs_[index(sum)];
  pairs = {};
  for (const auto& carrier : carriers_) {
    const auto other = sum - carrier.bin;
    if (other < carrier.bin || other >= bins_ || power_[index(other)] <= 0.0) continue;
    put(pairs, weight(carrier.bin, other), carrier.bin);
  }
}

void PairTables::insert(std::int32_t bin, double power) {
  power_[index(bin)] = power;
  for (const auto& other : carriers_) {
    add_pair(bin, other.bin);
    for (const auto difference : {bin - other.bin, other.bin - bin}) {
      auto& sum = differences_[index(difference + bins_ - 1)];
      auto& state = difference_states_[index(difference + bins_ - 1)];
      sum += power * other.power;
      state.peak = std::max(state.peak, sum);
      ++state.count;
    }
  }
  carriers_.push_back({bin, power});
  add_pair(bin, bin);
}

void PairTables::erase(std::int32_t bin) {
  const auto gone = std::find_if(carriers_.begin(), carriers_.end(),
                                 [bin](const Carrier& carrier) { return carrier.bin == bin; });
  const double power = gone->power;
  carriers_.erase(gone);
  // From here on, adding up must not find it.
  power_[index(bin)] = 0.0;
  drop_pair(bin, bin, power * power);
  for (const auto& other : carriers_) {
    drop_pair(bin, other.bin, 4.0 * power * other.power);
    drop_difference(bin - other.bin, power * other.power);
  }
}

void PairTables::drop_difference(std::int32_t difference, double part) {
  const auto up = index(difference + bins_ - 1);
  const auto down = index(bins_ - 1 - difference);
  auto& state = difference_states_[up];
  double left = 0.0;
  if (--state.count > 0) {
    left = subtract_safely(differences_[up], part, state.peak);
    if (left < 0.0) {
      left = 0.0;
      for (const auto& carrier : carriers_) {
        const auto other = carrier.bin - difference;
        if (other >= 0 && other < bins_) left += carrier.power * power_[index(other)];
      }
      state.peak = left;
    }
  } else {
    state.peak = 0.0;
  }
  difference_states_[down] = state;
  differences_[up] = differences_[down] = left;
}

double PairTables::sum_of_others(std::int32_t sum, std::int32_t member) const {
  const auto& pairs = pairs_[index(sum)];
  const auto partner = sum - member;
  if (pairs.member == std::min(member, partner)) return pairs.rest;
  // The pair to leave out is no stronger than `strongest`, which stays: no digits are lost.
  return pairs.strongest + std::max(0.0, pairs.rest - weight(member, partner));
}

}  // namespace catwalk::rf
