// SPDX-License-Identifier: Apache-2.0
// The demo racks as a technician finds them: every planned setting is one that nobody objects to.
#include <doctest/doctest.h>

#include <algorithm>
#include <optional>

#include "config/load.hpp"
#include "daemon/rack/outlook/recommend.hpp"
#include "daemon/rack/outlook/what_if.hpp"
#include "daemon/rack/rules/matrix_rules.hpp"
#include "daemon/rack/rules/rules.hpp"
#include "daemon/rack/way/way.hpp"
#include "tests/support/routed_in.hpp"

using namespace catwalk;
using namespace catwalk::rack;
using test::routed_in;

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

// Every node where the segment has it. Refers to both, which have to live as long.
Surroundings where_planned(const plan::RackPlan& plan, const plan::Segment& segment) {
  return {plan, segment,
          [&plan, &segment](const plan::NodeName& name) {
            return PossibleSettings{planned(plan, segment, name)};
          },
          false};
}

}  // namespace

// Of what power is for, and of products that cost nothing.
TEST_CASE("in each segment of the demo the planned settings raise notes alone") {
  const auto described = bench();
  std::size_t notes = 0;
  for (std::size_t i = 0; i < described.segments.size(); ++i) {
    const auto plan = routed_in(described, described.segments[i]);
    const auto& segment = plan.segments[i];
    const auto around = where_planned(plan, segment);
    for (const auto& node : plan.nodes) {
      CAPTURE(segment.name.text);
      CAPTURE(node.name.text);
      for (const auto& finding : check(around, node, planned(plan, segment, node.name)).findings) {
        CAPTURE(finding.sentence);
        CHECK(finding.severity == Severity::note);
        if (finding.rule == Rule::intermodulation_on_carrier) continue;
        CHECK(finding.rule == Rule::if_power_fails);
        ++notes;
      }
    }
    const auto& shore = plan.matrices.front();
    CHECK(check(around, shore, shore.settings).findings.empty());
  }
  // Two of the eight serve nobody in the first segment, and four in the second.
  CHECK(notes == 6 + 4 + 8 + 8 + 8);
}

TEST_CASE("what a lost supply leaves is the same in the verdict and in what-if, products counted") {
  const auto described = bench();
  int compared = 0;
  for (std::size_t i = 0; i < described.segments.size(); ++i) {
    const auto plan = routed_in(described, described.segments[i]);
    const auto& segment = plan.segments[i];
    const auto around = where_planned(plan, segment);
    for (const auto& node : plan.nodes) {
      CAPTURE(segment.name.text);
      CAPTURE(node.name.text);
      const auto settings = planned(plan, segment, node.name);
      const auto verdict = check(around, node, settings);
      const auto note = std::ranges::find(verdict.findings, Rule::if_power_fails, &Finding::rule);
      const auto supposed = what_if(around, node, settings, {.passive = {node.name}}, {});
      REQUIRE(supposed);
      std::optional<rf::Decibel> least;
      for (const auto& chain : supposed->explained.chains)
        if (const auto margin = chain.budget.margin(); margin && (!least || *margin < *least))
          least = margin;
      REQUIRE((note != verdict.findings.end()) == least.has_value());
      if (!least) continue;
      const auto told = std::ranges::find(note->numbers, "margin passive", &Number::name);
      REQUIRE(told != note->numbers.end());
      CHECK(told->value == doctest::Approx(least->value()).epsilon(1e-9));
      ++compared;
    }
  }
  CHECK(compared == 6 + 4 + 8 + 8 + 8);
}

TEST_CASE("for each segment of the demo clean settings are recommended to every node") {
  const auto described = bench();
  for (std::size_t i = 0; i < described.segments.size(); ++i) {
    const auto plan = routed_in(described, described.segments[i]);
    const auto& segment = plan.segments[i];
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

namespace {

Way way_between(const plan::RackPlan& described, const plan::Segment& left,
                const plan::Segment& entered) {
  const auto plan = routed_in(described, left);
  std::vector<NodeEnds> ends;
  for (const auto& node : plan.nodes)
    ends.push_back({.node = node.name,
                    .present = planned(plan, left, node.name),
                    .target = planned(plan, entered, node.name)});
  const auto there = routed_in(described, entered);
  for (std::size_t i = 0; i < plan.matrices.size(); ++i)
    ends.push_back({.node = plan.matrices[i].name,
                    .present = plan.matrices[i].settings,
                    .target = there.matrices[i].settings});
  return plan_way({.plan = plan, .left = left, .entered = entered, .nodes = std::move(ends)});
}

bool objects(const Verdict& verdict) {
  return verdict.has(Severity::refuse) || verdict.has(Severity::caution);
}

}  // namespace

TEST_CASE("the demo's way from each segment to the next is clean, and so is where it ends") {
  const auto plan = bench();
  for (std::size_t i = 1; i < plan.segments.size(); ++i) {
    CAPTURE(plan.segments[i].name.text);
    const auto way = way_between(plan, plan.segments[i - 1], plan.segments[i]);
    CHECK(way.clean());
    CHECK_FALSE(way.steps.empty());
    CHECK_FALSE(objects(way.before));
    CHECK_FALSE(objects(way.end));
    for (const auto& step : way.steps) {
      CHECK_FALSE(objects(step.in_flight));
      CHECK_FALSE(objects(step.after));
    }
  }
}

TEST_CASE("in the demo's finale the choir hears another antenna, and windows move for that") {
  const auto plan = bench();
  const auto hears = [&](const char* segment, const char* receiver) {
    const auto there = routed_in(plan, *plan.find(plan::SegmentName{segment}));
    std::vector<std::string> names;
    for (const auto& branch : there.find(plan::ReceiverName{receiver})->branches)
      for (const auto& name : branch.nodes) names.push_back(name.text);
    return names;
  };
  using Names = std::vector<std::string>;
  CHECK(hears("lantern-parade", "vocals") == Names{"truss-left", "truss-right"});
  CHECK(hears("finale", "vocals") == Names{"pontoon-stern", "truss-right"});
  CHECK(hears("lantern-parade", "band") == Names{"pontoon-stern", "truss-centre"});
  CHECK(hears("finale", "band") == Names{"truss-left", "truss-centre"});
}

// The in-ears are on before the concert begins, and the choir's windows are where they are.
TEST_CASE("the demo has no clean way back from the finale to the concert, which is said") {
  const auto plan = bench();
  const auto way = way_between(plan, *plan.find(plan::SegmentName{"finale"}),
                               *plan.find(plan::SegmentName{"regatta-concert"}));
  CHECK(way.needs_waiver());
  REQUIRE_FALSE(way.breaches.findings.empty());
  for (const auto& finding : way.breaches.findings)
    CHECK(finding.rule == Rule::own_transmitter_in_window);
}
