// SPDX-License-Identifier: Apache-2.0
#pragma once
// The sums and differences of all pairs of carriers on a raster, as histograms of their powers.
// Every product of three carriers is a sum less a carrier, so the sums say in one look how much
// power all pairs together bring to a frequency; products of two are looked up carrier by carrier.
// Part of IntermodulationSearch.
//
// Carriers stand on bins 0 … bins−1, one on a bin, with a power in milliwatts and of a kind: those
// of one kind make products of one shape, and each pair of kinds has its own histogram. Any
// accumulated power is exact to rounding: sums only ever add positive terms, and a subtraction that
// would eat the digits is replaced by adding up again.

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "daemon/rf/pair_sums.hpp"

namespace catwalk::rf {

// What is left of an accumulated power when `part` goes, or −1 if so little that rounding could
// show: then add up again. `peak` is the most it has been since it was last added up; every step
// since may have cost a rounding of that.
inline double subtract_safely(double value, double part, double peak) {
  constexpr double least_part_left = 1e-3;
  const double left = value - part;
  return left < least_part_left * peak ? -1.0 : left;
}

// How much of a product counts in a channel, by the bin it lies on: 0 to 1, and 0 on all others.
struct BinWeights {
  std::int32_t first = 0;
  std::vector<double> of_bin = {};  // from `first` on
  std::int32_t last() const { return first + static_cast<std::int32_t>(of_bin.size()) - 1; }
  double at(std::int32_t bin) const {
    const auto place = static_cast<std::size_t>(bin - first);  // of those below, huge
    return place < of_bin.size() ? of_bin[place] : 0.0;
  }
};

// The same for each kind of product. Kinds of carriers are counted from 0.
struct ChannelWeights {
  // Of a+b−c by the kinds of the pair and of c; of 2a−c by those of a and c.
  std::vector<BinWeights> three;
  std::vector<BinWeights> two;
};

class PairTables {
 public:
  struct Carrier {
    std::int32_t bin = 0;
    std::size_t kind = 0;
    double power = 0.0;  // mW
  };

  // `power_twice`, of each kind: what 2a−c has more than a² · c (emission.hpp).
  PairTables(std::int32_t bins, std::vector<double> power_twice);

  std::int32_t bins() const { return bins_; }
  std::size_t kinds() const { return power_twice_.size(); }
  // In order of bins.
  std::span<const Carrier> carriers() const { return carriers_; }

  // The histogram of a pair of kinds, in any order, and where ChannelWeights has what.
  static constexpr std::size_t pair_of(std::size_t a, std::size_t b) {
    return a < b ? b * (b + 1) / 2 + a : a * (a + 1) / 2 + b;
  }
  std::size_t pairs() const { return kinds() * (kinds() + 1) / 2; }
  std::size_t three_of(std::size_t pair, std::size_t c) const { return pair * kinds() + c; }
  std::size_t two_of(std::size_t a, std::size_t c) const { return a * kinds() + c; }

  // Precondition of insert: the bin is free, power > 0; of erase: it is not free, and
  // prepare_edits() has been called.
  void insert(const Carrier& carrier);
  void erase(std::int32_t bin);
  // As if new, in the same memory.
  void clear();

  // Nothing: none stands there.
  std::optional<Carrier> on(std::int32_t bin) const {
    if (power_[index(bin)] <= 0.0) return std::nullopt;
    return Carrier{bin, kind_[index(bin)], power_[index(bin)]};
  }
  // What only edits need: the differences. Kept from the first call on.
  void prepare_edits();

  // What all products a+b−c with a, b ≠ c bring to the channel whose weights these are, moved up by
  // `shift` bins; in mW³ before the intercept. The pairs {x, c} less c only give the carrier x
  // itself, which is no product, and are left out.
  double products(const ChannelWeights& weights, std::int32_t shift) const;
  // Of these, those with a carrier that is not in the tables. Precondition: prepare_edits().
  double products_with(const Carrier& carrier, const ChannelWeights& weights,
                       std::int32_t shift) const;

  // A product a+b−c with a, b ≠ c, all three bins of carriers.
  struct Triple {
    std::int32_t a = 0;
    std::int32_t b = 0;
    std::int32_t c = 0;
    double power = 0.0;  // mW³ in the channel, before the intercept
    double share = 0.0;  // that this is of the whole
  };
  // The strongest of products(). Its power is 0: there is none.
  Triple strongest(const ChannelWeights& weights, std::int32_t shift) const;

 private:
  struct Difference {
    double peak = 0.0;
    std::int32_t count = 0;
  };
  struct Differences {
    std::vector<double> power;
    std::vector<Difference> states;
  };

  static std::size_t index(std::int32_t bin) { return static_cast<std::size_t>(bin); }
  Differences& differences(std::size_t a, std::size_t b) { return differences_[a * kinds() + b]; }
  void add_difference(const Carrier& from, const Carrier& to);
  void drop_difference(const Carrier& from, const Carrier& to);
  void add_up_difference(const Carrier& from, const Carrier& to);
  void add_pair(const Carrier& a, const Carrier& b);
  void drop_pair(const Carrier& gone, const Carrier& other);
  // The pairs of a sum from their carriers, but for that whose lower bin is `without`.
  PairSums::Pairs added_up(std::size_t pair, std::int32_t sum, std::int32_t without = -1) const;
  PairSums::Pairs strongest_without(const Carrier& a, const Carrier& b) const;
  struct Listening;
  Listening listening(std::size_t pair, std::size_t kind, const BinWeights& weights,
                      std::int32_t shift) const;
  double three_products(std::size_t pair, std::size_t kind, const BinWeights& weights,
                        std::int32_t shift) const;
  void find_strongest(std::size_t pair, std::size_t kind, const Listening& heard,
                      Triple& best) const;
  std::span<const Carrier> standing_on(std::int32_t first, std::int32_t last) const;
  template <class Visit>
  void for_each_two(const ChannelWeights& weights, std::int32_t shift, const Visit& visit) const;

  std::int32_t bins_;
  std::vector<double> power_twice_;
  std::vector<Carrier> carriers_;
  std::vector<Carrier> by_power_;  // the same, strongest first
  std::vector<double> power_;
  std::vector<std::uint16_t> kind_;       // of the carrier on a bin
  std::vector<PairSums> sums_;            // of each pair of kinds
  std::vector<Differences> differences_;  // of each two kinds, in their order
};

}  // namespace catwalk::rf
