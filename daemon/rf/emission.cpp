// SPDX-License-Identifier: Apache-2.0
#include "daemon/rf/emission.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <utility>

namespace catwalk::rf {
namespace {

struct Shape {
  double width = 0.0;  // of the occupied bandwidth
  double width_twice = 0.0;
  double power_twice = 0.0;
  double width_thrice = 0.0;
  double power_thrice = 0.0;
};

constexpr Shape shape_of(Modulation modulation) {
  switch (modulation) {
    case Modulation::fm:
      return {0.65, 0.65 * std::numbers::sqrt2, 1.0, 1.38, 1.0};
    case Modulation::psk:
      return {0.905, 0.905 * 1.10, 1.22, 1.28, 1.67};
    case Modulation::qam:
      return {0.92, 0.92 * 1.06, 1.50, 1.25, 2.8};
    case Modulation::ofdm:
      return {1.00, 1.00, 2.00, 1.23, 6.0};
  }
  return {};
}

constexpr double widest_of_all_kinds(double Shape::*width) {
  double widest = 0.0;
  for (const auto& [word, modulation] : words_of(Modulation{}))
    widest = std::max(widest, shape_of(modulation).*width);
  return widest;
}

double hertz(Frequency frequency) { return static_cast<double>(frequency.hertz()); }

double cubed(double x) { return x > 0.0 ? x * x * x : 0.0; }
double squared(double x) { return x > 0.0 ? x * x : 0.0; }

// Of the sum of three independent numbers, each even over ±width/2: the part not above x. The
// integral of a quadratic spline: Σ ± max(0, x ± w1/2 ± w2/2 ± w3/2)³ / (3!·w1·w2·w3), each width
// that is taken off changing the sign. With the third next to nothing, and the second, the
// integrals of the splines before it.
double distribution(double x, double w1, double w2, double w3) {
  const double reach = (w1 + w2 + w3) / 2;
  if (x <= -reach) return 0.0;
  if (x >= reach) return 1.0;
  const double from = x + reach;  // from the lower end
  if (w3 > 0.0)
    return (cubed(from) - cubed(from - w1) - cubed(from - w2) - cubed(from - w3) +
            cubed(from - w1 - w2) + cubed(from - w1 - w3) + cubed(from - w2 - w3)) /
           (6.0 * w1 * w2 * w3);
  if (w2 > 0.0) return (squared(from) - squared(from - w1) - squared(from - w2)) / (2.0 * w1 * w2);
  return from / w1;
}

}  // namespace

double Emission::width() const { return shape_of(modulation).width * hertz(bandwidth); }
double Emission::width_twice() const { return shape_of(modulation).width_twice * hertz(bandwidth); }
double Emission::power_twice() const {
  return bandwidth > Frequency{} ? shape_of(modulation).power_twice : 1.0;
}

double Emission::width_thrice() const {
  return shape_of(modulation).width_thrice * hertz(bandwidth);
}
double Emission::power_thrice() const {
  return bandwidth > Frequency{} ? shape_of(modulation).power_thrice : 1.0;
}

Frequency Emission::reach() const {
  return Frequency::hertz(
      static_cast<std::int64_t>(std::ceil(1.5 * std::max(width(), width_twice()))));
}

Frequency Emission::reach_of_fifth() const {
  constexpr double reach = widest_of_all_kinds(&Shape::width_thrice) +
                           std::numbers::sqrt2 / 2 * widest_of_all_kinds(&Shape::width_twice);
  return Frequency::hertz(static_cast<std::int64_t>(std::ceil(reach * hertz(bandwidth))));
}

ProductWidths widths_of(const Emission& a, const Emission& b, const Emission& c) {
  return {a.width(), b.width(), c.width()};
}

ProductWidths widths_of_twice(const Emission& twice, const Emission& once) {
  return {twice.width_twice(), twice.width_twice(), once.width()};
}

ProductWidths widths_of_thrice(const Emission& thrice, const Emission& twice) {
  return {thrice.width_thrice(), thrice.width_thrice(), std::numbers::sqrt2 * twice.width_twice()};
}

double share_between(double low, double high, const ProductWidths& widths) {
  auto [w1, w2, w3] = widths;
  // The widest first, so that what is next to nothing stands behind.
  if (w1 < w2) std::swap(w1, w2);
  if (w2 < w3) std::swap(w2, w3);
  if (w1 < w2) std::swap(w1, w2);
  if (w1 <= 0.0) return low <= 0.0 && 0.0 <= high ? 1.0 : 0.0;
  // What is a thousand times narrower than the widest changes nothing but the rounding.
  if (w2 < 1e-3 * w1) w2 = 0.0;
  if (w3 < 1e-3 * w1) w3 = 0.0;
  const double share = distribution(high, w1, w2, w3) - distribution(low, w1, w2, w3);
  return std::clamp(share, 0.0, 1.0);
}

}  // namespace catwalk::rf
