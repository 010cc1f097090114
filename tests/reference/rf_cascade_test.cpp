// SPDX-License-Identifier: Apache-2.0
// Noise, intercepts and dynamic range against published examples. Where a page prints few digits,
// the comparison is as wide as its last digit.
#include <doctest/doctest.h>
#include <cmath>
#include <cstddef>
#include <optional>
#include <vector>

#include "daemon/rf/cascade.hpp"
#include "tests/support/near.hpp"

namespace {

using namespace catwalk::rf;

using catwalk::test::near;

struct Noisy {
  double noise_figure;
  double gain;
};

std::vector<Stage> noisy(std::initializer_list<Noisy> rows) {
  std::vector<Stage> stages;
  for (const auto& row : rows) {
    stages.push_back({"stage", Decibel::of(row.gain), Decibel::of(row.noise_figure)});
  }
  return stages;
}

constexpr double linear = 1e9;  // marks a stage without an intercept

struct Distorting {
  double gain;
  double intercept;
};

// With output intercepts, in dBm.
std::vector<Stage> with_oip3(std::initializer_list<Distorting> rows) {
  std::vector<Stage> stages;
  for (const auto& row : rows) {
    Stage stage{"stage", Decibel::of(row.gain), {}};
    if (row.intercept != linear) stage.output_ip3 = PowerLevel::dbm(row.intercept);
    stages.push_back(stage);
  }
  return stages;
}

std::vector<Stage> with_iip3(std::initializer_list<Distorting> rows) {
  auto stages = with_oip3(rows);
  for (auto& stage : stages) {
    if (stage.output_ip3) stage.output_ip3 = *stage.output_ip3 + stage.gain;
  }
  return stages;
}

double total_noise_figure(std::initializer_list<Noisy> rows) {
  return cascade(noisy(rows)).noise_figure.value();
}

// Besser and Gilmore, Practical RF Circuit Design for Modern Wireless Systems, vol. 1, Artech House
// 2003, p. 135, as quoted by the MathWorks example "Finding Cascaded Gain, Noise Figure, and IP3".
std::vector<Stage> six_stage_receiver() {
  auto stages =
      with_oip3({{-2.5, linear}, {15.3, 23}, {-2.5, linear}, {14.5, 22}, {-8, linear}, {35, 4}});
  const double noise_figures[] = {2.5, 1.4, 2.5, 7.8, 8, 6.4};
  for (std::size_t i = 0; i < stages.size(); ++i) {
    stages[i].noise_figure = Decibel::of(noise_figures[i]);
  }
  return stages;
}

TEST_CASE("thermal noise is k times 290 K times the bandwidth, with the k of the 2019 SI") {
  // k = 1.380649e-23 J/K exactly (CODATA 2018, as in SciPy's constants); kT0 follows.
  CHECK(boltzmann == 1.380649e-23);
  CHECK(near(thermal_noise(Frequency::hertz(1)).dbm(), -173.9752, 5e-5));
  struct {
    std::int64_t kilohertz;
    double dbm;
  } const rows[] = {{1, -143.975},   {110, -123.561},  {150, -122.214},
                    {200, -120.965}, {1000, -113.975}, {8000, -104.944}};
  for (const auto& row : rows) {
    CAPTURE(row.kilohertz);
    CHECK(near(thermal_noise(Frequency::kilohertz(row.kilohertz)).dbm(), row.dbm, 5e-4));
  }
}

TEST_CASE("noise figure and noise temperature are two ways to say the same") {
  // Te = 290(F−1): Federal Standard 1037C. 1.404 dB ↔ F 1.3817 ↔ 110.7 K: aerovia.org, noise
  // figure.
  CHECK(near(noise_temperature(Decibel::of(1.404)).value(), 110.7, 0.05));
  CHECK(near(Decibel::of(1.404).ratio(), 1.3817, 5e-5));
  CHECK(near(noise_figure(Kelvin::of(110.7)).value(), 1.404, 5e-4));
  // A pad of half the power at 290 K has Te = 290 K: (L−1)T, Amateur Radio StackExchange.
  const auto half = Decibel::from_ratio(2.0);
  CHECK(near(noise_temperature(passive_noise_figure(half)).value(), 290.0, 1e-9));
  CHECK(near(noise_temperature(passive_noise_figure(half, Kelvin::of(77))).value(), 77.0, 1e-9));
  CHECK(near(passive_noise_figure(Decibel::of(3)).value(), 3.0, 1e-12));
}

TEST_CASE("Friis: the noise figure after each stage, as MathWorks prints it") {
  // MathWorks RF Toolbox documentation, rfchain.cumnoisefig and rfchain.cumgain.
  const auto after = running_cascade(noisy({{25, 11}, {3, -3}, {5, 7}}));
  const double noise_figures[] = {25.0000, 25.0011, 25.0058};
  const double gains[] = {11, 8, 15};
  for (std::size_t i = 0; i < 3; ++i) {
    CHECK(near(after[i].noise_figure.value(), noise_figures[i], 5e-5));
    CHECK(near(after[i].gain.value(), gains[i], 1e-12));
  }
}

TEST_CASE("Friis: tutorial examples come out as printed") {
  // rfview.com, "how to compute noise figure cascade": F 2.414, 3.83 dB.
  const auto chain = cascade(noisy({{2, -2}, {1.5, 18}, {1, -1}, {8, -6}}));
  CHECK(near(chain.noise_figure.value(), 3.83, 5e-3));
  CHECK(near(chain.noise_figure.ratio(), 2.414, 1.5e-3));
  // The same page: 10 MHz, SNR −1 dB: −101.2 dBm. It uses −174 dBm/Hz, 0.025 dB below kT0.
  const auto sensitivity =
      minimum_discernible_signal(chain, Frequency::kilohertz(10'000)) + Decibel::of(-1);
  CHECK(near(sensitivity.dbm(), -101.2, 0.08));
  // theprimecalculator.com, noise-figure/formula: F 1.513, 1.80 dB.
  CHECK(near(total_noise_figure({{1.5, 20}, {10, 15}, {15, 0}}), 1.80, 5e-3));
}

TEST_CASE("Friis: the tests of another implementation come out as there") {
  // crate gainlineup, src/node.rs and tests/cross_crate_cascade_validation.rs.
  CHECK(near(total_noise_figure({{5, 0}, {5, 10}}), 7.263, 5e-4));
  CHECK(near(total_noise_figure({{5, 0}, {3, 30}}), 6.188, 5e-4));
  CHECK(near(total_noise_figure({{5, 0}, {3, 30}, {6, -6}}), 6.191, 6e-4));
  // Inputs from there, the result recomputed.
  CHECK(near(total_noise_figure({{1.5, 25}, {8, -6}}), 1.5513, 5e-5));
}

TEST_CASE("losses in a row have the noise figure of their sum") {
  // crate gainlineup, tests/cross_crate_cascade_validation.rs: 6.00 dB.
  const std::vector<Stage> losses{passive_stage("a", Decibel::of(3)),
                                  passive_stage("b", Decibel::of(1)),
                                  passive_stage("c", Decibel::of(2))};
  CHECK(near(cascade(losses).noise_figure.value(), 6.0, 1e-12));
  CHECK(near(cascade(losses).gain.value(), -6.0, 1e-12));
}

TEST_CASE("an amplifier at the antenna saves a deaf receiver behind a long cable") {
  // Exercise at transtutors.com: a receiver of 7000 K behind 4 dB of cable, then an amplifier of
  // 25 dB and 2 dB noise figure before the cable. Results recomputed.
  const Stage receiver{"receiver", {}, noise_figure(Kelvin::of(7000))};
  const auto cable = passive_stage("cable", Decibel::of(4));
  const auto deaf = cascade(std::vector{cable, receiver});
  CHECK(near(deaf.noise_figure.value(), 18.003, 5e-4));
  CHECK(near(deaf.noise_temperature().value(), 18'022, 0.5));
  const Stage amplifier{"amplifier", Decibel::of(25), Decibel::of(2)};
  const auto saved = cascade(std::vector{amplifier, cable, receiver});
  CHECK(near(saved.noise_figure.value(), 2.508, 5e-4));
  CHECK(near(saved.noise_temperature().value(), 226.6, 0.05));
}

TEST_CASE("intercepts after each stage, as MathWorks prints them") {
  // MathWorks RF Toolbox documentation, rfchain.cumoip3.
  const auto out = running_cascade(with_oip3({{11, 30}, {-3, linear}, {7, 10}}));
  const double oip3[] = {30.0000, 27.0000, 9.9827};
  for (std::size_t i = 0; i < 3; ++i) CHECK(near(out[i].output_ip3().dbm(), oip3[i], 5e-5));
  // rfchain.cumiip3.
  const auto in = running_cascade(with_iip3({{11, 19}, {-3, linear}, {7, 3}}));
  const double iip3[] = {19.0000, 19.0000, -5.0173};
  for (std::size_t i = 0; i < 3; ++i) CHECK(near(in[i].input_ip3.dbm(), iip3[i], 5e-5));
}

TEST_CASE("a mixer behind an amplifier and a filter sets the intercept") {
  // rfessentials.com, "required IP3 for each stage": −4.1 dBm.
  const auto chain = cascade(with_iip3({{20, 0}, {-3, linear}, {-6, 15}}));
  CHECK(near(chain.input_ip3.dbm(), -4.1, 0.05));
}

TEST_CASE("six stages of a receiver: noise figure, intercept and gain all the way") {
  // Inputs: Besser and Gilmore, p. 135 (see above). Results recomputed; the page only plots them.
  const auto after = running_cascade(six_stage_receiver());
  const double noise_figures[] = {2.5000, 3.9000, 3.9717, 4.7196, 4.7453, 4.8465};
  const double oip3[] = {0, 23, 20.5, 21.788, 13.788, 4.000};
  for (std::size_t i = 0; i < after.size(); ++i) {
    CAPTURE(i);
    CHECK(near(after[i].noise_figure.value(), noise_figures[i], 5e-5));
    if (i > 0) CHECK(near(after[i].output_ip3().dbm(), oip3[i], 6e-4));
  }
  CHECK(after[0].output_ip3() == no_limit());
  CHECK(near(after.back().gain.value(), 51.8, 1e-9));
  CHECK(near(after.back().input_ip3.dbm(), -47.800, 5e-4));
}

TEST_CASE("noise floor and spurious-free dynamic range come out as printed") {
  // rfessentials.com, SFDR: NF 6 dB, IIP3 −10 dBm, 10 MHz: floor −98 dBm, 58.7 dB, up to −39.3 dBm.
  const auto bandwidth = Frequency::kilohertz(10'000);
  Cascade chain{{}, Decibel::of(6), PowerLevel::dbm(-10)};
  const auto floor = minimum_discernible_signal(chain, bandwidth);
  const auto range = spurious_free_dynamic_range(chain, bandwidth);
  CHECK(near(floor.dbm(), -98.0, 0.03));
  CHECK(near(range.value(), 58.7, 0.05));
  CHECK(near((floor + range).dbm(), -39.3, 0.05));

  // electrotopic.com and radartopix.com: IIP3 +10 dBm over an MDS of −120 dBm: 86.67 dB.
  const auto to_mds = PowerLevel::dbm(-120) - thermal_noise(bandwidth);
  const Cascade quiet{{}, to_mds, PowerLevel::dbm(10)};
  CHECK(near(spurious_free_dynamic_range(quiet, bandwidth).value(), 86.67, 5e-3));
  // rfessentials.com, "required IP3": 70 dB over −100 dBm asks for +5 dBm.
  const auto to_floor = PowerLevel::dbm(-100) - thermal_noise(bandwidth);
  const Cascade required{{}, to_floor, PowerLevel::dbm(5)};
  CHECK(near(spurious_free_dynamic_range(required, bandwidth).value(), 70.0, 1e-9));
}

TEST_CASE("powers of regulations in dBm, and e.r.p. apart from e.i.r.p.") {
  // EN 300 422-1 and the draft ERC/REC 70-03 Annex 10 speak of 10, 50 and 250 mW; arithmetic.
  CHECK(near(from_milliwatts(10).dbm(), 10.000, 5e-4));
  CHECK(near(from_milliwatts(20).dbm(), 13.010, 5e-4));
  CHECK(near(from_milliwatts(50).dbm(), 16.990, 5e-4));
  CHECK(near(from_milliwatts(250).dbm(), 23.979, 5e-4));
  // A half-wave dipole has 2.15 dBi (theory: 1.641), so 50 mW e.r.p. are 82.0 mW e.i.r.p.
  const auto eirp = Eirp::of(Erp::of(from_milliwatts(50)));
  CHECK(near(eirp.level().dbm(), 19.140, 5e-4));
  CHECK(near(milliwatts(eirp.level()), 82.0, 0.05));
  CHECK(near(eirp.as_erp().level().dbm(), 16.990, 5e-4));
}

}  // namespace
