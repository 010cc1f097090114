// SPDX-License-Identifier: Apache-2.0
// How much of a product lies in a channel, against splines that are published and against spectra
// that are folded numerically. rf_products.py holds the model itself, against carriers.
#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <vector>

#include "daemon/rf/emission.hpp"

namespace {

using namespace catwalk::rf;

// Of three even spectra, folded on a grid of `step` Hz, the part from `low` to `high`.
double folded(double low, double high, const ProductWidths& widths, double step) {
  std::vector<double> spectrum{1.0};
  double first = 0.0;  // Hz, of the spectrum's first bin
  for (const double width : widths) {
    const auto bins = static_cast<std::size_t>(std::lround(width / step));
    std::vector<double> next(spectrum.size() + bins - 1);
    for (std::size_t i = 0; i < spectrum.size(); ++i)
      for (std::size_t k = 0; k < bins; ++k) next[i + k] += spectrum[i] / static_cast<double>(bins);
    first -= step * static_cast<double>(bins - 1) / 2;
    spectrum = std::move(next);
  }
  double part = 0.0;
  for (std::size_t i = 0; i < spectrum.size(); ++i) {
    const double at = first + step * static_cast<double>(i);
    if (low <= at && at <= high) part += spectrum[i];
  }
  return part;
}

}  // namespace

// The sum of n numbers, each even from 0 to 1: distributions of Irwin and Hall (1927, from memory).
TEST_CASE("of equally wide spectra the shares are those of uniform splines") {
  const auto part = [](double low, double high, ProductWidths widths) {
    return share_between(low, high, widths);
  };
  CHECK(part(-0.5, 0.5, {1, 0, 0}) == doctest::Approx(1.0));
  CHECK(part(0.0, 0.25, {1, 0, 0}) == doctest::Approx(0.25));
  CHECK(part(-0.5, 0.5, {1, 1, 0}) == doctest::Approx(3.0 / 4));  // a triangle
  CHECK(part(0.5, 1.5, {1, 1, 0}) == doctest::Approx(1.0 / 8));
  CHECK(part(-0.5, 0.5, {1, 1, 1}) == doctest::Approx(2.0 / 3));
  CHECK(part(0.5, 1.5, {1, 1, 1}) == doctest::Approx(1.0 / 6));
  CHECK(part(-0.5, 0.0, {1, 1, 1}) == doctest::Approx(1.0 / 3));
  CHECK(part(1.5, 9.0, {1, 1, 1}) == 0.0);
  CHECK(part(-9.0, 9.0, {1, 1, 1}) == doctest::Approx(1.0));
}

TEST_CASE("a product without width lies in a channel or not, edges included") {
  CHECK(share_between(-10, 10, {}) == 1.0);
  CHECK(share_between(0, 0, {}) == 1.0);
  CHECK(share_between(0, 10, {}) == 1.0);
  CHECK(share_between(1, 10, {}) == 0.0);
  CHECK(share_between(-10, -1, {}) == 0.0);
}

TEST_CASE("of any widths the shares are those of folded spectra, and add up to one") {
  std::mt19937 random{7};
  const auto any = [&](int low, int high) {
    return std::uniform_int_distribution{low, high}(random);
  };
  for (int round = 0; round < 60; ++round) {
    const ProductWidths widths{2.0 * any(1, 80) + 1, 2.0 * any(1, 80) + 1, 2.0 * any(1, 80) + 1};
    const double edge = any(-260, 260);
    CAPTURE(round);
    CHECK(share_between(-1e4, edge, widths) + share_between(edge, 1e4, widths) ==
          doctest::Approx(1.0).epsilon(1e-9));
    // Bins stand for half a step at each side of them.
    const double high = edge + any(0, 200);
    CHECK(share_between(edge - 0.5, high + 0.5, widths) ==
          doctest::Approx(folded(edge, high, widths, 1.0)).epsilon(0.01).scale(0.1));
  }
}

TEST_CASE("a width that is next to nothing does not spoil the share") {
  CHECK(share_between(-5e6, 5e6, {1e7, 1, 1}) == doctest::Approx(1.0).epsilon(1e-3));
  CHECK(share_between(-5e6, 0, {1e7, 2e4, 1}) == doctest::Approx(0.5).epsilon(1e-3));
  CHECK(share_between(0, 1e5, {1e7, 2e5, 1e4}) == doctest::Approx(0.01).epsilon(1e-3));
}

TEST_CASE("a carrier that enters twice is wider, and stronger where its envelope varies") {
  const Emission analogue{Frequency::kilohertz(200), Modulation::fm};
  const Emission data{Frequency::kilohertz(200), Modulation::psk};
  CHECK(analogue.power_twice() == 1.0);
  CHECK(data.power_twice() > 1.2);
  CHECK(Emission{Frequency{}, Modulation::qam}.power_twice() == 1.0);
  // Twice the deviation: four times the variance, which two even spectra share.
  const double variance = analogue.width() * analogue.width();
  CHECK(2 * analogue.width_twice() * analogue.width_twice() == doctest::Approx(4 * variance));
  CHECK(analogue.reach() >=
        Frequency::hertz(static_cast<std::int64_t>(analogue.width_twice() + analogue.width() / 2)));
}
