// SPDX-License-Identifier: Apache-2.0
// A sum of antennas in a matrix, by figures that are known: two equal active antennas bring twice
// the noise, 3.01 dB, while the signal of one loses what the combiner takes alone (10·lg of its
// ports: conservation of power, handbook knowledge, from memory). Two passive ones bring no more
// noise than one: behind a matched lossy network stands kT0.
#include <doctest/doctest.h>

#include <cmath>

#include "daemon/plan/routed.hpp"
#include "daemon/rack/levels/tuned_node.hpp"
#include "tests/support/air_rack.hpp"
#include "tests/support/near.hpp"

using namespace catwalk;
using namespace catwalk::rack;
using rf::Decibel;
using test::near;

namespace {

const double of_two = 10.0 * std::log10(2.0);
const double of_four = 10.0 * std::log10(4.0);

// Four inputs on one output, without noise and without distortion of its own to speak of.
plan::MatrixSheet ideal_sheet() {
  plan::MatrixSheet sheet;
  sheet.type = "ideal";
  sheet.inputs = 4;
  sheet.outputs = 1;
  for (int inputs = 1; inputs <= 4; ++inputs)
    sheet.combining_losses.push_back(Decibel::of(10.0 * std::log10(inputs)));
  sheet.output_p1db = rf::PowerLevel::dbm(60);
  sheet.output_ip3 = rf::PowerLevel::dbm(80);
  return sheet;
}

// The air rack's antenna, several times, each at an input; the first inputs are on the output.
plan::RackPlan summed(std::size_t antennas, std::size_t routed) {
  auto plan = test::air_rack();
  const auto mast = plan.nodes.front();
  plan.nodes.clear();
  plan::Matrix unit{{"unit"}, std::make_shared<const plan::MatrixSheet>(ideal_sheet()), "", {}};
  unit.settings.inputs.resize(4);
  plan::Inputs inputs;
  for (std::size_t i = 1; i <= antennas; ++i) {
    auto node = mast;
    node.name = {i == 1 ? mast.name.text : "mast-" + std::to_string(i)};
    node.feed = plan::Chain{};
    node.ends_at = plan::InputOf{{"unit"}, i};
    plan.nodes.push_back(node);
  }
  for (std::size_t i = 1; i <= routed; ++i) inputs.push_back(i);
  unit.settings.outputs = {inputs};
  plan.matrices.push_back(unit);
  auto& branches = plan.receivers.front().branches;
  branches.resize(1);
  branches.front() = {};
  branches.front().from = plan::OutputOf{{"unit"}, 1};
  return plan::routed(std::move(plan));
}

// Of the first carrier, at the first antenna, all of them set alike.
CarrierBudget budget(const plan::RackPlan& plan, const plan::Settings& settings) {
  const SettingsOf alike = [&](const plan::NodeName&) { return std::optional{settings}; };
  const NodePhysics physics{plan, plan.segments.front(), plan.nodes.front(), alike};
  const auto all = budget_of(physics, settings);
  REQUIRE_FALSE(all.carriers.empty());
  return all.carriers.front();
}

// So much that what stands behind adds nothing.
const plan::Settings active{rf::Gain::decibels(20), 0, rf::Frequency::megahertz(600), true, ""};

double behind_noise(const CarrierBudget& one) { return one.noise.dbm() + one.chain_gain.value(); }

}  // namespace

TEST_CASE(
    "of two equal active antennas the noise is up 3.01 dB, and one's signal down by the sum") {
  const auto alone = budget(summed(2, 1), active);
  const auto both = budget(summed(2, 2), active);
  CHECK(near(alone.chain_gain.value() - both.chain_gain.value(), of_two, 0.001));
  // At the output as loud as one alone; at the antenna's terminals 3.01 dB more.
  CHECK(near(both.noise.dbm() - alone.noise.dbm(), of_two, 0.05));
  CHECK(near(behind_noise(both), behind_noise(alone), 0.05));
  const auto four = budget(summed(4, 4), active);
  CHECK(near(alone.chain_gain.value() - four.chain_gain.value(), of_four, 0.001));
  CHECK(near(four.noise.dbm() - alone.noise.dbm(), of_four, 0.05));
}

TEST_CASE("an open input costs the signal as much, and brings only the noise of a termination") {
  const auto alone = budget(summed(1, 1), active);
  const auto open = budget(summed(1, 2), active);
  CHECK(near(alone.chain_gain.value() - open.chain_gain.value(), of_two, 0.001));
  // The active antenna's noise falls with its signal: over it nothing has been added that counts.
  CHECK(near(open.noise.dbm(), alone.noise.dbm(), 0.1));
}

TEST_CASE("passive antennas in a sum bring kT0 between them, and lose 10·lg of their number") {
  auto passive = active;
  passive.power = false;
  const auto alone = budget(summed(2, 1), passive);
  const auto both = budget(summed(2, 2), passive);
  CHECK(near(alone.chain_gain.value() - both.chain_gain.value(), of_two, 0.001));
  // Behind a matched network of any loss stands kT0B: at the terminals as much more as is lost.
  CHECK(near(behind_noise(both), behind_noise(alone), 0.001));
}
