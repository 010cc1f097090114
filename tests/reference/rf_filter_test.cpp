// SPDX-License-Identifier: Apache-2.0
// Band-pass filters against published prototype tables, closed formulas and a circuit simulator.
#include <doctest/doctest.h>
#include <cmath>
#include <cstddef>
#include <numeric>
#include <vector>

#include "daemon/rf/filter.hpp"
#include "tests/support/near.hpp"

namespace {

using namespace catwalk::rf;

using catwalk::test::near;

Band megahertz(double low, double high) {
  return {Frequency::megahertz(low), Frequency::megahertz(high)};
}

BandPassDesign chebyshev(int order, double ripple, Band edges) {
  return {FilterShape::chebyshev, order, Decibel::of(ripple), edges};
}

// Geometric centre exactly 520 MHz, 40 MHz between the ripple edges.
const Band around_520 = megahertz(500.384473, 540.384473);

double ideal(const BandPassDesign& design, double at) {
  return IdealBandPass::make(design)->attenuation(Frequency::megahertz(at)).value();
}

double lossy(const BandPassDesign& design, double q, double at) {
  return LossyBandPass::make(design, q)->attenuation(Frequency::megahertz(at)).value();
}

double sum_of_g(const BandPassDesign& design) {
  const auto g = prototype_values(design);
  return std::accumulate(g.begin(), g.end() - 1, 0.0);
}

TEST_CASE("Butterworth prototype values are those of the tables") {
  // RF Cafe, Butterworth prototype element values.
  const std::vector<std::vector<double>> tables{{1.41421, 1.41421},
                                                {1.00000, 2.00000, 1.00000},
                                                {0.76537, 1.84776, 1.84776, 0.76537},
                                                {0.61803, 1.61803, 2.00000, 1.61803, 0.61803}};
  for (const auto& table : tables) {
    const auto order = static_cast<int>(table.size());
    const auto half_power = Decibel::from_ratio(2.0);
    const auto g = prototype_values({FilterShape::butterworth, order, half_power, around_520});
    for (std::size_t i = 0; i < table.size(); ++i) CHECK(near(g[i], table[i], 6e-6));
    CHECK(g.back() == 1.0);
  }
}

TEST_CASE("Chebyshev prototype values are those of the tables") {
  // RF Cafe, Chebyshev prototype element values (0.01, 0.1, 0.2 dB, to four decimals, the fifth
  // recomputed); the 0.5 dB rows also in Matthaei, Young, Jones (from memory).
  struct {
    double ripple;
    std::vector<double> g;  // the last one is the load
  } const rows[] = {{0.01, {0.62918, 0.97028, 0.62918, 1}},
                    {0.01, {0.75633, 1.30492, 1.57731, 1.30492, 0.75633, 1}},
                    {0.1, {0.84304, 0.62201, 1.35536}},
                    {0.1, {1.03156, 1.14740, 1.03156, 1}},
                    {0.1, {1.10879, 1.30618, 1.77035, 0.81808, 1.35536}},
                    {0.1, {1.14681, 1.37121, 1.97500, 1.37121, 1.14681, 1}},
                    {0.1, {1.16811, 1.40397, 2.05621, 1.51709, 1.90289, 0.86184, 1.35536}},
                    {0.1, {1.18118, 1.42281, 2.09667, 1.57340, 2.09667, 1.42281, 1.18118, 1}},
                    {0.2, {1.22754, 1.15254, 1.22754, 1}},
                    {0.5, {1.59628, 1.09669, 1.59628, 1}},
                    {0.5, {1.67031, 1.19256, 2.36611, 0.84186, 1.98406}},
                    {0.5, {1.70577, 1.22963, 2.54083, 1.22963, 1.70577, 1}}};
  for (const auto& row : rows) {
    const auto order = static_cast<int>(row.g.size()) - 1;
    CAPTURE(row.ripple);
    CAPTURE(order);
    const auto g = prototype_values(chebyshev(order, row.ripple, around_520));
    REQUIRE(g.size() == row.g.size());
    for (std::size_t i = 0; i < g.size(); ++i) CHECK(near(g[i], row.g[i], 6e-6));
  }
}

struct Row {
  double megahertz, three_g, four_g, three_a, four_a;
};

// 0.1 dB Chebyshev, 40 MHz wide; G: geometric centre 520 MHz, A: edges at 500 and 540 MHz.
// 10·lg[1 + ε²T_n²(Ω)]: novasolver.jp, microwave-filter; recomputed, and the same to four decimals
// by scipy.signal.cheby1.
const Row attenuations[] = {
    {400, 45.9066, 68.6581, 45.8110, 68.5306}, {420, 40.3723, 61.2787, 40.2594, 61.1281},
    {440, 33.7572, 52.4565, 33.6174, 52.2701}, {460, 25.3372, 41.2156, 25.1504, 40.9658},
    {470, 19.9895, 34.0449, 19.7632, 33.7401}, {480, 13.3946, 25.0482, 13.1100, 24.6509},
    {490, 5.3086, 12.7204, 4.9934, 12.1472},   {495, 1.7245, 4.8800, 1.5211, 4.3008},
    {510, 0.1000, 0.0272, 0.0997, 0.0196},     {520, 0.0000, 0.1000, 0.0003, 0.0994},
    {530, 0.1000, 0.0233, 0.0998, 0.0311},     {540, 0.0704, 0.0517, 0.1000, 0.1000},
    {550, 3.9945, 10.2245, 4.2629, 10.7591},   {560, 11.2130, 21.9673, 11.4726, 22.3389},
    {570, 17.2809, 30.3841, 17.4867, 30.6634}, {600, 29.5636, 46.8612, 29.6839, 47.0218},
    {620, 35.1481, 54.3118, 35.2415, 54.4364}, {640, 39.6147, 60.2684, 39.6908, 60.3698},
    {700, 49.2754, 73.1499, 49.3232, 73.2137}};

TEST_CASE("attenuation of a Chebyshev band-pass, three and four resonators") {
  const auto edges = megahertz(500, 540);
  for (const auto& row : attenuations) {
    CAPTURE(row.megahertz);
    CHECK(near(ideal(chebyshev(3, 0.1, around_520), row.megahertz), row.three_g, 6e-5));
    CHECK(near(ideal(chebyshev(4, 0.1, around_520), row.megahertz), row.four_g, 6e-5));
    CHECK(near(ideal(chebyshev(3, 0.1, edges), row.megahertz), row.three_a, 6e-5));
    CHECK(near(ideal(chebyshev(4, 0.1, edges), row.megahertz), row.four_a, 6e-5));
  }
}

TEST_CASE("a lossless ladder has the attenuation of the closed formula") {
  // The element values and the formula come from the same book by different ways.
  for (const auto& row : attenuations) {
    CAPTURE(row.megahertz);
    CHECK(near(lossy(chebyshev(3, 0.1, around_520), 1e9, row.megahertz), row.three_g, 1.1e-4));
    CHECK(near(lossy(chebyshev(4, 0.1, around_520), 1e9, row.megahertz), row.four_g, 1.1e-4));
  }
}

TEST_CASE("half-power bandwidth of a Chebyshev band-pass") {
  // Ω = cosh(acosh(1/ε)/n), geometric mean kept: 55.560 MHz for n = 3, 48.524 MHz for n = 4.
  const double widths[] = {55.560, 48.524};
  for (int order : {3, 4}) {
    const double half = widths[order - 3] / 2.0;
    const double middle = std::sqrt(520.0 * 520.0 + half * half);
    CHECK(near(ideal(chebyshev(order, 0.1, around_520), middle - half), 3.0103, 5e-4));
    CHECK(near(ideal(chebyshev(order, 0.1, around_520), middle + half), 3.0103, 5e-4));
  }
}

TEST_CASE("a Butterworth filter falls by 3.01 dB at its edge and then 20n dB a decade") {
  // rfview.com, glossary, "Butterworth response"; novasolver.jp, microwave-filter.
  for (int order : {1, 2, 5}) {
    const BandPassDesign design{FilterShape::butterworth, order, Decibel::from_ratio(2.0),
                                megahertz(500, 540)};
    CHECK(near(ideal(design, 500), 3.0103, 1e-4));
    CHECK(near(ideal(design, 540), 3.0103, 1e-4));
    // Ω grows tenfold from 40 to 400 MHz between the two frequencies of one attenuation.
    const auto apart = [](double width) {
      return width / 2.0 + std::sqrt(500.0 * 540.0 + width * width / 4.0);
    };
    const double decade = ideal(design, apart(4000)) - ideal(design, apart(400));
    CHECK(near(decade, 20.0 * order, order == 1 ? 0.05 : 1e-3));
  }
}

TEST_CASE("mid-band loss is near 4.343·Σg/(FBW·Q)") {
  // rfessentials.com, after S. B. Cohn, Proc. IRE 1959 (from memory): first order in 1/Q. The exact
  // values at 520 MHz: ngspice 39 on the LC ladder.
  struct {
    double q, loss;
  } const rows[] = {{1000, 0.1811}, {200, 0.9026}, {100, 1.7983}};
  const auto design = chebyshev(3, 0.1, around_520);
  CHECK(near(sum_of_g(design), 3.21052, 6e-6));
  for (const auto& row : rows) {
    CAPTURE(row.q);
    CHECK(near(lossy(design, row.q, 520), row.loss, 1e-4));
    const double formula = 4.343 * sum_of_g(design) / (design.fractional_bandwidth() * row.q);
    CHECK(near(lossy(design, row.q, 520), formula, 0.01 * formula));
  }
}

TEST_CASE("finite Q rounds the edges and hardly changes the stop band") {
  // ngspice 39 on the LC ladder, 50 Ω, shunt resonator first, Q = 200.
  struct {
    double megahertz, three, four;
  } const rows[] = {{460, 25.4716, 41.3379}, {480, 13.8082, 25.4077}, {490, 6.2749, 13.6871},
                    {500, 1.4393, 2.5581},   {520, 0.9026, 1.4854},   {550, 5.0958, 11.4341},
                    {560, 11.7314, 22.4191}, {580, 22.3173, 37.0932}, {600, 29.6572, 46.9475}};
  for (const auto& row : rows) {
    CAPTURE(row.megahertz);
    CHECK(near(lossy(chebyshev(3, 0.1, around_520), 200, row.megahertz), row.three, 2e-4));
    CHECK(near(lossy(chebyshev(4, 0.1, around_520), 200, row.megahertz), row.four, 2e-4));
  }
  CHECK(near(lossy(chebyshev(3, 0.1, around_520), 200, 540), 1.3343, 2e-4));
  CHECK(near(lossy(chebyshev(4, 0.1, around_520), 1000, 520), 0.3763, 2e-4));
  CHECK(near(lossy(chebyshev(4, 0.1, around_520), 100, 520), 2.8757, 2e-4));
}

}  // namespace
