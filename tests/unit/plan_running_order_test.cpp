// SPDX-License-Identifier: Apache-2.0
#include <doctest/doctest.h>

#include "daemon/plan/rack_plan.hpp"

using namespace catwalk::plan;

TEST_CASE("a rack has no running order unless it is given one") {
  const RackPlan plan;
  CHECK(plan.running_order.cues.empty());
  CHECK(plan.running_order.zone.name == "UTC");
  CHECK(plan.running_order.second_trigger == SecondTrigger::refuse);
  CHECK(plan.running_order.after_restart == AfterRestart::wait);
  CHECK(plan.running_order.arming_lasts == std::chrono::minutes{10});
  CHECK(plan.line_timings.empty());
}

TEST_CASE("a cue is found by its own name, not by its segment's") {
  RunningOrder order;
  order.cues = {{.name = {"doors"}, .segment = {"arrival"}},
                {.name = {"arrival"}, .segment = {"concert"}, .trigger = ByMessage{"tutti"}}};
  REQUIRE(order.find({"arrival"}) != nullptr);
  CHECK(order.find({"arrival"})->segment == SegmentName{"concert"});
  CHECK(order.find({"doors"}) == &order.cues.front());
  CHECK(order.find({"concert"}) == nullptr);
}

TEST_CASE("nobody triggers a cue but a person, unless it says so") {
  CHECK(Cue{}.trigger == Trigger{ByHand{}});
  CHECK(Trigger{AfterSegment{{"arrival"}, std::chrono::seconds{5}}} !=
        Trigger{AfterSegment{{"arrival"}, std::chrono::seconds{6}}});
}

TEST_CASE("a node that fails takes the whole switch back, unless the segment says otherwise") {
  CHECK(Segment{}.if_a_node_fails == IfNodeFails::roll_back);
}

TEST_CASE("policies have the names that files and people use") {
  CHECK(name_of(SecondTrigger::refuse) == "refuse");
  CHECK(name_of(SecondTrigger::queue) == "queue");
  CHECK(name_of(SecondTrigger::replace) == "replace");
  CHECK(name_of(AfterRestart::wait) == "wait");
  CHECK(name_of(AfterRestart::finish) == "finish");
  CHECK(name_of(AfterRestart::roll_back) == "roll back");
  CHECK(name_of(IfNodeFails::roll_back) == "roll back");
  CHECK(name_of(IfNodeFails::go_on) == "go on");
}
