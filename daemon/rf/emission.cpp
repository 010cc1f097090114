// SPDX-License-Identifier: Apache-2.0
#include "daemon/rf/emission.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <numbers>
#include <span>

namespace catwalk::rf {
namespace {

struct Shape {
  double width = 0.0;  // of the occupied bandwidth
  double width_twice = 0.0;
  double power_twice = 0.0;
};

constexpr Shape shape_of(Modulation modulation) {
  switch (modulation) {
    case Modulation::fm:
      return {0.65, 0.65 * std::numbers::sqrt2, 1.0};
    case Modulation::psk:
      return {0.905, 0.905 * 1.10, 1.22};
    case Modulation::qam:
      return {0.92, 0.92 * 1.06, 1.50};
    case Modulation::ofdm:
      return {1.00, 1.00, 2.00};
  }
  return {};
}

double hertz(Frequency frequency) { return static_cast<double>(frequency.hertz()); }

// Of the sum of `count` independent numbers, each even over ±width/2: the part not above x. The
// integral of a spline of that order: with every half width added or taken off,
// Σ ± max(0, x ± w1/2 ± w2/2 …)^n / (n! · w1·w2…).
double distribution(double x, std::span<const double> widths) {
  double reach = 0.0;
  for (const double width : widths) reach += width / 2;
  if (x <= -reach) return 0.0;
  if (x >= reach) return 1.0;
  double sum = 0.0;
  for (unsigned signs = 0; signs < 1U << widths.size(); ++signs) {
    double from = x;
    double term = 1.0;
    for (std::size_t k = 0; k < widths.size(); ++k) {
      const bool minus = (signs >> k & 1U) != 0;
      from += (minus ? -0.5 : 0.5) * widths[k];
      if (minus) term = -term;
    }
    if (from <= 0.0) continue;
    for (std::size_t k = 0; k < widths.size(); ++k)
      term *= from / (widths[k] * static_cast<double>(k + 1));
    sum += term;
  }
  return std::clamp(sum, 0.0, 1.0);
}

}  // namespace

double Emission::width() const { return shape_of(modulation).width * hertz(bandwidth); }
double Emission::width_twice() const { return shape_of(modulation).width_twice * hertz(bandwidth); }
double Emission::power_twice() const {
  return bandwidth > Frequency{} ? shape_of(modulation).power_twice : 1.0;
}

Frequency Emission::reach() const {
  return Frequency::hertz(
      static_cast<std::int64_t>(std::ceil(1.5 * std::max(width(), width_twice()))));
}

ProductWidths widths_of(const Emission& a, const Emission& b, const Emission& c) {
  return {a.width(), b.width(), c.width()};
}

ProductWidths widths_of_twice(const Emission& twice, const Emission& once) {
  return {twice.width_twice(), twice.width_twice(), once.width()};
}

double share_between(double low, double high, const ProductWidths& widths) {
  // What is a thousand times narrower than the widest changes nothing but the rounding.
  const double negligible = 1e-3 * std::ranges::max(widths);
  ProductWidths wide{};
  std::size_t count = 0;
  for (const double width : widths)
    if (width > negligible) wide[count++] = width;
  if (count == 0) return low <= 0.0 && 0.0 <= high ? 1.0 : 0.0;
  const std::span those{wide.data(), count};
  return std::max(0.0, distribution(high, those) - distribution(low, those));
}

}  // namespace catwalk::rf
