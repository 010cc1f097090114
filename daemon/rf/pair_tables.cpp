// SPDX-License-Identifier: Apache-2.0
#include "daemon/rf/pair_tables.hpp"

#include <algorithm>
#include <array>

namespace catwalk::rf {

PairTables::PairTables(std::int32_t bins)
    : bins_{bins}, power_(index(bins)), sums_(index(2 * bins - 1)), pairs_(index(2 * bins - 1)) {}

double PairTables::total(const std::vector<double>& table, std::int32_t first, std::int32_t last,
                         std::int32_t origin) const {
  const auto from = std::max(first + origin, 0);
  const auto to = std::min(last + origin, static_cast<std::int32_t>(table.size()) - 1);
  // Four at a time, which need not wait for each other.
  std::array<double, 4> sums{};
  auto i = from;
  for (; i + 3 <= to; i += 4)
    for (std::int32_t k = 0; k < 4; ++k) sums[index(k)] += table[index(i + k)];
  double sum = (sums[0] + sums[1]) + (sums[2] + sums[3]);
  for (; i <= to; ++i) sum += table[index(i)];
  return sum;
}

double PairTables::weight(std::int32_t a, std::int32_t b) const {
  const double product = power_[index(a)] * power_[index(b)];
  return a == b ? product : 4.0 * product;
}

// Without branches: which pair is stronger cannot be foreseen.
void PairTables::put(Pairs& pairs, double added, std::int32_t member) {
  const bool stronger = added > pairs.strongest;
  pairs.rest += stronger ? pairs.strongest : added;
  pairs.strongest = stronger ? added : pairs.strongest;
  pairs.member = stronger ? member : pairs.member;
  ++pairs.count;
}

void PairTables::add_pair(std::int32_t a, std::int32_t b) {
  auto& pairs = pairs_[index(a + b)];
  put(pairs, weight(a, b), std::min(a, b));
  sums_[index(a + b)] = pairs.strongest + pairs.rest;
  if (!rest_peaks_.empty()) {
    rest_peaks_[index(a + b)] = std::max(rest_peaks_[index(a + b)], pairs.rest);
  }
}

void PairTables::drop_pair(std::int32_t gone, std::int32_t other, double part) {
  auto& pairs = pairs_[index(gone + other)];
  auto& peak = rest_peaks_[index(gone + other)];
  const bool strongest = pairs.member == std::min(gone, other);
  const double left = strongest ? -1.0 : subtract_safely(pairs.rest, part, peak);
  if (left < 0.0) {
    pairs = pairs.count == 1 ? Pairs{} : added_up(gone + other);
    peak = pairs.rest;
  } else {
    pairs.rest = left;
    --pairs.count;
  }
  sums_[index(gone + other)] = pairs.strongest + pairs.rest;
}

PairTables::Pairs PairTables::added_up(std::int32_t sum) const {
  Pairs pairs;
  for (const auto& carrier : carriers_) {
    const auto other = sum - carrier.bin;
    if (other < carrier.bin || other >= bins_ || power_[index(other)] <= 0.0) continue;
    put(pairs, weight(carrier.bin, other), carrier.bin);
  }
  return pairs;
}

void PairTables::prepare_edits() {
  if (!differences_.empty()) return;
  rest_peaks_.resize(sums_.size());
  for (std::size_t i = 0; i < pairs_.size(); ++i) rest_peaks_[i] = pairs_[i].rest;
  differences_.resize(sums_.size());
  difference_states_.resize(sums_.size());
  for (std::size_t i = 0; i < carriers_.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      add_difference(carriers_[i].bin - carriers_[j].bin, carriers_[i].power * carriers_[j].power);
    }
  }
}

void PairTables::add_difference(std::int32_t difference, double product) {
  for (const auto at : {bins_ - 1 + difference, bins_ - 1 - difference}) {
    auto& sum = differences_[index(at)];
    auto& state = difference_states_[index(at)];
    sum += product;
    state.peak = std::max(state.peak, sum);
    ++state.count;
  }
}

void PairTables::clear() {
  for (std::size_t i = 0; i < carriers_.size(); ++i) {
    power_[index(carriers_[i].bin)] = 0.0;
    for (std::size_t j = 0; j <= i; ++j) {
      const auto sum = index(carriers_[i].bin + carriers_[j].bin);
      sums_[sum] = 0.0;
      pairs_[sum] = {};
    }
  }
  carriers_.clear();
  rest_peaks_.clear();
  differences_.clear();
  difference_states_.clear();
}

void PairTables::insert(std::int32_t bin, double power) {
  power_[index(bin)] = power;
  for (const auto& other : carriers_) {
    add_pair(bin, other.bin);
    if (!differences_.empty()) add_difference(bin - other.bin, power * other.power);
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
  for (const auto& other : carriers_) add_up_difference(bin - other.bin);
}

// The same difference may go twice with one carrier, once to each side of it: adding up again waits
// until both are gone.
void PairTables::drop_difference(std::int32_t difference, double part) {
  const auto up = index(difference + bins_ - 1);
  const auto down = index(bins_ - 1 - difference);
  auto& state = difference_states_[up];
  if (--state.count == 0)
    differences_[up] = state.peak = 0.0;
  else if (differences_[up] >= 0.0)
    differences_[up] = subtract_safely(differences_[up], part, state.peak);
  difference_states_[down] = state;
  differences_[down] = differences_[up];
}

void PairTables::add_up_difference(std::int32_t difference) {
  const auto up = index(difference + bins_ - 1);
  const auto down = index(bins_ - 1 - difference);
  if (differences_[up] >= 0.0) return;
  double sum = 0.0;
  for (const auto& carrier : carriers_) {
    const auto other = carrier.bin - difference;
    if (other >= 0 && other < bins_) sum += carrier.power * power_[index(other)];
  }
  difference_states_[up].peak = difference_states_[down].peak = sum;
  differences_[up] = differences_[down] = sum;
}

// What other pairs than {member, sum − member}, both carriers, bring to `sum`.
double PairTables::sum_of_others(std::int32_t sum, std::int32_t member) const {
  constexpr double enough = 1e-3;
  const auto& pairs = pairs_[index(sum)];
  const auto partner = sum - member;
  const double left = sums_[index(sum)] - weight(member, partner);
  // One test that mostly fails, instead of two that cannot be foreseen.
  const bool digits_lost = (left < enough * sums_[index(sum)]) & (pairs.count > 1);
  if (!digits_lost) return pairs.count > 1 ? left : 0.0;
  if (pairs.member == std::min(member, partner)) return pairs.rest;
  // The pair to leave out is no stronger than `strongest`, which stays: no digits are lost.
  return pairs.strongest + std::max(0.0, pairs.rest - weight(member, partner));
}

double PairTables::products_between(std::int32_t first, std::int32_t last) const {
  double power = 0.0;
  for (const auto& carrier : carriers_) {
    power += carrier.power * total(sums_, first + carrier.bin, last + carrier.bin, 0);
  }
  return power;
}

double PairTables::products_on(std::int32_t carrier) const {
  double power = 0.0;
  for (const auto& other : carriers_) {
    power += other.power * sum_of_others(carrier + other.bin, carrier);
  }
  return power;
}

// Of the pairs that bring something to `sum`, the strongest without c.
PairTables::Triple PairTables::strongest_of_others(std::int32_t sum, const Carrier& c) const {
  Triple best;
  for (const auto& carrier : carriers_) {
    const auto other = sum - carrier.bin;
    if (other < carrier.bin || other >= bins_ || power_[index(other)] <= 0.0) continue;
    if (carrier.bin == c.bin || other == c.bin) continue;
    const double power = weight(carrier.bin, other) * c.power;
    if (power > best.power) best = {carrier.bin, other, c.bin, power};
  }
  return best;
}

PairTables::Triple PairTables::strongest(std::int32_t first, std::int32_t last) const {
  Triple best;
  for (const auto& c : carriers_) {
    const auto to = std::min(last + c.bin, 2 * (bins_ - 1));
    for (auto sum = std::max(first + c.bin, 0); sum <= to; ++sum) {
      // All pairs together are seldom enough, and stand closer in memory.
      if (sums_[index(sum)] * c.power <= best.power) continue;
      const auto& pairs = pairs_[index(sum)];
      const double power = pairs.strongest * c.power;
      if (power <= best.power) continue;
      const auto partner = sum - pairs.member;
      const auto found = pairs.member == c.bin || partner == c.bin
                             ? strongest_of_others(sum, c)
                             : Triple{pairs.member, partner, c.bin, power};
      if (found.power > best.power) best = found;
    }
  }
  return best;
}

}  // namespace catwalk::rf
