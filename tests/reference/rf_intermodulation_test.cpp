// SPDX-License-Identifier: Apache-2.0
// Intermodulation levels, counts and free channel sets against published figures.
#include <doctest/doctest.h>
#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <vector>

#include "daemon/rf/cascade.hpp"
#include "daemon/rf/desensitisation.hpp"
#include "daemon/rf/fifth_order.hpp"
#include "daemon/rf/intermodulation.hpp"
#include "daemon/rf/intermodulation_search.hpp"
#include "tests/support/near.hpp"

namespace {

using namespace catwalk::rf;

using catwalk::test::near;

constexpr PowerLevel dbm(double value) { return PowerLevel::dbm(value); }

Frequency channel(int number) { return Frequency::kilohertz(500'000 + 200 * number); }

std::vector<Tone> on_channels(const std::vector<int>& numbers) {
  std::vector<Tone> tones;
  for (int number : numbers) tones.push_back({channel(number), dbm(-30)});
  return tones;
}

TEST_CASE("levels of two- and three-signal products, input-referred") {
  // IIM3 = 3·P − 2·IIP3: Analog Devices, "Use selectivity to improve receiver intercept point",
  // eq. 1. Three signals 6 dB above two: H. Hausman, "Carrier triple beats", Microwave Journal.
  // The figures for IIP3 = +10 dBm: FFT of y = x + a3·x³, recomputed.
  const auto intercept = dbm(10);
  struct {
    double each, two, three;
  } const rows[] = {{-40, -140.0, -133.9794}, {-30, -110.0, -103.9794}, {-20, -80.0, -73.9794}};
  for (const auto& row : rows) {
    const auto p = dbm(row.each);
    CHECK(near(two_signal_product(p, p, intercept).dbm(), row.two, 1e-9));
    CHECK(near(three_signal_product(p, p, p, intercept).dbm(), row.three, 5e-5));
  }
  // Unequal: −30 and −40 dBm.
  CHECK(near(two_signal_product(dbm(-30), dbm(-40), intercept).dbm(), -120.0, 1e-9));
  CHECK(near(two_signal_product(dbm(-40), dbm(-30), intercept).dbm(), -130.0, 1e-9));
}

TEST_CASE("products rise three decibels for one, and the output form says the same") {
  // Slope 3:1: rfcafe.com, references/electrical/sfdr.htm.
  const auto at = [](double each) {
    return two_signal_product(dbm(each), dbm(each), dbm(10)).dbm();
  };
  CHECK(near(at(-29) - at(-30), 3.0, 1e-9));
  // OIM3 = 3·Pout − 2·OIP3, the identity from eq. 1 above: 0 dBm a tone and OIP3 +30 dBm: −60 dBm;
  // +10 dBm: −30 dBm. Whatever the gain.
  const Stage amplifier{"amplifier", Decibel::of(17), {}, dbm(30)};
  for (const double output : {0.0, 10.0}) {
    const auto input = dbm(output) - amplifier.gain;
    const auto product = two_signal_product(input, input, amplifier.input_ip3()) + amplifier.gain;
    CHECK(near(product.dbm(), 3 * output - 60, 1e-9));
  }
}

TEST_CASE("the intercept is found from a two-tone test") {
  // IIP3 = suppression/2 + Pin: Texas Instruments, TRF1500 user's guide SWRA004A, p. 70; intercept
  // = Δ/(N−1) + S at a drive of −30 dBm: "Guide to Spectrum and Signal Analysis", App. E, p. 53.
  const auto drive = dbm(-30);
  const auto suppression = drive - two_signal_product(drive, drive, dbm(7));
  CHECK(near((drive + 0.5 * suppression).dbm(), 7.0, 1e-9));
}

TEST_CASE("of the fifth order a fourth of the distance to the product lies over the signals") {
  // OIPn = P + ΔP/(n − 1): K.-C. Chan, "IP3 and intermodulation guide", Maxim Integrated tutorial
  // 5429.
  const auto signal = dbm(-10);
  const auto product = fifth_order_product(signal, signal, dbm(12));
  CHECK(near((signal + 0.25 * (signal - product)).dbm(), 12, 1e-9));
  const auto up = signal + Decibel::of(1);
  CHECK(near((fifth_order_product(up, up, dbm(12)) - product).value(), 5, 1e-9));
}

TEST_CASE("two amplifiers alike, in phase, make twice the voltage of the fifth order") {
  const Stage amplifier{"amplifier", {}, Decibel::of(3), {}, {}, dbm(30)};
  const auto together = cascade(std::array{amplifier, amplifier});
  const auto signal = dbm(0);
  const auto alone = fifth_order_product(signal, signal, amplifier.input_ip5());
  CHECK(near((fifth_order_product(signal, signal, together.input_ip5) - alone).value(),
             20.0 * std::log10(2.0), 1e-9));
  CHECK(near(in_cascade(amplifier.intercepts(), amplifier.intercepts()).fifth.dbm(),
             together.input_ip5.dbm(), 1e-9));
}

TEST_CASE("selectivity before a stage raises its effective intercept one and a half times") {
  // IIP3_eff = IIP3 + 1.5·S, both interferers attenuated by S: Analog Devices, the same article,
  // eq. 12: +10 dBm behind 20 dB is as good as +40 dBm. The product lies in the pass band.
  const auto p = dbm(-10);
  const auto filtered = p - Decibel::of(20);
  const auto behind = two_signal_product(filtered, filtered, dbm(10));
  CHECK(near(behind.dbm(), two_signal_product(p, p, dbm(40)).dbm(), 1e-9));
}

TEST_CASE("the number of products is N(N−1) of two signals and N(N−1)(N−2)/2 of three") {
  // Formula: rfessentials.com, "intermodulation products in a multi-carrier system" (its worked
  // counts for three and four carriers contradict its formula; these are recounted).
  struct {
    std::size_t carriers, two, three;
  } const rows[] = {{2, 2, 0},       {3, 6, 3},       {4, 12, 12},     {5, 20, 30},
                    {6, 30, 60},     {8, 56, 168},    {10, 90, 360},   {12, 132, 660},
                    {16, 240, 1680}, {20, 380, 3420}, {32, 992, 14880}};
  for (const auto& row : rows) {
    CAPTURE(row.carriers);
    std::vector<Tone> tones;
    for (std::size_t i = 0; i < row.carriers; ++i) {
      tones.push_back({Frequency::kilohertz(static_cast<std::int64_t>(500'000 + i * i)), dbm(-30)});
    }
    const auto products = products_naive(tones, dbm(10));
    const auto two = std::count_if(products.begin(), products.end(),
                                   [](const Product& product) { return product.two_signal(); });
    CHECK(static_cast<std::size_t>(two) == row.two);
    CHECK(products.size() - static_cast<std::size_t>(two) == row.three);
  }
}

TEST_CASE("products on a carrier of an equally spaced set follow the closed forms") {
  // D2 and D3 of the multi-carrier satellite literature (from memory), held up by the counts that
  // were brute-forced for N = 3 … 32: edge and centre carrier.
  struct {
    int carriers;
    std::size_t edge_two, edge_three, centre_two, centre_three;
  } const rows[] = {{4, 1, 1, 1, 2},    {8, 3, 9, 3, 15},    {10, 4, 16, 4, 26},
                    {16, 7, 49, 7, 77}, {20, 9, 81, 9, 126}, {32, 15, 225, 15, 345}};
  for (const auto& row : rows) {
    CAPTURE(row.carriers);
    std::vector<Tone> tones;
    std::vector<Band> channels;
    for (int i = 1; i <= row.carriers; ++i) {
      tones.push_back({channel(i), dbm(-30)});
      channels.push_back({channel(i), channel(i)});
    }
    const IntermodulationSearch search{tones, channels, Frequency::kilohertz(200)};
    const auto check_count = [&](int r, std::size_t two, std::size_t three) {
      const auto i = static_cast<std::size_t>(r - 1);
      const auto products = search.products(i, dbm(10));
      const auto seen = static_cast<std::size_t>(
          std::count_if(products.begin(), products.end(),
                        [](const Product& product) { return product.two_signal(); }));
      CHECK(seen == two);
      CHECK(products.size() - seen == three);
      // Each −110 or −103.98 dBm, as above; together in power, found by both ways.
      const double power = static_cast<double>(two) + 4.0 * static_cast<double>(three);
      CHECK(near(search.level(i, dbm(10)).dbm(), -110 + 10 * std::log10(power), 1e-9));
    };
    check_count(1, row.edge_two, row.edge_three);
    check_count((row.carriers + 1) / 2, row.centre_two, row.centre_three);
  }
}

// Golomb rulers, which stand alike in many public tables (Wikipedia, "Golomb ruler"). The set of
// eight is W. C. Babcock's, Bell Syst. Tech. J. 32 (1953), as told by Ed Pegg Jr., "Rulers, Arrays,
// and Gracefulness", MAA Math Games, 15 Nov 2004. That they are free of third order was recounted.
const std::vector<std::vector<int>> rulers{
    {0, 1, 3},
    {0, 1, 4, 6},
    {0, 2, 7, 8, 11},
    {0, 1, 4, 10, 12, 17},
    {0, 2, 7, 13, 21, 22, 25},
    {0, 1, 4, 9, 15, 22, 32, 34},
    {0, 1, 5, 12, 25, 27, 35, 41, 44},
    {0, 1, 6, 10, 23, 26, 34, 41, 53, 55},
    {0, 1, 4, 13, 28, 33, 47, 54, 64, 70, 72},
    {0, 2, 6, 24, 29, 40, 43, 55, 68, 75, 76, 85},
    {0, 2, 5, 25, 37, 43, 59, 70, 85, 89, 98, 99, 106},
    {0, 1, 4, 11, 26, 32, 56, 68, 76, 115, 117, 134, 150, 163, 168, 177},
    {0, 1, 8, 11, 68, 77, 94, 116, 121, 156, 158, 179, 194, 208, 212, 228, 240, 253, 259, 283},
    {0,   1,   33,  83,  104, 110, 124, 163, 185, 200, 203, 249, 251,
     258, 314, 318, 343, 356, 386, 430, 440, 456, 464, 475, 487, 492}};

TEST_CASE("carriers on the marks of a Golomb ruler hear no third order of each other") {
  for (const auto& ruler : rulers) {
    CAPTURE(ruler.size());
    std::vector<Band> channels;
    for (int mark : ruler) channels.push_back({channel(mark), channel(mark)});
    IntermodulationSearch search{on_channels(ruler), channels, Frequency::kilohertz(200)};
    for (std::size_t i = 0; i < channels.size(); ++i) {
      CHECK(search.level(i, dbm(10)) == no_power());
    }
    // A carrier moved so that the first lies midway between it and the second is heard there.
    search.move(search.tones().size() - 1, {channel(2 * ruler[0] - ruler[1]), dbm(-30)});
    CHECK(search.level(1, dbm(10)) > no_power());
  }
}

TEST_CASE("interference as strong as the noise costs 3.01 dB") {
  // 10·lg(1 + I/N), arithmetic: doubling a power.
  CHECK(near(desensitisation(dbm(-100), dbm(-100)).value(), 3.0103, 5e-5));
  CHECK(near(desensitisation(dbm(-110), dbm(-100)).value(), 0.41393, 5e-6));
  CHECK(desensitisation(no_power(), dbm(-100)).value() == 0.0);
  // −150 dBc/Hz in 200 kHz: 53.01 dB of bandwidth.
  const auto noise = wideband_noise(dbm(-20), Decibel::of(-150), Frequency::kilohertz(200));
  CHECK(near(noise.dbm(), -116.9897, 5e-5));
  CHECK(near(blocking_equivalent(dbm(-20), Decibel::of(80)).dbm(), -100, 1e-12));
}

}  // namespace
