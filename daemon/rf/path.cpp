// SPDX-License-Identifier: Apache-2.0
#include "daemon/rf/path.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace catwalk::rf {
namespace {

using std::numbers::pi;
constexpr double shortest_metres = 1e-3;
constexpr double longest_metres = 1e7;

std::optional<OutOfRange> check_frequency(Frequency frequency) {
  return check_range("frequency", static_cast<double>(frequency.hertz()), 1.0, 1e12, "Hz");
}

Reception::From computed_from(const Propagation& over, Metres distance) {
  if (std::holds_alternative<TwoRay>(over)) return Reception::From::two_ray;
  const bool among_walls = std::holds_alternative<Indoor>(over) && distance > indoor_from;
  return among_walls ? Reception::From::indoor : Reception::From::free_space;
}

}  // namespace

Metres near_field_floor(Frequency frequency, Metres aperture) {
  const double wave = wavelength(frequency).value();
  return Metres::of(std::max(wave / (2.0 * pi), 2.0 * aperture.value() * aperture.value() / wave));
}

Checked<Reception> received(Erp transmitter, Frequency frequency, const Path& path,
                            Decibel antenna_gain) {
  if (path.measured_isolation) {
    const auto isolation = *path.measured_isolation;
    if (auto fault = check_range("measured_isolation", isolation.value(), -50.0, 300.0, "dB")) {
      return Failure{*fault};
    }
    return Reception{transmitter.level() - isolation, Reception::From::measurement};
  }
  if (auto fault = check_frequency(frequency)) return Failure{*fault};
  // NaN stands for a distance that nobody gave; it is outside any range.
  const double metres = path.distance ? path.distance->value() : std::nan("");
  if (auto fault = check_range("distance", metres, 0.0, longest_metres, "m")) {
    return Failure{*fault};
  }
  if (auto fault = check_range("aperture", path.aperture.value(), 0.0, 100.0, "m")) {
    return Failure{*fault};
  }
  if (auto fault = check_range("extra_loss", path.extra_loss.value(), 0.0, 300.0, "dB")) {
    return Failure{*fault};
  }
  const auto floor = near_field_floor(frequency, path.aperture);
  const bool near = *path.distance < floor;
  const auto losses = loss_range(frequency, near ? floor : *path.distance, path.over);
  if (!losses) return Failure{losses.error()};
  const auto loss = path.level == Path::Level::strongest ? losses->least : losses->usual;
  return Reception{
      Eirp::of(transmitter).level() - loss + antenna_gain - path.extra_loss,
      near ? Reception::From::near_field_floor : computed_from(path.over, *path.distance)};
}

Checked<PowerLevel> level_from_field(double field_dbuv_per_metre, Frequency frequency,
                                     Decibel antenna_gain) {
  if (auto fault = check_frequency(frequency)) return Failure{*fault};
  constexpr double impedance_of_space = 376.730'313'668;  // Ω
  const double wave = wavelength(frequency).value();
  // Power density times the effective area of an isotropic antenna, for 1 µV/m.
  const double watts = 1e-12 / impedance_of_space * wave * wave / (4.0 * pi);
  return from_milliwatts(watts * 1e3) + Decibel::of(field_dbuv_per_metre) + antenna_gain;
}

Checked<double> field_strength(Eirp transmitter, Metres distance) {
  if (auto fault =
          check_range("distance", distance.value(), shortest_metres, longest_metres, "m")) {
    return Failure{*fault};
  }
  const double volts_per_metre =
      std::sqrt(30.0 * milliwatts(transmitter.level()) / 1e3) / distance.value();
  return 20.0 * std::log10(volts_per_metre * 1e6);
}

}  // namespace catwalk::rf
