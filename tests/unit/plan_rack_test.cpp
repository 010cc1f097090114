// SPDX-License-Identifier: Apache-2.0
// What a plan says of a node beside its settings: which gains it may have, and whom it serves.
#include <doctest/doctest.h>

#include "daemon/plan/rack_plan.hpp"

using namespace catwalk;
using rf::Gain;

namespace {

plan::RackPlan rack_with(double lowest, double highest, double step) {
  plan::Datasheet sheet;
  sheet.gains.lowest = Gain::decibels(lowest);
  sheet.gains.highest = Gain::decibels(highest);
  sheet.gains.step = Gain::decibels(step);
  plan::Node node;
  node.name = {"left"};
  node.datasheet = std::make_shared<const plan::Datasheet>(sheet);
  plan::RackPlan rack;
  rack.nodes = {node};
  return rack;
}

plan::GainLimits limits(double lowest, double highest) {
  return {Gain::decibels(lowest), Gain::decibels(highest)};
}

}  // namespace

TEST_CASE("the gains of a node are those of datasheet and limits together, on steps") {
  struct Row {
    double lowest, highest, step;
    std::optional<plan::GainLimits> own, rack, gains;
  };
  for (const auto& row :
       std::vector<Row>{{-12, 27, 1, {}, {}, limits(-12, 27)},
                        {-12, 27, 1, {}, limits(-5, 20), limits(-5, 20)},
                        {-12, 27, 1, limits(0, 3), limits(-5, 20), limits(0, 3)},
                        {-12, 27, 1, {}, limits(-20, 40), limits(-12, 27)},
                        {-12, 27, 3, {}, limits(-11, 20), limits(-9, 18)},
                        {-10, 10, 3, {}, {}, limits(-10, 8)},
                        {-10, 10, 0.25, {}, limits(-0.3, 0.3), limits(-0.25, 0.25)},
                        {0, 10, 5, {}, limits(1, 4), {}},
                        {0, 10, 1, {}, limits(11, 20), {}},
                        {0, 10, 1, {}, limits(-20, -1), {}},
                        {0, 10, 1, {}, limits(10, 20), limits(10, 10)}}) {
    auto rack = rack_with(row.lowest, row.highest, row.step);
    rack.gain_limits = row.rack;
    rack.nodes[0].gain_limits = row.own;
    CAPTURE(row.lowest);
    CAPTURE(row.step);
    const auto gains = rack.gains_of(rack.nodes[0]);
    CHECK((gains ? std::optional{plan::GainLimits{gains->lowest, gains->highest}} : std::nullopt) ==
          row.gains);
  }
}

TEST_CASE("a node serves the branches that it stands on, counted from one") {
  auto rack = rack_with(0, 10, 1);
  rack.receivers = {{{"vocals"}, {{{{"left"}}}, {{{"right"}, {"left"}}}}},
                    {{"band"}, {{{{"right"}}}, {{{"left"}}}}},
                    {{"host"}, {{{{"right"}}}}}};
  CHECK(rack.served_by({"left"}) ==
        std::vector<plan::ServedBranch>{{{"vocals"}, 1}, {{"vocals"}, 2}, {{"band"}, 2}});
  CHECK(rack.served_by({"nobody"}).empty());
}
