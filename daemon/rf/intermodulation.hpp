// SPDX-License-Identifier: Apache-2.0
#pragma once
// Third-order intermodulation: the products 2a−b and a+b−c that a stage makes of carriers of
// unequal levels, each product with its frequency and level.
//
// A stage is known by its input third-order intercept (Stage::input_ip3, or Cascade::input_ip3 for
// a whole chain). Levels are those at the stage's input: the caller takes off each carrier what
// filters before the stage reject. Levels of products are referred to the input too; what leaves
// the stage is higher by its gain, what it does behind a filter is up to that filter.
//
//   2a−b     2·Pa + Pb − 2·IIP3
//   a+b−c    Pa + Pb + Pc − 2·IIP3 + 6.02 dB       (20·lg 2, exactly)
//
// Sources: Recommendation ITU-R SM.1134-1, § 3.2 (form, from memory); H. Hausman, "Carrier triple
// beats", Microwave Journal (6 dB between the two kinds); IIM3 = 3·P − 2·IIP3: Analog Devices, "Use
// selectivity to improve receiver intercept point", equation 1.
//
// A product is wider than its carriers; what of it lies in a channel counts there (emission.hpp). A
// carrier whose envelope varies makes more of 2a−b than one of the same mean power that does not.
//
// Valid well below compression (some 10 dB under the input P1dB), for a cubic non-linearity without
// memory, carriers at least as wide apart as they are wide. Not counted: sums (3a, 2a+b, a+b+c),
// which lie above 1.4 GHz for carriers above 470 MHz, and orders above the third (fifth_order.hpp).
// A product of negative frequency (2a < b) is the one at the same positive frequency.
//
// Rules that everything here follows:
//  - carriers on the same frequency count as one with the sum of their powers, and with the
//    emission of the strongest;
//  - a−b+b, a carrier's own compression by others, is no product: a, b and c differ (two-signal: a
//    and b);
//  - products that meet in a channel add in power: their phases know nothing of each other.

#include <cstddef>
#include <limits>
#include <span>
#include <vector>

#include "daemon/rf/decibel.hpp"
#include "daemon/rf/emission.hpp"

namespace catwalk::rf {

// A carrier where it enters a stage. frequency > 0; level no_power() or above −300 dBm.
struct Tone {
  Frequency frequency;
  PowerLevel level;
  Emission emission = {};
  friend bool operator==(const Tone&, const Tone&) = default;
};

PowerLevel two_signal_product(PowerLevel twice, PowerLevel once, PowerLevel input_ip3);
PowerLevel three_signal_product(PowerLevel a, PowerLevel b, PowerLevel c, PowerLevel input_ip3);

enum class Order { third, fifth };

// plus[0] + plus[1] − minus; plus[0] ≤ plus[1], the same frequency for a two-signal product. Of the
// fifth order three times plus[0], which is plus[1], less twice minus.
struct Product {
  Frequency plus[2];
  Frequency minus;
  Frequency at;  // its centre; > 0, or 0 where all cancels
  PowerLevel level;
  double share = 1.0;  // of its power that lies in the channel asked about, and that `level` tells
  Order order = Order::third;
  friend bool operator==(const Product&, const Product&) = default;

  bool two_signal() const { return plus[0] == plus[1]; }
};

// In order of frequency, one tone for each, those without power left out.
std::vector<Tone> merged(std::span<const Tone> tones);

// What of a + b − c lies in `channel`, wherever its centre is; a product of negative frequency is
// heard at the positive one. 2a − c where a and b have one frequency.
double share_in(Band channel, const Tone& a, const Tone& b, const Tone& c);

// Every product whole, by trying every triple; n²(n−1)/2 of them for n frequencies. The yardstick
// for IntermodulationSearch, and for small sets.
std::vector<Product> products_naive(std::span<const Tone> tones, PowerLevel input_ip3);

// A stage in a row, as products see it: with what enters it, and what its products are referred by.
struct DistortingStage {
  std::span<const Tone> tones;
  PowerLevel input_ip3;
  Decibel referred_by;  // from its input to where products are compared
};
inline constexpr auto every_one = std::numeric_limits<std::size_t>::max();
// The products that bring most into `channel`, of all stages together, most first, each with the
// part of its power that falls there: those of one triple in phase, the worst that can be. At most
// `most`, above 0, of them. Time n²·log n, and a look at each; what is not kept is not listed.
std::vector<Product> strongest_in(Band channel, std::span<const DistortingStage> stages,
                                  std::size_t most);

// The products of which anything falls into `channel`, of one stage, likewise: the explanation of a
// level.
std::vector<Product> products_in(Band channel, std::span<const Tone> tones, PowerLevel input_ip3);

}  // namespace catwalk::rf
