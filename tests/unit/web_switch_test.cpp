// SPDX-License-Identifier: Apache-2.0
// The running order through the API: preview, go, arm, abort. Every answer is held against the
// OpenAPI document as it passes.
#include <doctest/doctest.h>

#include "tests/support/web_fixture.hpp"
#include "web/server/documents/render_switch.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

plan::RackPlan show() {
  auto rack = moving_rack(0);
  rack.line_timings[{"bus"}] = {115'200, std::chrono::microseconds{500}, false};
  rack.running_order.cues = {{{"speeches"}, {"speeches"}, plan::ByHand{}},
                             {{"finale"}, {"finale"}, plan::AtClock{{std::chrono::hours{20}, {}}}},
                             {{"home"}, {"speeches"}, plan::ByMessage{"curtain"}}};
  return rack;
}

}  // namespace

TEST_CASE("a preview says whom a segment would move, by which steps, how long, and moves nothing") {
  WebBench bench{show()};
  const auto preview = bench.call("GET", "/segments/finale/preview");
  REQUIRE(preview.status == 200);
  CHECK(preview.text("would_be") == "done");
  CHECK(preview.text("cue") == "finale");
  CHECK(preview.body.at("nodes").size() == 3);
  CHECK(preview.body.at("nodes")[0].at("target").at("centre_mhz") == 618.0);
  CHECK(preview.body.at("steps").size() == preview.body.at("at_least_steps"));
  CHECK(preview.body.at("clean") == true);
  CHECK(preview.body.at("obstacles").empty());
  // Two nodes on the bus: two stagings, a broadcast twice, two readings.
  REQUIRE(preview.body.at("lines").size() == 1);
  CHECK(preview.body.at("lines")[0].at("total_ms").get<double>() > 0.0);
  CHECK(bench.gate.sent.empty());
  CHECK(bench.call("GET", "/switch").status == 404);
}

TEST_CASE("a preview names what is in the way") {
  WebBench bench{show()};
  bench.gate.on(rack::NodeFellSilent{uid(2)});
  bench.call("POST", "/rack/lock", "{}");
  const auto preview = bench.call("GET", "/segments/finale/preview");
  CHECK(preview.text("would_be") == "refused");
  CHECK(preview.body.at("obstacles") ==
        Json{"The rack is locked for the show. Unlock it, or arm the cue that leads there.",
             "right does not answer, and this segment is all or nothing (if_a_node_fails: roll "
             "back)."});
  const auto unknown = bench.call("GET", "/segments/encore/preview");
  CHECK(unknown.status == 404);
  CHECK(unknown.text("detail") == "There is no segment \"encore\".");
}

TEST_CASE("a switch goes without whom it is told to, with a reason and a name") {
  WebBench bench{show()};
  bench.gate.on(rack::NodeFellSilent{uid(2)});
  CHECK(bench.call("GET", "/segments/finale/preview").body.at("missing") == Json{"right"});
  const auto preview = bench.call("GET", "/segments/finale/preview?without=right");
  CHECK(preview.text("would_be") == "needs-waiver");
  CHECK(preview.body.at("missing").empty());
  CHECK(preview.body.at("nodes")[1].at("left_out") == true);

  for (const auto* path : {"/switch", "/running-order/arm"}) {
    const auto no_reason = bench.call("POST", path, R"({"without":["right"]})");
    CHECK(no_reason.status == 422);
    CHECK(no_reason.text("pointer") == "/why");
    const auto nobody = bench.call("POST", path, R"({"without":["rihgt"],"why":"torn"})");
    CHECK(nobody.status == 422);
    CHECK(nobody.text("pointer") == "/without");
    CHECK(bench.call("POST", path, R"({"without":true,"why":"torn"})").status == 422);
  }
  CHECK(bench.call("GET", "/segments/finale/preview?without=right,,").status == 422);
  CHECK(bench.call("POST", "/switch", R"({"segment":"finale","without":["right"],"why":"torn"})")
            .text("outcome") == "needs-waiver");
  const auto gone = bench.call(
      "POST", "/switch",
      R"({"segment":"finale","without":["right"],"why":"torn","waiver":{"who":"Ana","reason":"left has it"}})");
  CHECK(gone.status == 200);
  CHECK(gone.text("detail").starts_with("It went without right, left out by "));
}

TEST_CASE("what has drifted is previewed and brought back through one route") {
  WebBench bench{show()};
  const auto nothing = bench.call("GET", "/rack/reapply");
  CHECK(nothing.text("would_be") == "done");
  CHECK(nothing.body.at("nodes").empty());
  CHECK(nothing.body.at("obstacles").size() == 1);
  const auto asked = bench.call("POST", "/rack/reapply", "{}");
  CHECK(asked.status == 200);
  CHECK(asked.text("outcome") == "done");
  CHECK(asked.text("detail").ends_with("there is nothing to bring back."));
  CHECK_FALSE(asked.body.contains("switch"));
  auto knob = slide_at(6, 518);
  bench.gate.on(rack::NodeReported{uid(1), reading_of(knob)});
  const auto preview = bench.call("GET", "/rack/reapply");
  CHECK(preview.text("would_be") == "done");
  REQUIRE(preview.body.at("nodes").size() == 1);
  CHECK(preview.body.at("nodes")[0].at("node") == "left");
  CHECK(bench.call("GET", "/rack/reapply?nodes=right").body.at("nodes").empty());
  CHECK(bench.call("GET", "/rack/reapply?nodes=nobody").status == 422);
  CHECK(bench.call("POST", "/rack/reapply", R"({"nodes":["nobody"]})").status == 422);
  bench.call("POST", "/rack/lock", "{}");
  const auto done = bench.call("POST", "/rack/reapply", R"({"why":"a knob"})");
  CHECK(done.status == 200);
  CHECK(done.body.at("switch").at("restores") == true);
  CHECK(bench.call("GET", "/running-order").body.contains("at") == false);
}

TEST_CASE("a reload can be armed for a locked rack, and everybody sees it") {
  WebBench bench{show()};
  CHECK(bench.call("POST", "/rack/reload/arm", "{}").status == 200);
  CHECK(bench.call("GET", "/running-order").body.contains("reload_armed"));
  bench.call("POST", "/running-order/disarm", "{}");
  CHECK_FALSE(bench.call("GET", "/running-order").body.contains("reload_armed"));
}

TEST_CASE("a preview under the lock speaks of cautions only where nothing else is in the way") {
  auto plan = show();
  // A window over a closed lane.
  plan.segments[1].lanes.push_back(lane("tower", plan::LanePurpose::closed, 636, 640, "broadcast"));
  WebBench bench{plan};
  CHECK(bench.call("GET", "/segments/finale/preview").text("would_be") == "needs-waiver");
  bench.call("POST", "/rack/lock", "{}");
  const auto locked = bench.call("GET", "/segments/finale/preview");
  CHECK(locked.text("would_be") == "refused");
  CHECK(locked.body.at("obstacles").size() == 1);
}

TEST_CASE("under the lock a preview says what arming the cue would make of it, and nothing else") {
  WebBench bench{show()};
  CHECK_FALSE(bench.call("GET", "/segments/finale/preview").body.contains("if_armed"));
  bench.call("POST", "/rack/lock", "{}");
  auto preview = bench.call("GET", "/segments/finale/preview").body;
  CHECK(preview.at("would_be") == "refused");
  CHECK(preview.at("if_armed") == Json{{"would_be", "done"}, {"obstacles", Json::array()}});
  // What holds it besides the lock is held against it still.
  bench.gate.on(rack::NodeFellSilent{uid(2)});
  preview = bench.call("GET", "/segments/finale/preview").body;
  CHECK(preview.at("if_a_node_fails") == "roll back");
  CHECK(preview.at("if_armed").at("would_be") == "unreachable");
  CHECK(preview.at("if_armed").at("obstacles").size() == 1);
  // With it armed there is nothing that arming would change.
  bench.call("POST", "/running-order/arm", R"({"cue":"finale"})");
  preview = bench.call("GET", "/segments/finale/preview").body;
  CHECK(preview.at("would_be") == "unreachable");
  CHECK_FALSE(preview.contains("if_armed"));
}

TEST_CASE(
    "where a segment goes on without a node, its silence is in nobody's way once it is armed") {
  auto plan = show();
  plan.segments[1].if_a_node_fails = plan::IfNodeFails::go_on;
  WebBench bench{plan};
  bench.gate.on(rack::NodeFellSilent{uid(2)});
  bench.call("POST", "/rack/lock", "{}");
  const auto preview = bench.call("GET", "/segments/finale/preview").body;
  CHECK(preview.at("if_a_node_fails") == "go on");
  CHECK(preview.at("if_armed").at("would_be") == "done");
}

TEST_CASE("a segment that is in no cue cannot be armed, and the lock holds it") {
  auto plan = show();
  plan.running_order.cues.erase(plan.running_order.cues.begin() + 1);  // finale
  WebBench bench{plan};
  bench.call("POST", "/rack/lock", "{}");
  CHECK_FALSE(bench.call("GET", "/segments/finale/preview").body.contains("if_armed"));
  const auto order = bench.call("GET", "/running-order").body;
  CHECK(order.at("going_to")[1] ==
        Json{{"segment", "finale"}, {"may_go", false}, {"held_by_lock", true}});
}

TEST_CASE(
    "the running order says of each segment which cue going there takes, and whether one may") {
  WebBench bench{show()};
  const auto to = [&](std::size_t segment) {
    return bench.call("GET", "/running-order").body.at("going_to").at(segment);
  };
  CHECK(to(0) == Json{{"segment", "speeches"},
                      {"may_go", true},
                      {"held_by_lock", false},
                      {"cue", "speeches"}});
  // After the finale the next speeches are those that go home.
  bench.call("POST", "/switch", R"({"segment":"finale"})");
  CHECK(to(0).at("cue") == "home");
  bench.call("POST", "/rack/lock", "{}");
  CHECK(to(0).at("held_by_lock") == true);
  CHECK(to(0).at("may_go") == false);
  bench.call("POST", "/running-order/arm", R"({"cue":"speeches"})");
  CHECK(to(0).at("cue") == "speeches");
  CHECK(to(0).at("may_go") == true);
  CHECK(to(1).at("may_go") == false);
  CHECK(bench.call("GET", "/running-order").body.at("may_arm") == true);
}

TEST_CASE("the running order says whether the lock holds back what triggers the next cue") {
  WebBench bench{show()};
  const auto is_held = [&] {
    return bench.call("GET", "/running-order").body.at("next_held_by_lock").get<bool>();
  };
  CHECK_FALSE(is_held());
  bench.call("POST", "/rack/lock", "{}");
  CHECK(is_held());
  bench.call("POST", "/running-order/arm", R"({"cue":"finale"})");
  CHECK(is_held());  // the speeches are next
  bench.call("POST", "/running-order/arm", R"({"cue":"speeches"})");
  CHECK_FALSE(is_held());
  bench.call("POST", "/running-order/disarm");
  CHECK(is_held());
  bench.call("POST", "/rack/unlock", "{}");
  CHECK_FALSE(is_held());
}

TEST_CASE("nobody goes or arms where another controller has the rack") {
  WebBench bench{show()};
  auto snapshot = *bench.gate.snapshot();
  snapshot.control = rack::Control::watching;
  const auto order = web::render_order(snapshot);
  CHECK(order.at("may_arm") == false);
  for (const auto& going : order.at("going_to")) {
    CHECK(going.at("may_go") == false);
    CHECK(going.at("held_by_lock") == false);
  }
}

TEST_CASE(
    "a preview says what follows by itself: by the clock with its time, else after how long") {
  auto plan = show();
  plan.running_order.zone.name = "UTC";
  WebBench bench{plan};
  // To the speeches; then comes the finale, at eight by the clock.
  auto follows = bench.call("GET", "/segments/speeches/preview").body.at("follows");
  CHECK(follows.at("cue") == "finale");
  CHECK(follows.at("due_local") == "2026-08-14 20:00:00");
  CHECK(follows.at("held_by_lock") == false);
  // What waits for a message does not come by itself.
  CHECK_FALSE(bench.call("GET", "/segments/finale/preview").body.contains("follows"));
  bench.call("POST", "/rack/lock", "{}");
  CHECK(bench.call("GET", "/segments/speeches/preview").body.at("follows").at("held_by_lock") ==
        true);
  bench.call("POST", "/running-order/arm", R"({"cue":"finale"})");
  CHECK(bench.call("GET", "/segments/speeches/preview").body.at("follows").at("held_by_lock") ==
        false);

  auto later = show();
  later.running_order.cues[2].trigger = plan::AfterSegment{{"finale"}, std::chrono::seconds{90}};
  WebBench other{later};
  follows = other.call("GET", "/segments/finale/preview").body.at("follows");
  CHECK(follows.at("trigger") == Json{{"by", "duration"}, {"after", "finale"}, {"seconds", 90}});
  CHECK_FALSE(follows.contains("due_at"));
  // What is only looked at from elsewhere is followed by nothing.
  CHECK_FALSE(other.call("GET", "/segments/finale/preview?from=speeches").body.contains("follows"));
}

TEST_CASE("a preview takes along what was armed") {
  WebBench bench{show()};
  bench.gate.on(rack::NodeFellSilent{uid(2)});
  REQUIRE(
      bench
          .call(
              "POST", "/running-order/arm",
              R"({"cue":"finale","without":["right"],"why":"torn","waiver":{"who":"Ana","reason":"left has it"}})")
          .status == 200);
  CHECK(bench.call("GET", "/segments/finale/preview").text("would_be") == "done");
  // Somebody who names others answers for them anew.
  CHECK(bench.call("GET", "/segments/finale/preview?without=right").text("would_be") ==
        "needs-waiver");
}

TEST_CASE("arming is answered with what the cue would come to, and so is the running order") {
  WebBench bench{show()};
  const auto armed = bench.call("POST", "/running-order/arm", R"({"cue":"finale"})");
  REQUIRE(armed.status == 200);
  CHECK(armed.body.at("armed").at("would_be") == "done");
  bench.gate.on(rack::NodeFellSilent{uid(2)});
  const auto order = bench.call("GET", "/running-order").body;
  CHECK(order.at("armed").at("would_be") == "unreachable");
  CHECK(order.at("armed").at("obstacles").size() == 1);
}

TEST_CASE("going to a segment is answered with its end, and every node with where it is") {
  WebBench bench{show()};
  const auto done = bench.call("POST", "/switch", R"({"segment":"finale","why":"rehearsal"})");
  REQUIRE(done.status == 200);
  CHECK(done.text("outcome") == "done");
  const auto& one = done.body.at("switch");
  CHECK(one.at("stage") == "done");
  CHECK(one.at("why") == "rehearsal");
  CHECK(one.at("nodes").size() == 3);
  for (const auto& node : one.at("nodes")) CHECK(node.at("where") == "target");
  CHECK(bench.call("GET", "/rack").text("segment") == "finale");
  CHECK(bench.call("GET", "/switch").body.at("id") == one.at("id"));
  const auto order = bench.call("GET", "/running-order").body;
  CHECK(order.at("at") == "finale");
  CHECK(order.at("next") == "home");
  CHECK(order.at("cues")[1].at("trigger") == Json{{"by", "clock"}, {"at", "20:00:00"}});
}

TEST_CASE("whoever does not want to wait gets 202 and where to look") {
  WebBench bench{show()};
  bench.gate.hold = true;
  auto& answers =
      bench.begin("POST", "/switch", R"({"segment":"finale"})", {{"prefer", "respond-async"}});
  REQUIRE(answers.size() == 1);
  CHECK(answers[0].status == 202);
  CHECK(answers[0].header("Location") == "/api/v1/switch");
  CHECK(bench.call("GET", "/switch").text("stage") == "staging");
  CHECK(bench.call("POST", "/switch", R"({"segment":"finale"})").text("detail") ==
        "The switch to finale is under way already.");
}

TEST_CASE("a switch that is rolled back is no success, and is told with all its nodes") {
  WebBench bench{show()};
  bench.gate.nodes.at(2).refuses = protocol::RefusalReason::gain_out_of_range;
  const auto back = bench.call("POST", "/switch", R"({"segment":"finale"})");
  CHECK(back.status == 424);
  CHECK(back.text("type") == "/problems/rolled-back");
  CHECK(back.text("outcome") == "rolled-back");
  for (const auto& node : back.body.at("switch").at("nodes")) CHECK(node.at("where") == "before");
}

TEST_CASE("an abort ends it, and without a switch says so") {
  WebBench bench{show()};
  bench.gate.hold = true;
  auto& answers = bench.begin("POST", "/switch", R"({"segment":"finale"})");
  CHECK(bench.call("POST", "/switch/abort", R"({"why":"not yet"})").status == 200);
  while (answers.empty()) bench.gate.release();
  CHECK(answers[0].text("outcome") == "rolled-back");
  bench.gate.hold = false;
  const auto nothing = bench.call("POST", "/switch/abort", "{}");
  CHECK(nothing.status == 409);
  CHECK(nothing.text("detail") == "No switch is under way.");
}

TEST_CASE("an armed cue passes the lock; an arming is seen by all, and can be taken back") {
  WebBench bench{show()};
  bench.call("POST", "/rack/lock", "{}");
  CHECK(bench.call("POST", "/switch", R"({"segment":"finale"})").status == 409);
  const auto unknown = bench.call("POST", "/running-order/arm", R"({"cue":"finali"})");
  CHECK(unknown.status == 404);
  CHECK(unknown.text("detail") == "There is no cue \"finali\" in the running order.");
  const auto armed = bench.call("POST", "/running-order/arm",
                                R"({"cue":"finale","waiver":{"who":"Ana","reason":"rehearsed"}})");
  REQUIRE(armed.status == 200);
  auto order = bench.call("GET", "/running-order").body;
  CHECK(order.at("armed").at("cue") == "finale");
  CHECK(order.at("armed").at("waiver").at("who") == "Ana");
  CHECK(bench.call("POST", "/running-order/disarm", "{}").status == 200);
  CHECK_FALSE(bench.call("GET", "/running-order").body.contains("armed"));
  bench.call("POST", "/running-order/arm", R"({"cue":"finale"})");
  CHECK(bench.call("POST", "/switch", R"({"segment":"finale"})").status == 200);
}

TEST_CASE("a message goes to the cue that waits for it") {
  WebBench bench{show()};
  bench.call("POST", "/switch", R"({"segment":"finale"})");
  CHECK(bench.call("POST", "/running-order/message", R"({"text":"intro"})").status == 409);
  CHECK(bench.call("POST", "/running-order/message", R"({"text":"curtain"})").status == 200);
  CHECK(bench.call("GET", "/rack").text("segment") == "speeches");
}

TEST_CASE("bad requests about switches name the member, the value and what is allowed") {
  struct Row {
    const char* path;
    const char* body;
    const char* detail;
  };
  for (const auto& row : std::initializer_list<Row>{
           {"/switch", R"({"segment":7})", "segment is 7; allowed is text of at most 64 bytes."},
           {"/switch", R"({"segmnt":"finale"})", "segmnt"},
           {"/switch", R"({"waiver":{"who":"Ana"}})", "waiver"},
           {"/switch/abort", R"({"now":true})", "now"},
           {"/running-order/arm", R"({"cue":[]})",
            "cue is []; allowed is text of at most 64 bytes."},
           {"/running-order/disarm", R"({"cue":"finale"})", "cue"},
           {"/running-order/message", R"({})", "text"}}) {
    WebBench bench{show()};
    const auto refused = bench.call("POST", row.path, row.body);
    CAPTURE(row.path);
    CAPTURE(row.body);
    CHECK(refused.status == 422);
    CHECK(refused.text("detail").find(row.detail) != std::string::npos);
    CHECK(bench.gate.sent.empty());
  }
}

TEST_CASE("whoever may only watch may preview, and nothing more") {
  WebBench bench{show()};
  const auto watch = web::Role::watch;
  CHECK(bench.call("GET", "/segments/finale/preview", "", {}, watch).status == 200);
  CHECK(bench.call("GET", "/running-order", "", {}, watch).status == 200);
  for (const auto* path : {"/switch", "/switch/abort", "/running-order/arm",
                           "/running-order/disarm", "/running-order/message"})
    CHECK(bench.call("POST", path, "{}", {}, watch).status == 403);
}
