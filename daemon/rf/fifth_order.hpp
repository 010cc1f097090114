// SPDX-License-Identifier: Apache-2.0
#pragma once
// Fifth-order intermodulation of two carriers: the products 3a−2b that a stage makes of carriers of
// unequal levels. Levels and products are those of intermodulation.hpp: at the stage's input, the
// stage known by its input fifth-order intercept.
//
//   3a−2b    3·Pa + 2·Pb − 4·IIP5
//
// Source: K.-C. Chan, "IP3 and intermodulation guide", Maxim Integrated tutorial 5429, for two
// equal signals: OIPn = P + ΔP/(n − 1); what each of two unequal ones does follows from how often
// it enters. Held against carriers sent through a fifth power (tests/reference/rf_products.py).
//
// Valid well below compression, for a non-linearity without memory. Not counted: products of fifth
// order of three carriers and more, and what the fifth order adds to 2a−b and a+b−c. Rules are
// those of intermodulation.hpp: carriers on one frequency count as one, a product of negative
// frequency is the one at the positive, products that meet add in power.

#include <span>
#include <vector>

#include "daemon/rf/intermodulation.hpp"

namespace catwalk::rf {

PowerLevel fifth_order_product(PowerLevel thrice, PowerLevel twice, PowerLevel input_ip5);

// mW⁵ that all of them bring to each of the channels, each with the part of its power that lies
// there, before the intercept. Time n²·log of the channels, and more where channels overlap.
std::vector<double> fifth_order_in(std::span<const Band> channels, std::span<const Tone> tones);
// At the input of a stage with this intercept.
PowerLevel fifth_order_level(double quintic, PowerLevel input_ip5);

// Those of which anything falls into `channel`, with that part of their power, most first.
std::vector<Product> fifth_order_products_in(Band channel, std::span<const Tone> tones,
                                             PowerLevel input_ip5);

}  // namespace catwalk::rf
