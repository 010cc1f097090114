// SPDX-License-Identifier: Apache-2.0
#include "daemon/rf/pair_tables.hpp"

#include <algorithm>
#include <functional>
#include <utility>

namespace catwalk::rf {
namespace {

// 4·pa·pb: six orderings of three signals in the cube against three of two.
inline double weight_of(const PairTables::Carrier& a, const PairTables::Carrier& b) {
  return 4.0 * a.power * b.power;
}

// What other pairs than {a, b} bring to their sum. Of one carrier twice there is no pair.
inline double without(const PairSums& sums, const PairTables::Carrier& a,
                      const PairTables::Carrier& b) {
  const auto sum = a.bin + b.bin;
  if (a.bin == b.bin) return sums.power[static_cast<std::size_t>(sum)];
  return sums.without(sum, std::min(a.bin, b.bin), weight_of(a, b));
}

}  // namespace

PairTables::PairTables(std::int32_t bins, std::vector<double> power_twice)
    : bins_{bins}, power_twice_{std::move(power_twice)}, power_(index(bins)), kind_(index(bins)) {
  sums_.assign(pairs(), PairSums{index(2 * bins - 1)});
}

void PairTables::add_pair(const Carrier& a, const Carrier& b) {
  sums_[pair_of(a.kind, b.kind)].add(a.bin + b.bin, weight_of(a, b), std::min(a.bin, b.bin));
}

void PairTables::drop_pair(const Carrier& gone, const Carrier& other) {
  const auto pair = pair_of(gone.kind, other.kind);
  auto& sums = sums_[pair];
  const auto sum = gone.bin + other.bin;
  auto pairs = sums.pairs_on(sum);
  const bool strongest = pairs.member == std::min(gone.bin, other.bin);
  const double left =
      strongest ? -1.0 : subtract_safely(pairs.rest, weight_of(gone, other), pairs.peak);
  if (left < 0.0) {
    pairs = pairs.count == 1 ? PairSums::Pairs{} : added_up(pair, sum);
  } else {
    pairs.rest = left;
    --pairs.count;
  }
  sums.put(sum, pairs);
}

PairSums::Pairs PairTables::added_up(std::size_t pair, std::int32_t sum,
                                     std::int32_t without) const {
  PairSums::Pairs pairs;
  for (const auto& carrier : carriers_) {
    const auto other = sum - carrier.bin;
    if (other <= carrier.bin || other >= bins_ || power_[index(other)] <= 0.0) continue;
    const Carrier partner{other, kind_[index(other)], power_[index(other)]};
    if (pair_of(carrier.kind, partner.kind) != pair || carrier.bin == without) continue;
    pairs.add(weight_of(carrier, partner), carrier.bin);
  }
  return pairs;
}

void PairTables::prepare_edits() {
  if (!differences_.empty()) return;
  differences_.resize(kinds() * kinds());
  for (auto& each : differences_) {
    each.power.resize(index(2 * bins_ - 1));
    each.states.resize(index(2 * bins_ - 1));
  }
  for (const auto& a : carriers_)
    for (const auto& b : carriers_)
      if (a.bin != b.bin) add_difference(a, b);
}

void PairTables::add_difference(const Carrier& from, const Carrier& to) {
  auto& all = differences(from.kind, to.kind);
  const auto at = index(bins_ - 1 + from.bin - to.bin);
  auto& state = all.states[at];
  all.power[at] += from.power * to.power;
  state.peak = std::max(state.peak, all.power[at]);
  ++state.count;
}

// The same difference may go twice with one carrier, once to each side of it: adding up again waits
// until both are gone.
void PairTables::drop_difference(const Carrier& from, const Carrier& to) {
  auto& all = differences(from.kind, to.kind);
  const auto at = index(bins_ - 1 + from.bin - to.bin);
  auto& state = all.states[at];
  auto& power = all.power[at];
  if (--state.count == 0)
    power = state.peak = 0.0;
  else if (power >= 0.0)
    power = subtract_safely(power, from.power * to.power, state.peak);
}

void PairTables::add_up_difference(const Carrier& from, const Carrier& to) {
  auto& all = differences(from.kind, to.kind);
  const auto difference = from.bin - to.bin;
  auto& power = all.power[index(bins_ - 1 + difference)];
  if (power >= 0.0) return;
  power = 0.0;
  for (const auto& carrier : carriers_) {
    const auto other = carrier.bin - difference;
    if (carrier.kind != from.kind || other < 0 || other >= bins_) continue;
    if (kind_[index(other)] == to.kind) power += carrier.power * power_[index(other)];
  }
  all.states[index(bins_ - 1 + difference)].peak = power;
}

void PairTables::clear() {
  for (const auto& carrier : carriers_) power_[index(carrier.bin)] = 0.0;
  for (auto& sums : sums_) sums.clear();
  carriers_.clear();
  by_power_.clear();
  differences_.clear();
}

void PairTables::insert(const Carrier& carrier) {
  power_[index(carrier.bin)] = carrier.power;
  kind_[index(carrier.bin)] = static_cast<std::uint16_t>(carrier.kind);
  for (const auto& other : carriers_) {
    add_pair(carrier, other);
    if (differences_.empty()) continue;
    add_difference(carrier, other);
    add_difference(other, carrier);
  }
  carriers_.insert(std::ranges::upper_bound(carriers_, carrier.bin, {}, &Carrier::bin), carrier);
  by_power_.insert(
      std::ranges::upper_bound(by_power_, carrier.power, std::greater{}, &Carrier::power), carrier);
}

void PairTables::erase(std::int32_t bin) {
  const auto found = std::ranges::lower_bound(carriers_, bin, {}, &Carrier::bin);
  const auto gone = *found;
  carriers_.erase(found);
  by_power_.erase(std::ranges::find(by_power_, bin, &Carrier::bin));
  // From here on, adding up must not find it.
  power_[index(bin)] = 0.0;
  for (const auto& other : carriers_) {
    drop_pair(gone, other);
    drop_difference(gone, other);
    drop_difference(other, gone);
  }
  for (const auto& other : carriers_) {
    add_up_difference(gone, other);
    add_up_difference(other, gone);
  }
}

std::span<const PairTables::Carrier> PairTables::standing_on(std::int32_t first,
                                                             std::int32_t last) const {
  const auto from = std::ranges::lower_bound(carriers_, first, {}, &Carrier::bin);
  const auto to = std::ranges::upper_bound(from, carriers_.end(), last, {}, &Carrier::bin);
  return {from, to};
}

// A channel as the sums of a pair of kinds, less a carrier of one kind, meet it. The pairs {c, x}
// less c fall on x, where others are to be asked for one by one; all else is one run.
struct PairTables::Listening {
  std::int32_t first = 0;           // bin
  std::vector<double> of_bin;       // from there on; 0 where one of these stands
  std::vector<Carrier> standing;    // that make the pair with the kind of c
  std::vector<double> of_standing;  // their weights
};

PairTables::Listening PairTables::listening(std::size_t pair, std::size_t kind,
                                            const BinWeights& weights, std::int32_t shift) const {
  Listening heard{weights.first + shift, weights.of_bin, {}, {}};
  for (const auto& x : standing_on(heard.first, weights.last() + shift)) {
    if (pair_of(kind, x.kind) != pair) continue;
    heard.standing.push_back(x);
    heard.of_standing.push_back(std::exchange(heard.of_bin[index(x.bin - heard.first)], 0.0));
  }
  return heard;
}

double PairTables::three_products(std::size_t pair, std::size_t kind, const BinWeights& weights,
                                  std::int32_t shift) const {
  const auto& sums = sums_[pair];
  const auto heard = listening(pair, kind, weights, shift);
  double power = 0.0;
  for (const auto& c : carriers_)
    if (c.kind == kind) power += c.power * sums.weighed(heard.first + c.bin, heard.of_bin);
  for (std::size_t i = 0; i < heard.standing.size(); ++i) {
    const auto& x = heard.standing[i];
    double on_x = 0.0;
    for (const auto& c : carriers_)
      if (c.kind == kind) on_x += c.power * without(sums, c, x);
    power += heard.of_standing[i] * on_x;
  }
  return power;
}

// visit(a, c, weight) of every 2a−c in the channel.
template <class Visit>
void PairTables::for_each_two(const ChannelWeights& weights, std::int32_t shift,
                              const Visit& visit) const {
  if (carriers_.empty()) return;
  const auto lowest = carriers_.front().bin;
  const auto highest = carriers_.back().bin;
  for (std::size_t kind_a = 0; kind_a < kinds(); ++kind_a)
    for (std::size_t kind_c = 0; kind_c < kinds(); ++kind_c) {
      const auto& wanted = weights.two[two_of(kind_a, kind_c)];
      const auto first = wanted.first + shift;
      const auto last = wanted.last() + shift;
      auto c = carriers_.begin();
      // Of the others 2a lies too far away.
      for (const auto& a : standing_on((lowest + first) / 2, (highest + last + 1) / 2)) {
        if (a.kind != kind_a) continue;
        while (c != carriers_.end() && c->bin < 2 * a.bin - last) ++c;
        for (auto each = c; each != carriers_.end() && each->bin <= 2 * a.bin - first; ++each)
          if (each->kind == kind_c && each->bin != a.bin)
            visit(a, *each, wanted.of_bin[index(2 * a.bin - each->bin - first)]);
      }
    }
}

double PairTables::products(const ChannelWeights& weights, std::int32_t shift) const {
  double power = 0.0;
  for (std::size_t kind = 0; kind < kinds(); ++kind)
    for (std::size_t pair = 0; pair < pairs(); ++pair)
      power += three_products(pair, kind, weights.three[three_of(pair, kind)], shift);
  for_each_two(weights, shift, [&](const Carrier& a, const Carrier& c, double weight) {
    power += weight * power_twice_[a.kind] * a.power * a.power * c.power;
  });
  return power;
}

double PairTables::products_with(const Carrier& x, const ChannelWeights& weights,
                                 std::int32_t shift) const {
  double power = 0.0;
  // b + c − x
  for (std::size_t pair = 0; pair < pairs(); ++pair) {
    const auto& wanted = weights.three[three_of(pair, x.kind)];
    power += x.power * sums_[pair].weighed(wanted.first + shift + x.bin, wanted.of_bin);
  }
  // x + b − c
  for (std::size_t b = 0; b < kinds(); ++b)
    for (std::size_t c = 0; c < kinds(); ++c) {
      const auto& wanted = weights.three[three_of(pair_of(x.kind, b), c)];
      power += 4.0 * x.power *
               weighed(differences_[b * kinds() + c].power,
                       wanted.first + shift - x.bin + bins_ - 1, wanted.of_bin);
    }
  // 2x − c, then 2a − x
  for (std::size_t kind = 0; kind < kinds(); ++kind) {
    const auto& less = weights.two[two_of(x.kind, kind)];
    const auto from = 2 * x.bin - shift;
    for (const auto& c : standing_on(from - less.last(), from - less.first))
      if (c.kind == kind)
        power += less.at(from - c.bin) * power_twice_[x.kind] * x.power * x.power * c.power;
    const auto& twice = weights.two[two_of(kind, x.kind)];
    const auto to = x.bin + shift;
    for (const auto& a : standing_on((to + twice.first) / 2, (to + twice.last() + 1) / 2))
      if (a.kind == kind)
        power += twice.at(2 * a.bin - to) * power_twice_[kind] * a.power * a.power * x.power;
  }
  return power;
}

// The strongest of the pairs that bring something to the sum of a and b, without these two.
PairSums::Pairs PairTables::strongest_without(const Carrier& a, const Carrier& b) const {
  const auto pair = pair_of(a.kind, b.kind);
  const auto sum = a.bin + b.bin;
  const auto all = sums_[pair].pairs_on(sum);
  if (a.bin == b.bin || all.member != std::min(a.bin, b.bin)) return all;
  return added_up(pair, sum, all.member);
}

// Strong carriers come first, so that of the others a look at the bounds is enough.
void PairTables::find_strongest(std::size_t pair, std::size_t kind, const Listening& heard,
                                Triple& best) const {
  const auto& sums = sums_[pair];
  const auto last = heard.first + static_cast<std::int32_t>(heard.of_bin.size()) - 1;
  const auto take = [&](const PairSums::Pairs& pairs, std::int32_t sum, const Carrier& c,
                        double weight) {
    const double power = pairs.strongest * c.power * weight;
    if (power > best.power) best = {pairs.member, sum - pairs.member, c.bin, power, weight};
  };
  for (const auto& c : by_power_) {
    if (sums.most * c.power <= best.power) return;
    if (c.kind != kind) continue;
    for (std::size_t i = 0; i < heard.standing.size(); ++i) {
      const auto& x = heard.standing[i];
      const double weight = heard.of_standing[i];
      if (without(sums, c, x) * c.power * weight > best.power)
        take(strongest_without(c, x), c.bin + x.bin, c, weight);
    }
    // None of them brings more than all together.
    if (sums.weighed(heard.first + c.bin, heard.of_bin) * c.power <= best.power) continue;
    sums.for_each(heard.first + c.bin, last + c.bin, [&](std::int32_t sum) {
      const double weight = heard.of_bin[index(sum - c.bin - heard.first)];
      if (sums.power[index(sum)] * c.power * weight > best.power)
        take(sums.pairs_on(sum), sum, c, weight);
    });
  }
}

PairTables::Triple PairTables::strongest(const ChannelWeights& weights, std::int32_t shift) const {
  Triple best;
  for (std::size_t kind = 0; kind < kinds(); ++kind)
    for (std::size_t pair = 0; pair < pairs(); ++pair)
      find_strongest(pair, kind, listening(pair, kind, weights.three[three_of(pair, kind)], shift),
                     best);
  for_each_two(weights, shift, [&](const Carrier& a, const Carrier& c, double weight) {
    const double power = weight * power_twice_[a.kind] * a.power * a.power * c.power;
    if (power > best.power) best = {a.bin, a.bin, c.bin, power, weight};
  });
  return best;
}

}  // namespace catwalk::rf
