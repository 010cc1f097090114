// SPDX-License-Identifier: Apache-2.0
// The demo racks as a technician finds them: every planned setting is one that nobody objects to.
#include <doctest/doctest.h>

#include "config/load.hpp"
#include "daemon/rack/physics/recommend.hpp"
#include "daemon/rack/rules.hpp"

using namespace catwalk;
using namespace catwalk::rack;

namespace {

// The demo racks take what they need from the state folder; the bench rack needs nothing.
plan::RackPlan bench() {
  auto loaded = config::load(std::string{CATWALK_SOURCE} + "/config/demo/bench.rack.json");
  REQUIRE(loaded.rack);
  return std::move(loaded.rack->plan);
}

plan::Settings planned(const plan::RackPlan& plan, const plan::Segment& segment,
                       const plan::NodeName& name) {
  const auto proposal = propose(*plan.find(name), {}, segment.settings.at(name));
  REQUIRE(proposal.findings.empty());
  return proposal.settings;
}

}  // namespace

TEST_CASE(
    "in each segment of the demo the planned settings raise no finding but what power is for") {
  const auto plan = bench();
  std::size_t notes = 0;
  for (const auto& segment : plan.segments) {
    const Surroundings around{
        plan, segment,
        [&](const plan::NodeName& name) { return PossibleSettings{planned(plan, segment, name)}; },
        false};
    for (const auto& node : plan.nodes) {
      CAPTURE(segment.name.text);
      CAPTURE(node.name.text);
      for (const auto& finding : check(around, node, planned(plan, segment, node.name)).findings) {
        CAPTURE(finding.sentence);
        CHECK(finding.severity == Severity::note);
        CHECK(finding.rule == Rule::if_power_fails);
        ++notes;
      }
    }
  }
  CHECK(notes == 22);  // two of the eight serve nobody in the first segment
}

TEST_CASE("for each segment of the demo clean settings are recommended to every node") {
  const auto plan = bench();
  for (const auto& segment : plan.segments) {
    CAPTURE(segment.name.text);
    const auto all = recommend_segment(plan, segment, [&](const plan::NodeName& name) {
      return std::optional{planned(plan, segment, name)};
    });
    REQUIRE(all.size() == plan.nodes.size());
    for (const auto& one : all) {
      CAPTURE(one.node.text);
      CHECK(one.clean);
      CHECK(one.advice.empty());
    }
  }
}
