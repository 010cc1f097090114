// SPDX-License-Identifier: Apache-2.0
// What happens while a record is on its way to the disk.
#include <doctest/doctest.h>

#include "tests/support/hall.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

struct Met : Hall {
  Met() : Hall{small_rack(), {.epoch = {1}}, all_at_home()} { meet(); }
  void read(std::uint64_t node) { give(rack::NodeReported{uid(node), nodes.at(node).reading()}); }
  // As everybody sees it, and as it is kept.
  void check_in(const std::string& segment) {
    CHECK(snapshot()->segment.text == segment);
    CHECK(kept.segment == segment);
  }
};

}  // namespace

TEST_CASE("a drift that ends while a change's intent fails is over") {
  Met hall;
  hall.nodes.at(1).force = slide_at(5, 518);
  hall.read(1);
  hall.run();
  REQUIRE(hall.has_alarm(rack::AlarmKind::drifted));
  rack::ChangeRequested change{.request = ++hall.last_request, .node = {"left"}};
  change.patch.gain = rf::Gain::decibels(3);
  hall.give(change);
  hall.nodes.at(1).force = slide_at(0, 518);
  hall.read(1);
  hall.disk_full = true;
  REQUIRE(hall.run_until([&] { return hall.answers.contains(hall.last_request); }));
  CHECK(hall.answers.at(hall.last_request).back().outcome == rack::Outcome::not_recorded);
  CHECK_FALSE(hall.has_alarm(rack::AlarmKind::drifted));
}

TEST_CASE("a segment whose record is on its way when the plan is read again is kept") {
  Met hall;
  const auto first = hall.snapshot()->segment;
  hall.give(rack::SegmentRequested{.request = ++hall.last_request, .segment = {"finale"}});
  hall.give(rack::PlanReplaced{hall.snapshot()->plan, "reload"});
  hall.run();
  REQUIRE(hall.answers.at(hall.last_request).back().outcome == rack::Outcome::done);
  hall.check_in("finale");
}

TEST_CASE("a segment that is chosen while a plan without it is read is not kept") {
  Met hall;
  auto plan = small_rack();
  plan.segments[1].name = {"encore"};
  hall.give(rack::SegmentRequested{.request = ++hall.last_request, .segment = {"finale"}});
  hall.give(rack::PlanReplaced{std::make_shared<const plan::RackPlan>(plan), "reload"});
  hall.run();
  CHECK(hall.answers.at(hall.last_request).back().outcome == rack::Outcome::unknown_name);
  hall.check_in("speeches");
}

TEST_CASE("an adoption that is on its way when another device comes in is not kept, and says so") {
  Met hall;
  hall.nodes.at(1).force = slide_at(5, 518);
  hall.nodes[0x77] = {slide_at(2, 518)};
  hall.read(1);
  hall.run();
  REQUIRE(hall.has_alarm(rack::AlarmKind::drifted));
  hall.give(rack::AdoptRequested{.request = ++hall.last_request, .node = {"left"}, .who = "ana"});
  auto plan = small_rack();
  SUBCASE("in its place") { plan.nodes[0].uid = uid(0x77); }
  SUBCASE("two were mixed up") { std::swap(plan.nodes[0].uid, plan.nodes[1].uid); }
  SUBCASE("and it is in a place that is new") {
    plan.nodes[2].name = {"mast"};
    std::swap(plan.nodes[0].uid, plan.nodes[2].uid);
  }
  hall.give(rack::PlanReplaced{std::make_shared<const plan::RackPlan>(plan), "reload"});
  hall.run();
  CHECK(hall.answers.at(hall.last_request).back().outcome == rack::Outcome::unknown_name);
  for (const auto& node : hall.snapshot()->nodes) {
    CAPTURE(node->name.text);
    REQUIRE(node->wanted);
    CHECK(node->wanted->settings == slide_at(0, 518));
    REQUIRE(hall.kept.wanted.contains(node->uid));
    CHECK(hall.kept.wanted.at(node->uid).settings == node->wanted->settings);
    CHECK(hall.kept.wanted.at(node->uid).revision == node->wanted->revision);
  }
  const auto& last = hall.journal.back();
  CHECK(last.kind == rack::JournalKind::fate);
  CHECK(last.what == "adopt from 0000-00000001");
  CHECK(last.fate == "not adopted: another device hangs there by a plan that was read since");
  // Nothing is left over of it.
  hall.read(plan.nodes[0].uid.bits());
  hall.run();
  hall.give(rack::AdoptRequested{.request = ++hall.last_request, .node = {"left"}, .who = "ana"});
  hall.run();
  CHECK(hall.answers.at(hall.last_request).back().outcome == rack::Outcome::settled);
}
