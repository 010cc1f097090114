// SPDX-License-Identifier: Apache-2.0
// What the rack knows of nodes that a search found, and of those that it has no name for.
#include <doctest/doctest.h>

#include <algorithm>

#include "tests/support/hall.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

struct Searched : Hall {
  Searched() : Hall{small_rack()} {
    give(rack::LineWentUp{line});
    give(rack::DiscoverRequested{.request = ++last_request, .line = line, .who = "ana"});
    give(rack::NodeDiscovered{line, uid(1), {4}});
    give(rack::NodeDiscovered{line, uid(0x77), protocol::Address::unassigned(), {}, "", "None."});
    give(rack::DiscoveryEnded{line, ""});
    run();
  }
  rack::RequestId locate(std::uint64_t node) {
    give(rack::LocateFoundRequested{
        .request = ++last_request, .line = line, .node = uid(node), .seconds = 30, .who = "ana"});
    return last_request;
  }
  const rack::Answer& answer(rack::RequestId request) { return answers.at(request).back(); }
  std::vector<rack::LineView::Discovery> rows() const {
    for (const auto& one : *snapshot()->lines)
      if (one.name == line) return one.discovered;
    return {};
  }

  const plan::LineName line = small_rack().nodes[0].line;
};

}  // namespace

TEST_CASE("a row is renewed by the last word on its uid, and nothing is added after the search") {
  Searched hall;
  REQUIRE(hall.rows().size() == 2);
  CHECK(hall.rows()[0].node == plan::NodeName{"left"});
  CHECK(hall.rows()[1].doubt == "None.");
  hall.give(rack::NodeDiscovered{
      hall.line, uid(0x77), {9}, protocol::Identity{uid(0x77), {9}, 1, 0x0102, "tern-inline"}});
  hall.give(rack::NodeDiscovered{hall.line, uid(0x78), {10}});
  REQUIRE(hall.rows().size() == 2);
  const auto row = hall.rows()[1];
  CHECK(row.address == protocol::Address{9});
  CHECK(row.type == "tern-inline");
  CHECK(row.firmware == 0x0102);
  CHECK(row.doubt.empty());
  CHECK_FALSE(row.node);
}

TEST_CASE("what was found gets and loses its name with the plan that is read") {
  Searched hall;
  auto plan = small_rack();
  plan.nodes[0].uid = uid(0x77);
  hall.give(rack::PlanReplaced{std::make_shared<const plan::RackPlan>(plan), "reload"});
  hall.run();
  REQUIRE(hall.rows().size() == 2);
  CHECK_FALSE(hall.rows()[0].node);
  CHECK(hall.rows()[1].node == plan::NodeName{"left"});
}

TEST_CASE("a lamp blinks only when that stands in the journal") {
  Searched hall;
  hall.nodes[0x77] = {};
  hall.disk_full = true;
  const auto refused = hall.locate(0x77);
  hall.run();
  CHECK(hall.answer(refused).outcome == rack::Outcome::not_recorded);
  hall.disk_full = false;
  const auto done = hall.locate(0x77);
  CHECK_FALSE(hall.answers.contains(done));
  hall.run();
  CHECK(hall.answer(done).outcome == rack::Outcome::done);
  const auto what = "locate 0000-00000077 on " + hall.line.text + " for 30 s";
  const auto entry = std::ranges::find(hall.journal, what, &rack::JournalEntry::what);
  REQUIRE(entry != hall.journal.end());
  CHECK(entry->who == "ana");
  CHECK(entry->kind == rack::JournalKind::command);

  hall.nodes.at(0x77).silent = true;
  const auto silent = hall.locate(0x77);
  hall.run();
  CHECK(hall.answer(silent).outcome == rack::Outcome::unreachable);
  const auto unknown = hall.locate(0x78);
  CHECK(hall.answer(unknown).outcome == rack::Outcome::unknown_name);
  CHECK(hall.answer(unknown).detail.find("allowed: 0000-00000001 and 0000-00000077.") !=
        std::string::npos);
}
