// SPDX-License-Identifier: Apache-2.0
// Changes through the API: every fate has its status, and two panels cannot overwrite each other
// unseen.
#include <doctest/doctest.h>

#include "tests/support/web_fixture.hpp"
#include "web/server/documents/render.hpp"
#include "web/server/http/input.hpp"
#include "web/server/http/settings_body.hpp"

using namespace catwalk;
using namespace catwalk::test;

TEST_CASE("a change that settles is answered with the node as it was read back, and a new ETag") {
  WebBench bench;
  CHECK(bench.etag("left") == "\"1\"");
  const auto settled = bench.set("left", {{"gain_db", 6}, {"label", "vox"}});
  CHECK(settled.status == 200);
  CHECK(settled.text("outcome") == "settled");
  CHECK(settled.header("ETag") == "\"2\"");
  CHECK(settled.body.at("change") == 1);
  const auto& node = settled.body.at("node");
  CHECK(node.at("agreement") == "agreed");
  CHECK(node.at("seen").at("settings") == Json{{"gain_db", 6.0},
                                               {"filter", "slide"},
                                               {"centre_mhz", 518.0},
                                               {"power", true},
                                               {"label", "vox"}});
  CHECK(bench.gate.nodes.at(1).in_force.gain == rf::Gain::decibels(6));
  CHECK(bench.call("GET", left).body == Json{{"gain_db", 6.0},
                                             {"filter", "slide"},
                                             {"centre_mhz", 518.0},
                                             {"power", true},
                                             {"label", "vox"},
                                             {"revision", 2}});
}

TEST_CASE("a change without If-Match is told to bring one, and one from an old revision loses") {
  WebBench bench;
  const auto without = bench.call("PATCH", left, R"({"gain_db":6})");
  CHECK(without.status == 428);
  CHECK(without.text("detail") ==
        "Say with If-Match which revision of the settings you change: the ETag of GET "
        "/api/v1/nodes/left/settings.");
  REQUIRE(bench.set("left", {{"gain_db", 6}}).status == 200);
  const auto stale = bench.call("PATCH", left, R"({"gain_db":9})", {{"if-match", "\"1\""}});
  CHECK(stale.status == 412);
  CHECK(stale.text("outcome") == "stale");
  CHECK(stale.text("detail") ==
        "The wanted settings are at revision 2, not 1: somebody changed them in between.");
  // With the present state, so that a panel can show it beside what was asked.
  CHECK(stale.header("ETag") == "\"2\"");
  CHECK(stale.body.at("wanted").at("gain_db") == 6.0);
  CHECK(bench.gate.nodes.at(1).in_force.gain == rf::Gain::decibels(6));
}

TEST_CASE("a weak tag never matches where settings are changed, and the present ones are told") {
  WebBench bench;
  for (const char* way : {"PATCH", "POST"}) {
    const bool patches = way == std::string{"PATCH"};
    const auto path = patches ? left : "/nodes/left/reapply";
    const auto weak =
        bench.call(way, path, patches ? R"({"gain_db":6})" : "{}", {{"if-match", "W/\"1\""}});
    CHECK(weak.status == 412);
    CHECK(weak.text("detail") ==
          "If-Match is W/\"1\": a weak tag never matches there; allowed is the ETag of the "
          "settings, \"1\".");
    CHECK(weak.header("ETag") == "\"1\"");
  }
  CHECK(bench.gate.nodes.at(1).in_force.gain != rf::Gain::decibels(6));
  CHECK(bench.call("PATCH", "/nodes/none/settings", R"({"gain_db":6})", {{"if-match", "W/\"1\""}})
            .status == 404);
}

TEST_CASE("a reader who has the settings already is told that they are the same") {
  WebBench bench;
  for (const char* same : {"\"1\"", "\"7\", \"1\"", "*", "W/\"1\""}) {
    CAPTURE(same);
    const auto unchanged = bench.call("GET", left, "", {{"if-none-match", same}});
    CHECK(unchanged.status == 304);
    CHECK(unchanged.header("ETag") == "\"1\"");
  }
  CHECK(bench.call("GET", left, "", {{"if-none-match", "\"11\""}}).status == 200);
}

TEST_CASE("a dry run gives the verdict, and records and sends nothing") {
  WebBench bench;
  const auto rows = bench.gate.journal.size();
  struct Row {
    Json patch;
    std::string would_be;
  };
  // 522 MHz lets in half a megahertz and more of the broadcaster's lane: a caution.
  for (const auto& [patch, would_be] : std::vector<Row>{{{{"gain_db", 6}}, "accepted"},
                                                        {{{"centre_mhz", 522}}, "needs-waiver"},
                                                        {{{"gain_db", 21}}, "refused"},
                                                        {{{"filter", "narrow"}}, "refused"}}) {
    const auto& the_patch = patch;
    CAPTURE(the_patch);
    const auto checked = bench.call("PATCH", left + "?dry_run=true", patch.dump());
    CHECK(checked.status == 200);
    CHECK(checked.text("outcome") == "checked");
    CHECK(checked.text("would_be") == would_be);
    CHECK(checked.body.at("findings").empty() == (would_be == "accepted"));
  }
  CHECK(bench.gate.journal.size() == rows);
  CHECK(bench.gate.sent.empty());
  CHECK(bench.etag("left") == "\"1\"");
}

TEST_CASE("a dry run is held against the revision too, if one is given") {
  WebBench bench;
  CHECK(bench.call("PATCH", left + "?dry_run=true", "{}", {{"if-match", "\"5\""}}).status == 412);
  CHECK(bench.call("PATCH", left + "?dry_run=maybe", "{}").text("detail") ==
        "dry_run is \"maybe\"; allowed is true or false.");
  CHECK(bench.call("PATCH", left + "?dryrun=true", "{}").text("detail") ==
        "There is no query parameter \"dryrun\" here; known are: dry_run.");
}

TEST_CASE("what the rules refuse is refused with every finding, and reaches no node") {
  WebBench bench;
  const auto refused = bench.set("left", {{"gain_db", 21}, {"centre_mhz", 700}});
  CHECK(refused.status == 409);
  CHECK(refused.text("type") == "/problems/refused");
  CHECK(refused.text("outcome") == "refused");
  std::vector<std::string> rules;
  for (const auto& finding : refused.body.at("findings")) rules.push_back(finding.at("rule"));
  CHECK(std::ranges::count(rules, "gain-limit") == 1);
  CHECK(std::ranges::count(rules, "carrier-outside-window") == 2);  // one for each microphone
  CHECK(bench.gate.sent.empty());
}

TEST_CASE("a caution needs a named person's reason, and then goes on") {
  WebBench bench;
  const auto asked = bench.set("left", {{"centre_mhz", 522}});
  CHECK(asked.status == 409);
  CHECK(asked.text("type") == "/problems/needs-waiver");
  CHECK(asked.body.at("findings")[0].at("severity") == "caution");
  CHECK(bench.gate.sent.empty());
  const auto signed_for = bench.set(
      "left",
      {{"centre_mhz", 522}, {"waiver", {{"who", "Ana"}, {"reason", "the tower is off tonight"}}}});
  CHECK(signed_for.status == 200);
  const auto intent = std::ranges::find_if(bench.gate.journal, [](const rack::StoredEntry& row) {
    return row.entry.kind == rack::JournalKind::intent;
  });
  REQUIRE(intent != bench.gate.journal.end());
  CHECK(intent->entry.waiver == "Ana: the tower is off tonight");
}

TEST_CASE("a node that refuses is 502, with the node's reason") {
  WebBench bench;
  bench.gate.nodes.at(1).refuses = protocol::RefusalReason::storage_failed;
  const auto failed = bench.set("left", {{"gain_db", 6}});
  CHECK(failed.status == 502);
  CHECK(failed.text("outcome") == "failed");
  CHECK(failed.text("detail") ==
        "The node refused: " +
            std::string{protocol::sentence_of(protocol::RefusalReason::storage_failed)} + '.');
  CHECK(failed.body.at("wanted").at("gain_db") == 0.0);
}

TEST_CASE("a node that says done and reads back something else is 502, and never settled") {
  WebBench bench;
  bench.gate.nodes.at(1).takes_what_it_is_given = false;
  const auto failed = bench.set("left", {{"gain_db", 6}});
  CHECK(failed.status == 502);
  CHECK(failed.text("detail") == "The node reads back gain +0 dB (wanted +6 dB).");
}

TEST_CASE("a node that does not answer is 504") {
  WebBench bench;
  bench.gate.nodes.at(1).answers = false;
  const auto lost = bench.set("left", {{"gain_db", 6}});
  CHECK(lost.status == 504);
  CHECK(lost.text("outcome") == "unreachable");
  CHECK(lost.text("detail") ==
        "The node did not answer (timed out); the new settings were not applied.");
}

TEST_CASE("without a journal nothing is changed, and that is 503") {
  WebBench bench;
  bench.gate.journal_writes = false;
  const auto not_recorded = bench.set("left", {{"gain_db", 6}});
  CHECK(not_recorded.status == 503);
  CHECK(not_recorded.text("outcome") == "not-recorded");
  CHECK(not_recorded.text("detail") == "The journal could not be written: the disk is full");
  CHECK(bench.gate.sent.empty());
  CHECK(bench.call("POST", "/rack/lock").status == 503);
  CHECK(bench.call("GET", "/rack").body.at("locked") == false);
}

TEST_CASE("one change of a node at a time: another is told to come again") {
  WebBench bench;
  bench.gate.hold = true;
  const auto tag = bench.etag("left");
  const auto& first = bench.begin("PATCH", left, R"({"gain_db":6})", {{"if-match", tag}});
  CHECK(first.empty());
  const auto busy =
      bench.call("PATCH", left, R"({"gain_db":7})", {{"if-match", bench.etag("left")}});
  CHECK(busy.status == 409);
  CHECK(busy.text("outcome") == "busy");
  CHECK(busy.header("Retry-After") == "1");
  CHECK(busy.text("detail") == "Another change of left is under way.");
  bench.gate.release();
  REQUIRE(first.size() == 1);
  CHECK(first[0].text("outcome") == "settled");
}

TEST_CASE(
    "who prefers not to wait is answered when the intent is durable, and told where to look") {
  WebBench bench;
  bench.gate.hold = true;
  const auto tag = bench.etag("left");
  const auto& answers = bench.begin("PATCH", left, R"({"gain_db":6,"why":"long cable"})",
                                    {{"if-match", tag}, {"prefer", "respond-async"}});
  REQUIRE(answers.size() == 1);
  CHECK(answers[0].status == 202);
  CHECK(answers[0].text("outcome") == "accepted");
  CHECK(answers[0].header("Location") == "/api/v1/changes/1");
  const auto under_way = bench.call("GET", "/changes/1");
  CHECK(under_way.text("stage") == "staging");
  CHECK(under_way.text("who") == "ana");
  CHECK(under_way.text("why") == "long cable");
  CHECK(bench.call("GET", "/nodes/left").body.at("change").at("stage") == "staging");
  bench.gate.release();
  CHECK(answers.size() == 1);
  const auto ended = bench.call("GET", "/changes/1");
  CHECK(ended.text("stage") == "settled");
  CHECK(ended.body.at("after").at("gain_db") == 6.0);
}

TEST_CASE("a patch that changes nothing is settled, and nothing is sent") {
  WebBench bench;
  const auto settled = bench.set("left", Json::object());
  CHECK(settled.text("outcome") == "settled");
  CHECK(settled.text("detail") == "It is already so; nothing was sent.");
  CHECK(bench.gate.sent.empty());
  CHECK(bench.etag("left") == "\"1\"");
}

TEST_CASE("drift is adopted or undone") {
  WebBench bench;
  bench.gate.turn(1, slide_at(4, 518));
  CHECK(bench.call("GET", "/nodes/left").text("agreement") == "drifted");
  CHECK(bench.call("POST", "/nodes/left/adopt", "{}", {{"if-match", "\"9\""}}).status == 412);
  const auto adopted =
      bench.call("POST", "/nodes/left/adopt", R"({"why":"set by ear"})", {{"if-match", "\"1\""}});
  CHECK(adopted.status == 200);
  CHECK(adopted.text("outcome") == "settled");
  CHECK(adopted.header("ETag") == "\"2\"");
  CHECK(adopted.body.at("node").at("wanted").at("gain_db") == 4.0);
  CHECK(bench.gate.sent.empty());

  bench.gate.turn(1, slide_at(11, 518));
  const auto undone = bench.call("POST", "/nodes/left/reapply", "{}");
  CHECK(undone.text("outcome") == "settled");
  CHECK(bench.gate.nodes.at(1).in_force.gain == rf::Gain::decibels(4));
}

TEST_CASE("drift that the rules refuse cannot be adopted, and drift with cautions needs a waiver") {
  WebBench bench;
  bench.gate.turn(1, slide_at(25, 518));
  CHECK(bench.call("POST", "/nodes/left/adopt").text("outcome") == "refused");
  bench.gate.turn(1, slide_at(0, 522));
  CHECK(bench.call("POST", "/nodes/left/adopt").text("outcome") == "needs-waiver");
  CHECK(bench.call("POST", "/nodes/left/adopt", R"({"waiver":{"who":"Ana","reason":"tower off"}})")
            .text("outcome") == "settled");
}

TEST_CASE("re-apply is answered with the node's fate like any change, or at once") {
  WebBench bench;
  bench.gate.turn(1, slide_at(4, 518));
  bench.gate.nodes.at(1).answers = false;
  CHECK(bench.call("POST", "/nodes/left/reapply").status == 504);
  bench.gate.nodes.at(1).answers = true;
  bench.gate.hold = true;
  CHECK(bench.call("POST", "/nodes/left/reapply", "{}", {{"prefer", "respond-async"}}).status ==
        202);
  bench.gate.release();
  CHECK(bench.call("GET", "/nodes/left").text("agreement") == "agreed");
}

TEST_CASE("under the show lock every change is refused, and unlocking takes it back") {
  WebBench bench;
  CHECK(bench.call("POST", "/rack/lock", R"({"why":"doors"})").text("outcome") == "done");
  const auto rack = bench.call("GET", "/rack");
  CHECK(rack.body.at("locked") == true);
  CHECK(rack.body.at("lock").at("who") == "ana");
  CHECK(rack.body.at("lock").at("why") == "doors");
  const auto refused = bench.set("left", {{"gain_db", 6}});
  CHECK(refused.status == 409);
  CHECK(refused.body.at("findings")[0].at("rule") == "show-locked");
  CHECK(bench.call("POST", "/rack/segment", R"({"segment":"finale"})").status == 409);
  CHECK(bench.call("POST", "/rack/unlock").status == 200);
  CHECK(bench.set("left", {{"gain_db", 6}}).status == 200);
}

TEST_CASE("every setting is read as a segment shows it, and overrides what was asked before") {
  const plan::SettingsPatch all{rf::Gain::decibels(-1.5), "slide-40",
                                rf::Frequency::megahertz(518.125), false, "Left"};
  std::size_t settings = 0;
  plan::for_each_setting([&](auto field) {
    const std::string word{name_of(field.setting)};
    CAPTURE(word);
    plan::SettingsPatch one;
    CHECK(one.empty());
    field.asked_of(one) = field.asked_of(all);
    CHECK_FALSE(one.empty());
    plan::Segment segment;
    segment.settings[plan::NodeName{"left"}] = one;
    const auto shown = web::render(segment).at("settings").at("left");
    CHECK(shown.size() == 1);
    CHECK(shown.contains(member_of(field.setting)));
    web::Body body{shown.dump()};
    CHECK(web::read_patch(body) == one);
    CHECK(body.finish().empty());
    CHECK(all.with(one) == all);
    CHECK(plan::SettingsPatch{}.with(one) == one);
    ++settings;
  });
  CHECK(settings == words_of(Setting{}).size());
}
