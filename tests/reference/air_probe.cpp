// SPDX-License-Identifier: Apache-2.0
// Computes what the air does between antennas as its input asks, so that other programs can
// compare. One line of numbers out for one line in:
//   two-ray FREQUENCY_HZ METRES ANTENNA_M CARRIER_M REFLECTION
//       → dB of the two rays, least and usual loss, metres to the breakpoint
//   indoor FREQUENCY_HZ METRES DB_PER_DECADE  → dB as indoors, least and usual loss
//   fading AVAILABILITY ANTENNAS  → dB of margin
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <initializer_list>
#include <iostream>
#include <sstream>
#include <string>

#include "daemon/rf/fading.hpp"
#include "daemon/rf/propagation.hpp"

namespace {

using namespace catwalk::rf;

template <class T>
T read(std::istream& in) {
  T value{};
  in >> value;
  return value;
}

Frequency read_frequency(std::istream& in) { return Frequency::hertz(read<std::int64_t>(in)); }
Metres read_metres(std::istream& in) { return Metres::of(read<double>(in)); }

template <class T>
T require(Checked<T> made) {
  if (made) return *std::move(made);
  std::fprintf(stderr, "%s\n", made.error().message().c_str());
  std::exit(2);
}

void print(std::initializer_list<double> numbers) {
  for (const double number : numbers) std::printf("%.9f ", number);
}

void two_ray(std::istream& in) {
  const auto at = read_frequency(in);
  const auto distance = read_metres(in);
  TwoRay over;
  over.antenna_height = read_metres(in);
  over.carrier_height = read_metres(in);
  over.reflection = read<double>(in);
  const auto range = require(loss_range(at, distance, over));
  print({require(two_ray_loss(at, distance, over)).value(), range.least.value(),
         range.usual.value(), breakpoint(at, over).value()});
}

void indoor(std::istream& in) {
  const auto at = read_frequency(in);
  const auto distance = read_metres(in);
  const Indoor among{Decibel::of(read<double>(in))};
  const auto range = require(loss_range(at, distance, among));
  print({require(indoor_loss(at, distance, among)).value(), range.least.value(),
         range.usual.value()});
}

void fading(std::istream& in) {
  const auto availability = read<double>(in);
  print({require(fading_margin(availability, read<int>(in))).value()});
}

}  // namespace

int main() {
  for (std::string line; std::getline(std::cin, line);) {
    std::istringstream in{line};
    const auto what = read<std::string>(in);
    if (what == "two-ray") {
      two_ray(in);
    } else if (what == "indoor") {
      indoor(in);
    } else if (what == "fading") {
      fading(in);
    } else {
      std::fprintf(stderr, "what is '%s'?\n", what.c_str());
      return 2;
    }
    std::printf("\n");
  }
  return 0;
}
