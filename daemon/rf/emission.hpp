// SPDX-License-Identifier: Apache-2.0
#pragma once
// How the power of a modulated carrier lies over frequency, and how much of a product of several
// lies in a channel.
//
// The spectrum of a product of signals that know nothing of each other is the convolution of
// theirs. Each of these is taken to be even over a width that has the variance of the real one; of
// three, the product's is then a quadratic spline, a triangle's next shape. A carrier that enters a
// product twice (2a − b) is not two that know nothing of each other:
//
//   fm        a constant envelope; twice, it deviates twice as far: four times the variance. Even
//             width 0.65 of the occupied bandwidth, as of a Gaussian spectrum (√12 / 5.15 = 0.67).
//   psk       phases of one amplitude, as pulses with rounded edges: width 0.905 of the occupied
//             bandwidth, twice 1.10 times as wide; between the pulses its envelope varies, and so
//             the mean of the squared power is 1.22 times the square of the mean power.
//   qam       sixteen and more points, as pulses: 0.92, twice 1.06 times as wide, 1.50 times.
//   ofdm      many subcarriers, even and with edges like walls: 1.00, as wide twice, and like noise
//             of that band 2 times.
//
// One that enters three times (3a − 2b) is, likewise, two even spectra of 1.38, 1.28, 1.25 and 1.23
// of the occupied bandwidth, and the mean of the cubed power 1, 1.67, 2.8 and 6 times the cube of
// the mean; the one that enters twice beside it counts as one, with the variance of its two.
//
// Sources: the occupied bandwidth holds 99 % of the power, ITU Radio Regulations No. 1.153 (from
// memory); the rest follows, figures rounded from spectra of FM by noise and of square-root raised
// cosine pulses of roll-off 0.20 and 0.35. Against carriers sent through a cubic: within 0.5 dB of
// the power in a channel, down to a tenth of the product's (tests/reference/rf_products.py). Speech
// and music deviate a carrier less, most of the time: then up to 1 dB more lies at the product's
// centre.

#include <array>

#include "daemon/base/words.hpp"
#include "daemon/rf/units.hpp"

namespace catwalk::rf {

enum class Modulation { fm, psk, qam, ofdm };
constexpr auto words_of(Modulation) {
  using enum Modulation;
  return WordTable<Modulation, 4>{{{"fm", fm}, {"psk", psk}, {"qam", qam}, {"ofdm", ofdm}}};
}
using catwalk::name_of;

struct Emission {
  Frequency bandwidth = {};  // occupied, ≥ 0; 0: without modulation
  Modulation modulation = Modulation::fm;
  friend bool operator==(const Emission&, const Emission&) = default;

  // Hz, of an even spectrum with the same variance.
  double width() const;
  // Hz, of each of two such for a carrier that enters twice.
  double width_twice() const;
  // The mean of the squared power over the squared mean of the power.
  double power_twice() const;
  // Hz, of each of two such for a carrier that enters three times.
  double width_thrice() const;
  // The mean of the cubed power over the cubed mean of the power.
  double power_thrice() const;
  // No product of such carriers, and of narrower ones, lies further to each side of its centre.
  Frequency reach() const;
  // The same of 3a − 2b, of whatever kinds.
  Frequency reach_of_fifth() const;
};

// The widths of what makes a product, Hz, ≥ 0, in any order.
using ProductWidths = std::array<double, 3>;
ProductWidths widths_of(const Emission& a, const Emission& b, const Emission& c);  // a ± b ± c
ProductWidths widths_of_twice(const Emission& twice, const Emission& once);        // 2a ± b
ProductWidths widths_of_thrice(const Emission& thrice, const Emission& twice);     // 3a ± 2b

// The part of a product's power that lies in a channel; `low` ≤ `high`, from the product's centre,
// Hz. Without any width all of it lies at the centre, edges of the channel included. 0 to 1.
double share_between(double low, double high, const ProductWidths& widths);

}  // namespace catwalk::rf
