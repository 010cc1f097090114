// SPDX-License-Identifier: Apache-2.0
// What must hold for any chain, filter, table and path.
#include <doctest/doctest.h>
#include <algorithm>
#include <cmath>
#include <random>
#include <vector>

#include "daemon/rf/feed.hpp"
#include "daemon/rf/path.hpp"
#include "daemon/rf/response.hpp"

namespace {

using namespace catwalk::rf;
using Random = std::mt19937_64;

double uniform(Random& random, double low, double high) {
  return std::uniform_real_distribution<double>{low, high}(random);
}
int whole(Random& random, int low, int high) {
  return std::uniform_int_distribution<int>{low, high}(random);
}

Stage any_stage(Random& random) {
  if (whole(random, 0, 1) == 0) {
    return passive_stage("loss", Decibel::of(uniform(random, 0, 20)),
                         Kelvin::of(uniform(random, 250, 340)));
  }
  Stage stage{"amplifier", Decibel::of(uniform(random, -12, 27)),
              Decibel::of(uniform(random, 0.5, 15))};
  if (whole(random, 0, 3) > 0) stage.output_ip3 = PowerLevel::dbm(uniform(random, 0, 45));
  if (whole(random, 0, 3) > 0) stage.output_p1db = PowerLevel::dbm(uniform(random, -10, 30));
  return stage;
}

std::vector<Stage> any_chain(Random& random) {
  std::vector<Stage> stages;
  for (int i = whole(random, 1, 8); i > 0; --i) stages.push_back(any_stage(random));
  return stages;
}

constexpr double rounding = 1e-9;

TEST_CASE("more gain never improves the overload margin, nor the input intercept") {
  Random random{1};
  for (int round = 0; round < 2000; ++round) {
    CAPTURE(round);
    const auto before = any_chain(random);
    auto after = before;
    auto& stage =
        after[static_cast<std::size_t>(whole(random, 0, static_cast<int>(after.size()) - 1))];
    stage.gain = stage.gain + Decibel::of(uniform(random, 0, 10));
    const auto level = PowerLevel::dbm(uniform(random, -60, 10));
    const auto rows_before = level_budget(before, level, Frequency::kilohertz(200));
    const auto rows_after = level_budget(after, level, Frequency::kilohertz(200));
    for (std::size_t i = 0; i < before.size(); ++i) {
      REQUIRE(rows_after[i].headroom.value() <= rows_before[i].headroom.value() + rounding);
    }
    const auto was = cascade(before);
    const auto is = cascade(after);
    REQUIRE(is.input_ip3.dbm() <= was.input_ip3.dbm() + rounding);
    REQUIRE(is.input_p1db.dbm() <= was.input_p1db.dbm() + rounding);
  }
}

TEST_CASE("more loss before the amplifier never improves the noise figure") {
  Random random{2};
  for (int round = 0; round < 2000; ++round) {
    CAPTURE(round);
    const auto chain = any_chain(random);
    double last = -1.0;
    for (const double loss : {0.0, 0.1, 1.0, 3.0, 10.0, 30.0}) {
      std::vector<Stage> lossy{passive_stage("cable", Decibel::of(loss))};
      lossy.insert(lossy.end(), chain.begin(), chain.end());
      const double figure = cascade(lossy).noise_figure.value();
      REQUIRE(figure >= last - rounding);
      last = figure;
    }
  }
}

TEST_CASE("a chain computed in two parts is the chain computed at once") {
  Random random{3};
  for (int round = 0; round < 1000; ++round) {
    CAPTURE(round);
    const auto chain = any_chain(random);
    const auto cut = whole(random, 0, static_cast<int>(chain.size()));
    const auto as_stage = [](std::span<const Stage> part) {
      const auto whole_part = cascade(part);
      Stage stage{"part", whole_part.gain, whole_part.noise_figure};
      stage.output_ip3 = whole_part.output_ip3();
      stage.output_p1db = whole_part.output_p1db();
      return stage;
    };
    const auto all = std::span{chain};
    const std::vector<Stage> parts{as_stage(all.first(static_cast<std::size_t>(cut))),
                                   as_stage(all.subspan(static_cast<std::size_t>(cut)))};
    const auto once = cascade(chain);
    const auto twice = cascade(parts);
    REQUIRE(std::abs(twice.noise_figure.value() - once.noise_figure.value()) < 1e-9);
    if (once.input_ip3 < no_limit()) {
      REQUIRE(std::abs(twice.input_ip3.dbm() - once.input_ip3.dbm()) < 1e-9);
    } else {
      REQUIRE(twice.input_ip3 == no_limit());
    }
  }
}

TEST_CASE("combining n equal antennas costs 10·lg(n) of signal to noise, and one alone nothing") {
  Random random{4};
  for (int round = 0; round < 500; ++round) {
    CAPTURE(round);
    const Branch branch{Decibel::of(uniform(random, -10, 20)), Decibel::of(uniform(random, 0, 12))};
    const int count = whole(random, 1, 16);
    const std::vector<Branch> branches(static_cast<std::size_t>(count), branch);
    const auto stages = combined_branches(branches, {count, {}});
    REQUIRE(stages);
    for (const auto& stage : *stages) {
      const double cost = stage.noise_figure.value() - branch.noise_figure.value();
      REQUIRE(std::abs(cost - 10 * std::log10(count)) < 1e-9);
    }
  }
}

TEST_CASE("with one antenna and a terminated port the combiner is the loss it is") {
  // Conservation: passive branch and terminations all at 290 K give kT0 out, whatever the excess.
  Random random{5};
  for (int round = 0; round < 500; ++round) {
    const int ways = whole(random, 1, 8);
    const auto excess = Decibel::of(uniform(random, 0, 3));
    const auto cable = Decibel::of(uniform(random, 0, 10));
    const auto stages = combined_branches(std::vector{Branch{-cable, cable}}, {ways, excess});
    REQUIRE(stages);
    const double loss = (cable + splitter_loss(ways, excess).value()).value();
    REQUIRE(std::abs(stages->front().noise_figure.value() - loss) < 1e-9);
    REQUIRE(std::abs(stages->front().gain.value() + loss) < 1e-9);
  }
}

TEST_CASE("a combiner seen from one branch is the combiner seen as a whole") {
  Random random{7};
  for (int round = 0; round < 500; ++round) {
    const int ways = whole(random, 1, 8);
    const int used = whole(random, 1, ways);
    const Combiner combiner{ways, Decibel::of(uniform(random, 0, 3)),
                            Kelvin::of(uniform(random, 200, 400))};
    std::vector<Branch> branches;
    for (int i = 0; i < used; ++i) {
      const double gain = uniform(random, -20, 30);
      branches.push_back(
          {Decibel::of(gain), Decibel::of(uniform(random, std::max(0.0, -gain), 30))});
    }
    const auto whole = combined_branches(branches, combiner);
    REQUIRE(whole);
    for (std::size_t i = 0; i < branches.size(); ++i) {
      auto others = branches;
      others.erase(others.begin() + static_cast<std::ptrdiff_t>(i));
      const auto stage = combiner_stage(others, combiner);
      REQUIRE(stage);
      const auto chain =
          cascade(std::vector{Stage{"", branches[i].gain, branches[i].noise_figure}, *stage});
      CHECK(chain.gain.value() == doctest::Approx(whole.value()[i].gain.value()).epsilon(1e-9));
      CHECK(chain.noise_figure.value() ==
            doctest::Approx(whole.value()[i].noise_figure.value()).epsilon(1e-9));
    }
  }
  CHECK(combiner_stage(std::vector<Branch>(2), {2, {}}).error().field == "branches");
}

BandPassDesign any_design(Random& random) {
  const auto centre = Frequency::megahertz(uniform(random, 200, 900));
  const auto width = Frequency::megahertz(centre.megahertz() * uniform(random, 0.01, 0.3));
  return {whole(random, 0, 1) == 0 ? FilterShape::butterworth : FilterShape::chebyshev,
          whole(random, 1, 9), Decibel::of(uniform(random, 0.01, 3)), Band::around(centre, width)};
}

TEST_CASE("filter attenuation rises all the way outside the passband") {
  Random random{6};
  for (int round = 0; round < 300; ++round) {
    CAPTURE(round);
    const auto design = any_design(random);
    const auto ideal = IdealBandPass::make(design);
    REQUIRE(ideal);
    for (const int side : {-1, 1}) {
      double last = design.edge_loss.value() - rounding;
      for (int step = 0; step <= 50; ++step) {
        const auto from = side < 0 ? design.edges.low : design.edges.high;
        const double apart = design.edges.width().megahertz() * step / 20.0 * side;
        const auto at = from + Frequency::megahertz(apart);
        if (at <= Frequency{}) break;
        const double value = ideal->attenuation(at).value();
        REQUIRE(value >= last - rounding);
        last = value;
      }
    }
    // And stays within the edge loss inside it.
    for (int step = 0; step <= 50; ++step) {
      const auto at = design.edges.low + (step * design.edges.width()) / 50;
      REQUIRE(ideal->attenuation(at).value() <= design.edge_loss.value() + 1e-6);
    }
  }
}

TEST_CASE("losses only ever add attenuation at mid-band, and the loss asked for is the loss got") {
  Random random{7};
  for (int round = 0; round < 300; ++round) {
    CAPTURE(round);
    const auto design = any_design(random);
    const auto centre = Frequency::hertz(std::llround(design.centre_hertz()));
    const double lossless = IdealBandPass::make(design)->attenuation(centre).value();
    double last = lossless;
    for (const double q : {1e8, 1e4, 1e3, 300.0, 100.0}) {
      const double loss = LossyBandPass::make(design, q)->attenuation(centre).value();
      REQUIRE(loss >= last - 1e-6);
      last = loss;
    }
    const double asked = uniform(random, 0.01, 4);
    const auto filter = LossyBandPass::with_midband_loss(design, Decibel::of(asked));
    REQUIRE(filter);
    REQUIRE(std::abs(filter->attenuation(centre).value() - lossless - asked) < 1e-5);
  }
}

TEST_CASE("a measured table is met at its points and never overshot between them") {
  Random random{8};
  for (int round = 0; round < 300; ++round) {
    CAPTURE(round);
    std::vector<ResponsePoint> points;
    auto at = Frequency::megahertz(470);
    for (int i = whole(random, 2, 20); i > 0; --i) {
      points.push_back({at, Decibel::of(uniform(random, 0, 60))});
      at = at + Frequency::hertz(whole(random, 1, 20'000'000));
    }
    const auto table = MeasuredResponse::make(points);
    REQUIRE(table);
    for (std::size_t i = 0; i + 1 < points.size(); ++i) {
      const auto [low, high] = std::minmax(points[i].attenuation, points[i + 1].attenuation);
      REQUIRE(table->attenuation(points[i].frequency) == points[i].attenuation);
      for (int k = 0; k < 10; ++k) {
        const auto width = points[i + 1].frequency - points[i].frequency;
        const double value = table->attenuation(points[i].frequency + (k * width) / 10).value();
        REQUIRE(value >= low.value() - rounding);
        REQUIRE(value <= high.value() + rounding);
      }
    }
    REQUIRE(table->attenuation(Frequency::megahertz(1)) == points.front().attenuation);
    REQUIRE(table->attenuation(Frequency::megahertz(5000)) == points.back().attenuation);
  }
}

TEST_CASE("a tunable filter's width and loss follow its centre along the datasheet's points") {
  const auto mhz = [](double value) { return Frequency::megahertz(value); };
  const auto filter = TunableFilter::make(
      FilterShape::chebyshev, 3, Decibel::of(0.1),
      {{mhz(430), mhz(36), Decibel::of(2)}, {mhz(740), mhz(48), Decibel::of(1)}});
  REQUIRE(filter);
  CHECK(filter->tuned_to(mhz(585)).width == mhz(42));
  CHECK(std::abs(filter->tuned_to(mhz(585)).midband_loss.value() - 1.5) < 1e-12);
  CHECK(filter->tuned_to(mhz(400)).width == mhz(36));
  CHECK(filter->tuned_to(mhz(800)).width == mhz(48));
  const auto tuned = filter->response(mhz(585));
  REQUIRE(tuned);
  CHECK(tuned->design().edges == Band{mhz(564), mhz(606)});

  const auto constant_q = TunableFilter::constant_q(FilterShape::chebyshev, 3, Decibel::of(0.1),
                                                    mhz(400), mhz(800), mhz(20), Decibel::of(1));
  REQUIRE(constant_q);
  for (const double centre : {400.0, 500.0, 640.0, 800.0}) {
    CHECK(constant_q->tuned_to(mhz(centre)).width == mhz(centre / 20));
  }
}

TEST_CASE("received level never rises with distance or extra loss, and a measurement wins") {
  Random random{9};
  const auto erp = Erp::of(PowerLevel::dbm(17));
  for (int round = 0; round < 300; ++round) {
    CAPTURE(round);
    const auto at = Frequency::megahertz(uniform(random, 50, 2000));
    Path path{.aperture = Metres::of(uniform(random, 0, 2))};
    double last = 1e9;
    for (const double distance : {0.0, 0.01, 0.05, 0.1, 0.3, 1.0, 3.0, 10.0, 100.0, 1e4}) {
      path.distance = Metres::of(distance);
      const auto got = received(erp, at, path, Decibel::of(7));
      REQUIRE(got);
      REQUIRE(got->level.dbm() <= last + rounding);
      const bool near = distance < near_field_floor(at, path.aperture).value();
      REQUIRE((got->from == Reception::From::near_field_floor) == near);
      last = got->level.dbm();
    }
    // Free space at λ/2π is 20·lg 2 = 6.02 dB: never a gain.
    REQUIRE(free_space_loss(at, near_field_floor(at))->value() > 6.0205);
    path.extra_loss = Decibel::of(5);
    REQUIRE(std::abs(received(erp, at, path, Decibel::of(7))->level.dbm() - last + 5) < rounding);
    path.measured_isolation = Decibel::of(42);
    const auto measured = received(erp, at, path, Decibel::of(7));
    REQUIRE(measured->level == PowerLevel::dbm(17 - 42));
    REQUIRE(measured->from == Reception::From::measurement);
  }
}

TEST_CASE("numbers out of range are refused with the field, the value and what is allowed") {
  const Band valid{Frequency::megahertz(10), Frequency::megahertz(1000)};
  const CableType cable{"cable", 1, 0.01, valid, ""};
  const auto at = Frequency::megahertz(500);
  CHECK(cable_loss(cable, Metres::of(-3), at).error().message() ==
        "length: -3 m is outside 0 to 10000 m");
  CHECK(cable_loss(cable, Metres::of(3), Frequency::megahertz(1200)).error().message() ==
        "frequency: 1200 MHz is outside 10 to 1000 MHz");
  CHECK(received(Erp::of({}), at, {}, {}).error().message() ==
        "distance: not given as a number; allowed is 0 to 10000000 m");
  CHECK(splitter_loss(0, {}).error().message() == "ways: 0 is outside 1 to 1024");
  CHECK(combined_branches(std::vector<Branch>(3), {2, {}}).error().field == "branches");
  CHECK(mismatched_line_loss(Decibel::of(1), 0.5).error().field == "standing_wave_ratio");
  CHECK(connectors_loss(2, Decibel::of(-1)).error().field == "connector_loss");
  CHECK(free_space_loss(Frequency{}, Metres::of(1)).error().field == "frequency");
  CHECK(free_space_loss(at, Metres{}).error().field == "distance");

  const BandPassDesign design{FilterShape::chebyshev, 3, Decibel::of(0.1), valid};
  auto bad = design;
  bad.order = 16;
  CHECK(IdealBandPass::make(bad).error().field == "order");
  bad = design;
  std::swap(bad.edges.low, bad.edges.high);
  CHECK(IdealBandPass::make(bad).error().field == "upper_edge");
  bad = design;
  bad.edge_loss = {};
  CHECK(LossyBandPass::make(bad, 100).error().field == "edge_loss");
  CHECK(LossyBandPass::make(design, 0).error().field == "unloaded_q");
  CHECK(LossyBandPass::with_midband_loss(design, Decibel::of(-1)).error().field == "midband_loss");

  CHECK(MeasuredResponse::make({{at, {}}}).error().field == "points");
  CHECK(MeasuredResponse::make({{at, {}}, {at, {}}}).error().field == "points[1].frequency");
  const auto nan = Decibel::of(std::nan(""));
  CHECK(MeasuredResponse::make({{at, nan}, {valid.high, {}}}).error().field ==
        "points[0].attenuation");
  const auto tuning = TunableFilter::make(FilterShape::chebyshev, 3, Decibel::of(0.1),
                                          {{at, Frequency::megahertz(1200), {}}});
  CHECK(tuning.error().field == "tuning[0].lower_edge");

  Stage stage{"node", Decibel::of(10), Decibel::of(-1)};
  CHECK(check(stage)->message() == "node.noise_figure: -1 dB is outside 0 to 150 dB");
}

}  // namespace
