// SPDX-License-Identifier: Apache-2.0
// A node's gain over frequency: few points, and yet the same numbers that the rules have at every
// carrier. What a filter takes off is held against a library outside in tests/reference.
#include "daemon/rack/levels/node_response.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "daemon/rack/levels/other_node.hpp"
#include "daemon/rack/levels/tuned_node.hpp"
#include "tests/support/physics_rack.hpp"
#include "tests/support/rack_fixture.hpp"

using namespace catwalk;
using namespace catwalk::test;
using rf::Band;
using rf::Decibel;
using rf::Frequency;

namespace {

// Strictly rising, and no more of them than may be.
void check_order(const std::vector<rf::CurvePoint>& points, std::size_t most) {
  REQUIRE(points.size() >= 2);
  CHECK(points.size() <= most);
  for (std::size_t i = 1; i < points.size(); ++i)
    CHECK(points[i - 1].frequency < points[i].frequency);
}

// What a line between two points may be off, at most.
double allowed(Decibel top, Decibel at) {
  return 0.02 * (1.0 + std::max(0.0, (top - at).value() - 3.0) / 10.0) + 0.001;
}

Decibel top_of(const std::vector<rf::CurvePoint>& points) {
  return std::ranges::max_element(points, {}, &rf::CurvePoint::gain)->gain;
}

plan::Settings some_settings(int node) {
  return {rf::Gain::decibels(node % 12), 0, Frequency::megahertz(480 + 3 * node), true, ""};
}

}  // namespace

TEST_CASE("at every carrier the lines between the points are what the physics computes there") {
  auto plan = physics_rack(24, 120, 7);
  for (auto& node : plan.nodes) {
    node.lead = {plan::FixedLoss{"jumper", Decibel::of(0.7)}};
    node.feed.reset();
  }
  const auto span = rack::span_of_show(plan);
  int compared = 0;
  for (int i = 0; i < 24; ++i) {
    const auto& node = plan.nodes[static_cast<std::size_t>(i)];
    const auto settings = some_settings(i);
    const auto response = rack::response_of(node, settings, span);
    check_order(response.points, 800);
    const auto top = top_of(response.points);
    const plan::Chain no_arm;
    const rack::OtherNode direct{plan, plan.segments[0], node, no_arm, settings};
    for (const auto& carrier : plan.segments[0].carriers) {
      const auto truly = direct.at(carrier.frequency).gain;
      const auto shown = rf::interpolated(response.points, carrier.frequency);
      CAPTURE(carrier.frequency.megahertz());
      CHECK(std::abs((shown - truly).value()) <= allowed(top, truly));
      ++compared;
    }
    // The rules' own numbers, for the carriers that the node has to hear.
    const rack::NodePhysics physics{plan, plan.segments[0], node,
                                    [](const plan::NodeName&) { return std::nullopt; }};
    for (const auto& one : rack::budget_of(physics, settings).carriers) {
      const auto shown = rf::interpolated(response.points, one.carrier->frequency);
      CHECK(std::abs((shown - one.chain_gain).value()) <= allowed(top, one.chain_gain));
      ++compared;
    }
  }
  CHECK(compared > 24 * 120);
}

TEST_CASE("the points themselves are computed, not drawn") {
  const auto plan = physics_rack(2, 16, 3);
  const auto settings = some_settings(4);
  const rack::NodeGain gain{plan.nodes[0], settings};
  for (const auto& point :
       rack::response_of(plan.nodes[0], settings, rack::span_of_show(plan)).points)
    CHECK(point.gain == gain.at(point.frequency));
}

TEST_CASE("the edges of the passband are points, and there the filter takes what it is made for") {
  // Without figures of its own a filter is taken for Butterworth, 1 dB down at its edges, no loss
  // in the middle (daemon/plan/datasheet.hpp).
  const auto plan = small_rack();
  const auto response =
      rack::response_of(plan.nodes[0], slide_at(6, 518), rack::span_of_show(plan));
  REQUIRE(response.passband);
  CHECK(*response.passband == Band{Frequency::megahertz(498), Frequency::megahertz(538)});
  const auto gain_at = [&](double megahertz) {
    const auto at = std::ranges::find(response.points, Frequency::megahertz(megahertz),
                                      &rf::CurvePoint::frequency);
    REQUIRE(at != response.points.end());
    return at->gain.value();
  };
  CHECK(gain_at(498) == doctest::Approx(5.0).epsilon(1e-4));
  CHECK(gain_at(518) == doctest::Approx(6.0).epsilon(1e-4));
  CHECK(gain_at(538) == doctest::Approx(5.0).epsilon(1e-4));
}

TEST_CASE("points stand closer at the edges than far from them") {
  const auto plan = physics_rack(2, 16, 3);
  const auto response = rack::response_of(plan.nodes[0], some_settings(10),
                                          {Frequency::megahertz(300), Frequency::megahertz(900)});
  const auto within = [&](const Band& band) {
    return std::ranges::count_if(response.points, [&](const rf::CurvePoint& point) {
      return band.low <= point.frequency && point.frequency <= band.high;
    });
  };
  const auto edge = response.passband->high;
  const auto width = Frequency::megahertz(5);
  CHECK(within({edge - width, edge + width}) >
        4 * within({edge + Frequency::megahertz(100), edge + Frequency::megahertz(110)}));
}

TEST_CASE("without power a node is what its datasheet says, at every frequency, behind its lead") {
  auto plan = physics_rack(2, 16, 3);
  plan.nodes[0].lead = {plan::FixedLoss{"jumper", Decibel::of(0.5)}};
  auto settings = some_settings(0);
  settings.power = false;
  settings.filter = 9;  // nothing is asked of the filter
  const auto response = rack::response_of(plan.nodes[0], settings, rack::span_of_show(plan));
  CHECK_FALSE(response.passband);
  check_order(response.points, 800);
  for (const auto& point : response.points)
    CHECK(point.gain.value() == doctest::Approx(-1.5).epsilon(1e-12));
}

TEST_CASE("the span is that of the show, and reaches as far as a window beyond it") {
  const auto plan = small_rack();  // lanes and carriers from 500 to 620.1 MHz
  const auto span = rack::span_of_show(plan);
  const double margin = 120.1 / 20;
  CHECK(span.low.megahertz() == doctest::Approx(500 - margin).epsilon(1e-9));
  CHECK(span.high.megahertz() == doctest::Approx(620.1 + margin).epsilon(1e-9));
  const auto inside = rack::response_of(plan.nodes[0], slide_at(0, 540), span);
  CHECK(inside.points.front().frequency == span.low);
  CHECK(inside.points.back().frequency == span.high);
  const auto beyond = rack::response_of(plan.nodes[0], slide_at(0, 720), span);
  CHECK(beyond.points.front().frequency == span.low);
  CHECK(beyond.points.back().frequency == Frequency::megahertz(760));

  auto bare = plan;
  bare.segments.resize(1);
  bare.segments[0].lanes.clear();
  bare.segments[0].carriers.clear();
  CHECK(rack::span_of_show(bare).contains({Frequency::megahertz(410), Frequency::megahertz(760)}));
  bare.nodes.clear();
  CHECK(rack::span_of_show(bare).width() > Frequency{});
}

TEST_CASE("no curve takes more points than may be, nor one that is not there") {
  const Band span{Frequency::megahertz(400), Frequency::megahertz(800)};
  const auto wild = [](Frequency at) { return Decibel::of(20 * std::sin(at.megahertz() * 3)); };
  check_order(rf::sampled(wild, span, {}, {}), 800);
  CHECK(rf::sampled(wild, span, {}, {.most_points = 40}).size() == 40);
  // A straight line needs no more than one looks at first.
  const auto straight = [](Frequency at) { return Decibel::of(at.megahertz() / 100); };
  CHECK(rf::sampled(straight, span, {}, {}).size() == 17);
  // Narrower than its raster: the ends are all there is.
  const Band narrow{Frequency::hertz(500'000'100), Frequency::hertz(500'000'200)};
  CHECK(rf::sampled(wild, narrow, {}, {}).size() == 2);
}

TEST_CASE("a jump is found to the raster and no finer") {
  const Band span{Frequency::megahertz(400), Frequency::megahertz(800)};
  const auto jump = Frequency::hertz(512'345'678);
  const auto points = rf::sampled(
      [&](Frequency at) { return at < jump ? Decibel{} : Decibel::of(-10); }, span, {}, {});
  check_order(points, 800);
  const auto after = std::ranges::find(points, Decibel::of(-10), &rf::CurvePoint::gain);
  REQUIRE(after != points.end());
  CHECK(after->frequency - std::prev(after)->frequency <= Frequency::kilohertz(1));
}
