// SPDX-License-Identifier: Apache-2.0
#pragma once
// The sums and differences of all pairs of carriers on a raster, as histograms of their powers.
// Every third-order product is a sum less a carrier, so the sums say in one look how much power all
// pairs together bring to a frequency. Part of IntermodulationSearch.
//
// Carriers stand on bins 0 … bins−1, one on a bin, with a power in milliwatts. Any accumulated
// power is exact to rounding: sums only ever add positive terms, and a subtraction that would eat
// the digits is replaced by adding up again.

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace catwalk::rf {

// What is left of an accumulated power when `part` goes, or −1 if so little that rounding could
// show: then add up again. `peak` is the most it has been since it was last added up; every step
// since may have cost a rounding of that.
inline double subtract_safely(double value, double part, double peak) {
  constexpr double least_part_left = 1e-3;
  const double left = value - part;
  return left < least_part_left * peak ? -1.0 : left;
}

class PairTables {
 public:
  struct Carrier {
    std::int32_t bin = 0;
    double power = 0.0;  // mW
  };

  explicit PairTables(std::int32_t bins);

  std::int32_t bins() const { return bins_; }
  std::span<const Carrier> carriers() const { return carriers_; }

  // Precondition of insert: the bin is free, power > 0; of erase: it is not free, and
  // prepare_edits() has been called.
  void insert(std::int32_t bin, double power);
  void erase(std::int32_t bin);

  // As if new, in the same memory.
  void clear();

  double power(std::int32_t bin) const { return power_[index(bin)]; }
  // Σ power[bin], bin from `first` to `last`; bins outside the table are empty. The same for the
  // two below.
  double powers(std::int32_t first, std::int32_t last) const {
    return total(power_, first, last, 0);
  }
  // pa² for 2a and 4·pa·pb for a+b, by the sum of the bins.
  double sums(std::int32_t first, std::int32_t last) const { return total(sums_, first, last, 0); }
  // What only edits need: the differences, and the peaks of sums. Kept from the first call on.
  void prepare_edits();
  // pa·pb by the difference of the bins, either way round; never of a carrier and itself.
  double differences(std::int32_t first, std::int32_t last) const {
    return total(differences_, first, last, bins_ - 1);
  }
  // What all products a+b−c with a, b ≠ c bring to the bins from `first` to `last`, in mW³, when no
  // carrier stands on them; …
  double products_between(std::int32_t first, std::int32_t last) const;
  // … and what they bring to the bin of a carrier. The pairs {carrier, c} less c only give the
  // carrier itself, which is no product, and are left out.
  double products_on(std::int32_t carrier) const;

  // A product a+b−c with a, b ≠ c, all three bins of carriers, in mW³ before the intercept.
  struct Triple {
    std::int32_t a = 0;
    std::int32_t b = 0;
    std::int32_t c = 0;
    double power = 0.0;
  };
  // The strongest of those on the bins from `first` to `last`. Its power is 0: there is none.
  Triple strongest(std::int32_t first, std::int32_t last) const;

 private:
  // The pairs that share a sum. The strongest stands apart from the rest, so that any one pair can
  // be left out without subtracting a large number from a large number.
  struct Pairs {
    double strongest = 0.0;
    double rest = 0.0;
    std::int32_t member = 0;  // the lower bin of the strongest pair
    std::int32_t count = 0;
  };

  struct Difference {
    double peak = 0.0;
    std::int32_t count = 0;
  };

  static std::size_t index(std::int32_t bin) { return static_cast<std::size_t>(bin); }
  double total(const std::vector<double>& table, std::int32_t first, std::int32_t last,
               std::int32_t origin) const;
  double weight(std::int32_t a, std::int32_t b) const;
  void add_difference(std::int32_t difference, double product);
  static void put(Pairs& pairs, double added, std::int32_t member);
  void add_pair(std::int32_t a, std::int32_t b);
  void drop_pair(std::int32_t gone, std::int32_t other, double part);
  void drop_difference(std::int32_t difference, double part);
  void add_up_difference(std::int32_t difference);
  Pairs added_up(std::int32_t sum) const;
  Triple strongest_of_others(std::int32_t sum, const Carrier& c) const;
  double sum_of_others(std::int32_t sum, std::int32_t member) const;

  std::int32_t bins_;
  std::vector<Carrier> carriers_;
  std::vector<double> power_;
  std::vector<double> sums_;  // strongest + rest of each
  std::vector<Pairs> pairs_;
  std::vector<double> rest_peaks_;
  std::vector<double> differences_;
  std::vector<Difference> difference_states_;
};

}  // namespace catwalk::rf
