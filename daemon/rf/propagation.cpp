// SPDX-License-Identifier: Apache-2.0
#include "daemon/rf/propagation.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <optional>

#include "daemon/base/overloaded.hpp"

namespace catwalk::rf {
namespace {

using std::numbers::pi;

std::optional<OutOfRange> check_way(Frequency frequency, Metres distance) {
  if (auto fault =
          check_range("frequency", static_cast<double>(frequency.hertz()), 1.0, 1e12, "Hz"))
    return fault;
  return check_range("distance", distance.value(), 1e-3, 1e7, "m");
}

double free_space(Frequency frequency, Metres distance) {
  return 20.0 * std::log10(4.0 * pi * distance.value() / wavelength(frequency).value());
}

std::optional<OutOfRange> check_surface(const TwoRay& over) {
  const auto height = [](const char* field, Metres metres) {
    return check_range(field, metres.value(), 0.1, 1'000.0, "m");
  };
  if (auto fault = check_range("reflection", over.reflection, 0.0, 1.0, "")) return fault;
  if (auto fault = height("antenna_height", over.antenna_height)) return fault;
  return height("carrier_height", over.carrier_height);
}

double two_ray(Frequency frequency, Metres distance, const TwoRay& over) {
  const double direct = distance.value();
  const double both = 4.0 * over.antenna_height.value() * over.carrier_height.value();
  const double reflected = std::sqrt(direct * direct + both);
  // reflected − direct, without subtracting what is nearly the same.
  const double longer = both / (reflected + direct);
  const double turn = -2.0 * pi * longer / wavelength(frequency).value();
  const auto sum = 1.0 - std::polar(over.reflection * direct / reflected, turn);
  return free_space(frequency, distance) - 20.0 * std::log10(std::abs(sum));
}

double indoor(Frequency frequency, Metres distance, const Indoor& among) {
  if (distance <= indoor_from) return free_space(frequency, distance);
  return free_space(frequency, indoor_from) +
         among.loss_per_decade.value() * std::log10(distance.value());
}

std::optional<OutOfRange> check_indoor(const Indoor& among) {
  return check_range("loss_per_decade", among.loss_per_decade.value(), 10.0, 60.0, "dB");
}

LossRange range_of(double least, double usual) { return {Decibel::of(least), Decibel::of(usual)}; }

}  // namespace

Checked<Decibel> free_space_loss(Frequency frequency, Metres distance) {
  if (auto fault = check_way(frequency, distance)) return Failure{*fault};
  return Decibel::of(free_space(frequency, distance));
}

Checked<Decibel> two_ray_loss(Frequency frequency, Metres distance, const TwoRay& over) {
  if (auto fault = check_way(frequency, distance)) return Failure{*fault};
  if (auto fault = check_surface(over)) return Failure{*fault};
  return Decibel::of(two_ray(frequency, distance, over));
}

Metres breakpoint(Frequency frequency, const TwoRay& over) {
  return Metres::of(4.0 * over.antenna_height.value() * over.carrier_height.value() /
                    wavelength(frequency).value());
}

Checked<Decibel> indoor_loss(Frequency frequency, Metres distance, const Indoor& among) {
  if (auto fault = check_way(frequency, distance)) return Failure{*fault};
  if (auto fault = check_indoor(among)) return Failure{*fault};
  return Decibel::of(indoor(frequency, distance, among));
}

Checked<LossRange> loss_range(Frequency frequency, Metres distance, const Propagation& over) {
  if (auto fault = check_way(frequency, distance)) return Failure{*fault};
  const double plain = free_space(frequency, distance);
  return std::visit(
      Overloaded{[&](const FreeSpace&) -> Checked<LossRange> { return range_of(plain, plain); },
                 [&](const TwoRay& surface) -> Checked<LossRange> {
                   if (auto fault = check_surface(surface)) return Failure{*fault};
                   const bool falls = distance >= breakpoint(frequency, surface);
                   return range_of(
                       plain - 20.0 * std::log10(1.0 + surface.reflection),
                       falls ? std::max(plain, two_ray(frequency, distance, surface)) : plain);
                 },
                 [&](const Indoor& walls) -> Checked<LossRange> {
                   if (auto fault = check_indoor(walls)) return Failure{*fault};
                   const double usual = indoor(frequency, distance, walls);
                   return range_of(std::min(plain, usual), usual);
                 }},
      over);
}

}  // namespace catwalk::rf
