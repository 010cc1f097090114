// SPDX-License-Identifier: Apache-2.0
// Ways over a surface and among walls, against published figures.
#include <doctest/doctest.h>

#include <cmath>

#include "daemon/rf/path.hpp"
#include "tests/support/near.hpp"

namespace {

using namespace catwalk::rf;

using catwalk::test::near;

Frequency mhz(double megahertz) { return Frequency::megahertz(megahertz); }

double two_ray(double megahertz, double metres, const TwoRay& over) {
  return two_ray_loss(mhz(megahertz), Metres::of(metres), over).value().value();
}
double free_space(double megahertz, double metres) {
  return free_space_loss(mhz(megahertz), Metres::of(metres)).value().value();
}
LossRange range_at(double megahertz, double metres, const Propagation& over) {
  return loss_range(mhz(megahertz), Metres::of(metres), over).value();
}
// A way of this length along the ground, from antenna to antenna.
double across(double along, double one_height, double other_height) {
  return std::hypot(along, one_height - other_height);
}

constexpr TwoRay deck{Metres::of(6), Metres::of(2), 1.0};

TEST_CASE("the breakpoint lies at 4·h1·h2/λ") {
  // ITU-R P.1411-12, § 4.1.2, through the library crc-covlib: R_bp, for 2114 MHz, 30 m and 1 m.
  CHECK(near(breakpoint(mhz(2114), {Metres::of(30), Metres::of(1)}).value(), 846.19, 5e-3));
  // 433 MHz, 1.5 and 3 m: published is 82 m for 4π·h1·h2/λ, π times as far.
  const auto low = breakpoint(mhz(433), {Metres::of(1.5), Metres::of(3)}).value();
  CHECK(near(low * 3.14159265, 82, 0.5));
  // There both ways differ by half a wave, to a quarter of a wave in the distance.
  const double at = breakpoint(mhz(600), deck).value();
  const double wave = wavelength(mhz(600)).value();
  CHECK(near(std::hypot(at, std::sqrt(48.0)) - at, wave / 2, wave / 500));
}

TEST_CASE("in phase two rays are 6.02 dB over one, against each other nothing") {
  const double at = breakpoint(mhz(600), deck).value();
  CHECK(near(two_ray(600, at, deck), free_space(600, at) - 6.0206, 0.03));
  CHECK(near(range_at(600, 30, deck).least.value(), free_space(600, 30) - 6.0206, 5e-5));
  // The last null of two antennas 1 m high at a wave of 12.5 cm: 15.937 m along the ground, 16 m
  // where somebody measured it in a street.
  const TwoRay street{Metres::of(1), Metres::of(1), 1.0};
  CHECK(two_ray(2398.34, 15.937, street) > free_space(2398.34, 15.937) + 40);
  CHECK(two_ray(2398.34, 20, street) < two_ray(2398.34, 15, street));
}

TEST_CASE("far out all that is reflected falls by 40 dB a decade, whatever the frequency") {
  // ns-3, propagation-loss-model-test-suite.cc: 50.35702 mW, 1.5 m both, 2000 m: 1.593327585938e-14
  // W, which is the far limit h1²·h2²/d⁴.
  const double published = 10 * std::log10(0.05035702 / 1.593327585938e-14);
  const TwoRay van{Metres::of(1.5), Metres::of(1.5), 1.0};
  CHECK(near(two_ray(2398.34, 2000, van), published, 0.006));
  for (const double megahertz : {500.0, 700.0}) {
    CHECK(near(two_ray(megahertz, 20'000, deck) - two_ray(megahertz, 2'000, deck), 40, 0.05));
    CHECK(near(two_ray(megahertz, 20'000, deck), 40 * std::log10(20'000) - 20 * std::log10(12),
               0.001));
  }
}

TEST_CASE("two rays at places of a show, recomputed from the formula") {
  // 600 MHz, 2 m and 6 m, distances along the ground.
  struct {
    double along, loss;
  } const rows[] = {{10, 55.496}, {29, 52.053}, {60, 62.074}, {200, 71.306}, {500, 86.509}};
  for (const auto& row : rows) {
    CAPTURE(row.along);
    CHECK(near(two_ray(600, across(row.along, 6, 2), deck), row.loss, 5e-4));
  }
}

TEST_CASE("a surface that reflects nothing is free space") {
  const TwoRay grass{Metres::of(6), Metres::of(2), 0.0};
  for (const double metres : {1.0, 20.0, 500.0}) {
    CHECK(near(two_ray(600, metres, grass), free_space(600, metres), 1e-9));
    CHECK(range_at(600, metres, grass) == range_at(600, metres, FreeSpace{}));
  }
}

TEST_CASE("the weakest is promised free space up to the breakpoint, and the two rays beyond") {
  CHECK(near(range_at(600, 20, deck).usual.value(), free_space(600, 20), 1e-9));  // near a null
  CHECK(near(range_at(600, 100, deck).usual.value(), free_space(600, 100), 1e-9));
  CHECK(near(range_at(600, across(500, 6, 2), deck).usual.value(), 86.509, 5e-4));
}

TEST_CASE("indoors the loss is that of ITU-R P.1238, its first metre exact") {
  const auto indoor = [](double megahertz, double metres, double per_decade) {
    return indoor_loss(mhz(megahertz), Metres::of(metres), {Decibel::of(per_decade)})->value();
  };
  constexpr double rounding = 0.4478;  // −28 in place of −27.5522
  // ns-3, buildings-pathloss-test.cc, test 6: 2114 MHz, a house (N 28), 31.32 m, two floors of 4
  // dB.
  CHECK(near(indoor(2114, 31.32, 28) + 8 - rounding, 88.3855, 1e-3));
  // The form 20·lg f + N·lg d − 28 at 900 MHz: office (33) and market hall (20), recomputed.
  CHECK(near(indoor(900, 10, 33) - rounding, 64.085, 1e-3));
  CHECK(near(indoor(900, 50, 33) - rounding, 87.151, 1e-3));
  CHECK(near(indoor(900, 10, 20) - rounding, 51.085, 1e-3));
  CHECK(near(indoor(900, 30, 20), free_space(900, 30), 1e-3));
  CHECK(near(indoor(600, 1, 40), free_space(600, 1), 1e-9));
  // For the strongest nothing may stand between.
  const auto office = range_at(600, 40, Indoor{Decibel::of(33)});
  CHECK(near(office.least.value(), free_space(600, 40), 1e-9));
  CHECK(near(office.usual.value(), indoor(600, 40, 33), 1e-9));
  const auto corridor = range_at(600, 40, Indoor{Decibel::of(16)});
  CHECK(corridor.least == corridor.usual);
}

TEST_CASE("what cannot be computed with is named") {
  const auto at = [](const TwoRay& over) {
    return two_ray_loss(mhz(600), Metres::of(10), over).error();
  };
  CHECK(at({Metres::of(6), Metres::of(2), 1.1}).message() == "reflection: 1.1 is outside 0 to 1");
  CHECK(at({Metres::of(0), Metres::of(2), 1.0}).field == "antenna_height");
  CHECK(at({Metres::of(6), Metres::of(1'001), 1.0}).message() ==
        "carrier_height: 1001 m is outside 0.1 to 1000 m");
  CHECK(indoor_loss(mhz(600), Metres::of(10), {Decibel::of(9)}).error().field == "loss_per_decade");
  CHECK(loss_range(mhz(600), Metres::of(0), deck).error().field == "distance");
  CHECK(loss_range(mhz(600), Metres::of(9), Indoor{Decibel::of(61)}).error().value == 61);
}

}  // namespace
