// SPDX-License-Identifier: Apache-2.0
// Noise that comes in by the antenna, against published figures.
#include <doctest/doctest.h>

#include "daemon/rf/external_noise.hpp"
#include "tests/support/near.hpp"

namespace {

using namespace catwalk::rf;

using catwalk::test::near;

double at(NoisePlace place, double megahertz) {
  return man_made_noise(place, Frequency::megahertz(megahertz)).value().value();
}
double together(double noise_figure, double external) {
  return with_external_noise(Decibel::of(noise_figure), Decibel::of(external)).value();
}

TEST_CASE("man-made noise of a place, as the software of ITU-R Study Group 3 has it") {
  // ITU-R-HF, P372/Src/P372/Noise.c: c and d; recomputed at 1 MHz (c itself) and in between.
  CHECK(near(at(NoisePlace::city, 1), 76.8, 1e-9));
  CHECK(near(at(NoisePlace::residential, 1), 72.5, 1e-9));
  CHECK(near(at(NoisePlace::rural, 1), 67.2, 1e-9));
  CHECK(near(at(NoisePlace::quiet_rural, 1), 53.6, 1e-9));
  CHECK(near(at(NoisePlace::city, 100), 21.400, 5e-4));
  CHECK(near(at(NoisePlace::residential, 200), 8.761, 5e-4));
  CHECK(near(at(NoisePlace::rural, 250), 0.777, 5e-4));
  CHECK(near(at(NoisePlace::quiet_rural, 10), 25.0, 5e-4));
  // Beyond 250 MHz, extrapolated.
  CHECK(near(at(NoisePlace::residential, 500), -2.261, 5e-4));
  CHECK(near(at(NoisePlace::rural, 500), -7.561, 5e-4));
}

TEST_CASE("above 129 MHz a city has the curve that P.372-8 had for it, to 900 MHz") {
  // LLAMAComm, manmade.m (MIT Lincoln Laboratory): 44.3 − 12.3·lg f above 128.9 MHz.
  CHECK(near(at(NoisePlace::city, 200), 15.997, 5e-4));
  CHECK(near(at(NoisePlace::city, 500), 11.103, 5e-4));
  CHECK(near(at(NoisePlace::city, 700), 9.305, 5e-4));
  CHECK(near(at(NoisePlace::city, 900), 7.963, 5e-4));
  // Both curves meet there.
  CHECK(near(at(NoisePlace::city, 128.8), at(NoisePlace::city, 129.0), 0.02));
  CHECK(stated_up_to(NoisePlace::city) == Frequency::megahertz(900));
  CHECK(stated_up_to(NoisePlace::residential) == Frequency::megahertz(250));
}

TEST_CASE("noise at the antenna adds to that of the chain, f = fa + fr − 1") {
  // ITU-R P.372, § 2 (from memory), recomputed for noise figures of 2, 3 and 5 dB.
  CHECK(near(together(2, 11.103), 11.296, 5e-4));
  CHECK(near(together(3, 11.103), 11.426, 5e-4));
  CHECK(near(together(5, 11.103), 11.776, 5e-4));
  CHECK(near(together(2, 2.039), 3.393, 5e-4));
  CHECK(near(together(5, 2.039), 5.754, 5e-4));
  CHECK(near(together(0, 9), 9, 1e-9));  // nothing but what comes in
}

TEST_CASE("less than kT0B at the antenna counts as kT0B, so that nothing is made kinder by it") {
  CHECK(near(together(3, 0), 3, 1e-9));
  CHECK(near(together(3, -7.561), 3, 1e-9));
  CHECK(man_made_noise(NoisePlace::city, Frequency::kilohertz(299)).error().message() ==
        "frequency: 0.299 MHz is outside 0.3 to 10000 MHz");
}

}  // namespace
