// SPDX-License-Identifier: Apache-2.0
// The rest of the API: what can be read, and what can be done besides changes.
#include "web/server/api/api.hpp"

#include <doctest/doctest.h>

#include "daemon/rack/values/alarm_list.hpp"
#include "tests/support/web_fixture.hpp"

using namespace catwalk;
using namespace catwalk::test;

TEST_CASE("a node is shown with what is wanted, what is seen, and how old that is") {
  WebBench bench;
  bench.gate.on(rack::NodeIdentified{uid(1), {uid(1), {1}, 1, 0x0203, "slider"}});
  bench.gate.now += std::chrono::milliseconds{1500};
  const auto node = bench.call("GET", "/nodes/left").body;
  CHECK(node.at("uid") == "0000-00000001");
  CHECK(node.at("line") == "bus");
  CHECK(node.at("firmware") == "2.3");
  CHECK(node.at("link") == "answering");
  const auto& seen = node.at("seen");
  CHECK(seen.at("age_ms").get<int>() >= 1500);
  CHECK(seen.at("quality") == "good");
  CHECK(seen.at("passband_mhz") == Json{498.0, 538.0});
}

TEST_CASE("a node is shown with what the active segment has for it, on top of what is wanted") {
  auto plan = small_rack();
  plan.segments[0].settings[{"left"}].gain = rf::Gain::decibels(6);
  plan.segments[1].settings[{"left"}].centre = rf::Frequency::megahertz(620);
  WebBench bench{plan};
  const auto planned = [&](const std::string& node) {
    return bench.call("GET", "/nodes/" + node).body.value("planned", Json{});
  };
  const auto wanted = bench.call("GET", "/nodes/left").body.at("wanted");
  CHECK(planned("left").at("gain_db") == 6.0);
  CHECK(planned("left").at("centre_mhz") == wanted.at("centre_mhz"));
  CHECK(planned("left").at("label") == wanted.at("label"));
  CHECK(planned("right").is_null());
  REQUIRE(bench.set("left", {{"label", "vox"}, {"gain_db", 3}}).status == 200);
  CHECK(planned("left").at("label") == "vox");
  CHECK(planned("left").at("gain_db") == 6.0);
  REQUIRE(bench.call("POST", "/rack/segment", R"({"segment":"finale"})").status == 200);
  CHECK(planned("left").at("gain_db") == 3.0);
  CHECK(planned("left").at("centre_mhz") == 620.0);
}

TEST_CASE("a reading older than five seconds is stale, and so is one of a node that fell silent") {
  WebBench bench;
  bench.gate.now += std::chrono::milliseconds{5'500};
  CHECK(bench.call("GET", "/nodes/left").body.at("seen").at("quality") == "stale");
  bench.gate.turn(1, slide_at(0, 518));
  CHECK(bench.call("GET", "/nodes/left").body.at("seen").at("quality") == "good");
  bench.gate.on(rack::NodeFellSilent{uid(1)});
  const auto silent = bench.call("GET", "/nodes/left").body;
  CHECK(silent.at("link") == "silent");
  CHECK(silent.at("seen").at("quality") == "stale");
}

TEST_CASE("a node of a simulated line is never shown as good, but as simulated") {
  auto plan = small_rack();
  plan.nodes[0].simulated = true;
  FakeGate gate{plan};
  gate.meet_all();
  web::Api api{gate, [&] { return gate.now; }};
  Json shown;
  api.handle({"GET", "/api/v1/nodes/left", {}, {}, ""}, {"ana", web::Role::watch},
             [&](const web::HttpResponse& response) { shown = Json::parse(response.body); });
  REQUIRE(shown.is_object());
  CHECK(shown.at("seen").at("quality") == "simulated");
}

TEST_CASE("a node without supply passes everything, and says so") {
  WebBench bench;
  auto reading = reading_of(slide_at(0, 518));
  reading.telemetry.powered = false;
  bench.gate.on(rack::NodeReported{uid(1), reading});
  const auto seen = bench.call("GET", "/nodes/left").body.at("seen");
  CHECK(seen.at("passive") == true);
  CHECK_FALSE(seen.contains("passband_mhz"));
}

TEST_CASE("a node that was never read has no wanted settings, and no change is begun on it") {
  FakeGate gate;
  web::Api api{gate, [&] { return gate.now; }};
  std::vector<int> statuses;
  const auto note = [&](const web::HttpResponse& response) { statuses.push_back(response.status); };
  api.handle({"GET", "/api/v1/nodes/left/settings", {}, {}, ""}, {"ana", web::Role::engineer},
             note);
  api.handle({"PATCH", "/api/v1/nodes/left/settings", {}, {{"if-match", "\"1\""}}, "{}"},
             {"ana", web::Role::engineer}, note);
  api.handle({"POST", "/api/v1/nodes/left/adopt", {}, {}, ""}, {"ana", web::Role::engineer}, note);
  CHECK(statuses == std::vector<int>{404, 504, 504});
  CHECK(gate.sent.empty());
}

TEST_CASE("the lists are whole and in the order of the rack file") {
  WebBench bench;
  std::vector<std::string> nodes;
  const auto listed = bench.call("GET", "/nodes").body.at("nodes");
  for (const auto& node : listed) nodes.push_back(node.at("name"));
  CHECK(nodes == std::vector<std::string>{"left", "right", "spare"});
  const auto segments = bench.call("GET", "/segments").body;
  CHECK(segments.at("active") == "speeches");
  CHECK(segments.at("segments").size() == 2);
  CHECK(bench.call("GET", "/segments/speeches").body.at("carriers")[0] ==
        Json{{"name", "voice-1"},
             {"use", "receive"},
             {"frequency_mhz", 510.0},
             {"bandwidth_khz", 200.0},
             {"erp_dbm", 10.0},
             {"receivers", {"vocals"}}});
  CHECK(bench.call("GET", "/lines").body.at("lines").size() == 2);
  CHECK(bench.call("GET", "/lines/bus").body.at("up") == true);
  CHECK(bench.call("GET", "/changes").body.at("changes").empty());
  CHECK(bench.call("GET", "/alarms").body.at("alarms").empty());
  CHECK(bench.call("GET", "/openapi.json").body == openapi());
}

TEST_CASE("what does not exist is 404, by what it was and by its name") {
  WebBench bench;
  const auto is_missing = [&](const std::string& method, const std::string& path,
                              const std::string& detail) {
    CAPTURE(path);
    const auto missing = bench.call(method, path);
    CHECK(missing.status == 404);
    CHECK(missing.text("type") == "/problems/not-found");
    CHECK(missing.text("detail") == detail);
  };
  for (const std::string path : {"/nodes/nobody", "/nodes/nobody/settings"})
    is_missing("GET", path, "There is no node \"nobody\".");
  for (const std::string what : {"adopt", "reapply", "locate", "store"})
    is_missing("POST", "/nodes/nobody/" + what, "There is no node \"nobody\" in this rack.");
  is_missing("GET", "/segments/encore", "There is no segment \"encore\".");
  is_missing("GET", "/lines/attic", "There is no line \"attic\".");
  for (const std::string what : {"discover", "discovered/0000-0000004d/locate"})
    is_missing("POST", "/lines/attic/" + what, "There is no line \"attic\" in this rack.");
  is_missing("POST", "/lines/bus/discovered/0000-0000004d/locate",
             "uid 0000-0000004d: the last search of line bus found no such node; allowed: none, "
             "search it first.");
  for (const std::string change : {"7", "seven"})
    is_missing("GET", "/changes/" + change,
               "Change \"" + change + "\" is not among the latest; the journal may have it.");
  is_missing("POST", "/alarms/9/acknowledge", "There is no alarm no. 9.");
  is_missing("POST", "/alarms/nine/acknowledge", "There is no alarm \"nine\".");
  for (const std::string path : {"", "/antennas", "/nodes/left/settings/gain"})
    is_missing("GET", path, "There is nothing at /api/v1" + path + ".");
  CHECK(bench.call("POST", "/rack/segment", R"({"segment":"encore"})").text("detail") ==
        "There is no segment \"encore\" in this rack.");
  CHECK(bench.call("PATCH", "/nodes/nobody/settings", "{}", {{"if-match", "\"1\""}}).status == 404);
}

TEST_CASE("locate, store and take-over go to the node, and its refusal comes back") {
  WebBench bench;
  CHECK(bench.call("POST", "/nodes/left/locate", R"({"seconds":30})").text("outcome") == "done");
  CHECK(std::get<protocol::Locate>(bench.gate.sent.back().request).seconds == 30);
  CHECK(bench.call("POST", "/nodes/left/locate").status == 200);
  CHECK(std::get<protocol::Locate>(bench.gate.sent.back().request).seconds == 10);
  CHECK(bench.call("POST", "/nodes/left/store").status == 200);
  CHECK(std::get<protocol::Store>(bench.gate.sent.back().request).epoch == protocol::Epoch{1});

  auto reading = reading_of(slide_at(0, 518));
  reading.epoch = {1'900'000'000};
  bench.gate.on(rack::NodeReported{uid(1), reading});
  CHECK(bench.call("POST", "/rack/take-over", R"({"why":"the old rack is gone"})").status == 200);
  CHECK(bench.call("GET", "/rack").body.at("epoch") == 1'900'000'001);

  bench.gate.nodes.at(1).refuses = protocol::RefusalReason::storage_failed;
  CHECK(bench.call("POST", "/nodes/left/store").status == 502);
  bench.gate.nodes.at(1).answers = false;
  CHECK(bench.call("POST", "/nodes/left/locate").status == 504);
}

TEST_CASE("a search of a line is begun and its finds are shown; a line that is down has none") {
  WebBench bench;
  CHECK(bench.call("POST", "/lines/bus/discover").status == 200);
  const auto line = bench.call("GET", "/lines/bus").body;
  CHECK(line.at("searching") == false);
  CHECK(line.at("discovered") == Json{{{"uid", "0000-00000001"},
                                       {"address", 4},
                                       {"node", "left"},
                                       {"type", "tern-inline"},
                                       {"firmware", "1.2"}},
                                      {{"uid", "0000-0000004d"},
                                       {"endpoint", "192.0.2.7:7010"},
                                       {"doubt", "It has no address yet."}}});
  CHECK(line.at("trouble") == "one branch gave no clean answer");
  bench.gate.on(rack::LineWentDown{{"bus"}, "no such device"});
  const auto down = bench.call("POST", "/lines/bus/discover");
  CHECK(down.status == 504);
  CHECK(down.text("detail") == "Line bus is down: no such device.");
  CHECK(bench.call("GET", "/lines/bus").body.at("reason") == "no such device");
}

TEST_CASE("a node that a search found blinks before it stands in any file") {
  WebBench bench;
  CHECK(bench.call("POST", "/lines/bus/discover").status == 200);
  const std::string stranger = "/lines/bus/discovered/0000-0000004d/locate";
  bench.gate.nodes[77] = {};
  CHECK(bench.call("POST", stranger, R"({"seconds":30})").text("outcome") == "done");
  const auto& sent = bench.gate.sent.back();
  CHECK(sent.line == plan::LineName{"bus"});
  CHECK(sent.node == uid(77));
  CHECK(std::get<protocol::Locate>(sent.request).seconds == 30);
  CHECK(bench.gate.journal.back().entry.what == "locate 0000-0000004d on bus for 30 s");
  CHECK(bench.gate.journal.back().entry.kind == rack::JournalKind::command);
  CHECK(bench.call("POST", "/lines/bus/discovered/0000-0000004D/locate").status == 200);
  CHECK(std::get<protocol::Locate>(bench.gate.sent.back().request).seconds == 10);
  // One that stands in it, too.
  CHECK(bench.call("POST", "/lines/bus/discovered/0000-00000001/locate").status == 200);
  CHECK(bench.gate.sent.back().node == uid(1));

  const auto silent = [&] {
    bench.gate.nodes.at(77).answers = false;
    return bench.call("POST", stranger);
  }();
  CHECK(silent.status == 504);
  CHECK(silent.text("detail") ==
        "0000-0000004d on line bus did not answer (timed out). Search the line again.");
  CHECK(bench.call("POST", "/lines/bus/discovered/0000-00000063/locate").text("detail") ==
        "uid 0000-00000063: the last search of line bus found no such node; allowed: 0000-00000001 "
        "and 0000-0000004d.");
  const auto bad = bench.call("POST", "/lines/bus/discovered/bus-1/locate", R"({"seconds":256})");
  CHECK(bad.status == 422);
  CHECK(bad.body.dump().find("a uid such as 7a10-0000002f") != std::string::npos);
  CHECK(bad.body.dump().find("0 to 255") != std::string::npos);
  const auto sent_before = bench.gate.sent.size();
  bench.gate.on(rack::LineWentDown{{"bus"}, "no such device"});
  const auto down = bench.call("POST", stranger);
  CHECK(down.status == 504);
  CHECK(down.text("detail") == "Line bus is down: no such device.");
  CHECK(bench.gate.sent.size() == sent_before);
}

TEST_CASE("the files are read again, or every trouble with them is told") {
  WebBench bench;
  CHECK(bench.call("POST", "/rack/reload").text("outcome") == "done");
  bench.gate.not_taken.of_files = {"show.json:4: /segments: is missing",
                                   "rack.json:1: is not JSON"};
  const auto refused = bench.call("POST", "/rack/reload", "{}");
  CHECK(refused.status == 422);
  CHECK(refused.text("detail") == "The files were not taken; the old ones stay in force.");
  CHECK(refused.body.at("problems") == Json(bench.gate.not_taken.of_files));
  CHECK_FALSE(refused.body.contains("outcome"));
}

TEST_CASE("files that are not taken since the rack is locked are refused, and not called bad") {
  WebBench bench;
  bench.gate.not_taken.of_rack = {"the rack is locked for the show"};
  const auto locked = bench.call("POST", "/rack/reload", "{}");
  CHECK(locked.status == 409);
  CHECK(locked.text("type") == "/problems/refused");
  CHECK(locked.text("outcome") == "refused");
  CHECK(locked.body.at("problems") == Json{"the rack is locked for the show"});
  // What is wrong with the files is wrong at any time: that counts, and all of it is told.
  bench.gate.not_taken.of_files = {"rack.json:1: is not JSON"};
  const auto both = bench.call("POST", "/rack/reload", "{}");
  CHECK(both.status == 422);
  CHECK(both.body.at("problems") ==
        Json{"rack.json:1: is not JSON", "the rack is locked for the show"});
}

TEST_CASE("an alarm is shown until it has returned and is acknowledged") {
  WebBench bench;
  bench.gate.turn(1, slide_at(4, 518));
  const auto alarm = bench.call("GET", "/alarms").body.at("alarms").at(0);
  CHECK(alarm.at("kind") == "drifted");
  CHECK(alarm.at("active") == true);
  const auto number = std::to_string(alarm.at("id").get<int>());
  CHECK(bench.call("POST", "/alarms/" + number + "/acknowledge").status == 200);
  CHECK(bench.call("GET", "/alarms").body.at("alarms").at(0).at("acknowledged_by") == "ana");
  bench.gate.turn(1, slide_at(0, 518));
  CHECK(bench.call("GET", "/alarms").body.at("alarms").empty());
}

TEST_CASE("alarms are listed the most urgent first, of those the newest, each with its state") {
  WebBench bench;
  const auto listed = [&] {
    std::vector<std::string> all;
    const auto told = bench.call("GET", "/alarms").body;
    for (const auto& alarm : told.at("alarms"))
      all.push_back(
          alarm.at("subject").get<std::string>() + ' ' + alarm.at("word").get<std::string>() + ' ' +
          alarm.at("priority").get<std::string>() + ' ' + alarm.at("state").get<std::string>());
    return all;
  };
  auto without_supply = reading_of(slide_at(0, 518));
  without_supply.telemetry.powered = false;
  bench.gate.on(rack::NodeReported{uid(3), without_supply});
  bench.gate.turn(1, slide_at(4, 518));
  bench.gate.now += std::chrono::seconds{1};
  bench.gate.turn(2, slide_at(4, 518));
  CHECK(listed() == std::vector<std::string>{"spare no supply high active",
                                             "right not as wanted medium active",
                                             "left not as wanted medium active"});
  bench.call("POST", "/alarms/2/acknowledge");
  bench.call("POST", "/alarms/3/shelve", R"({"for_s":60,"why":"known"})");
  without_supply.telemetry.powered = true;
  bench.gate.on(rack::NodeReported{uid(3), without_supply});
  CHECK(listed() == std::vector<std::string>{"spare no supply high returned",
                                             "right not as wanted medium shelved",
                                             "left not as wanted medium acknowledged"});
}

TEST_CASE("an alarm stands under its cause, but for itself where that was seen before it came") {
  std::vector<rack::Alarm> alarms(2);
  alarms[0].id = 1;
  alarms[0].kind = rack::AlarmKind::line_down;
  alarms[1].id = 2;
  alarms[1].kind = rack::AlarmKind::silent;
  alarms[1].cause = 1;
  CHECK(rack::stands_under(alarms[1], alarms) == rack::AlarmId{1});
  CHECK_FALSE(rack::stands_under(alarms[0], alarms));
  alarms[0].acknowledged_by = "ana";
  CHECK_FALSE(rack::stands_under(alarms[1], alarms));
  alarms[1].acknowledged_by = "ana";
  CHECK(rack::stands_under(alarms[1], alarms) == rack::AlarmId{1});
  alarms[0].acknowledged_by.reset();
  alarms[0].shelved = rack::Shelving{"ana", "known", {}};
  CHECK(rack::stands_under(alarms[1], alarms) == rack::AlarmId{1});
  alarms[1].acknowledged_by.reset();
  CHECK_FALSE(rack::stands_under(alarms[1], alarms));
  alarms.erase(alarms.begin());
  CHECK_FALSE(rack::stands_under(alarms[0], alarms));  // its cause has left the list
}

TEST_CASE("a stuck switch, and a journal that is not written, come before all other alarms") {
  for (int i = 0; i <= static_cast<int>(rack::AlarmKind::cue_blocked); ++i) {
    const auto kind = static_cast<rack::AlarmKind>(i);
    CAPTURE(rack::name_of(kind));
    CHECK((rack::priority_of(kind) == rack::AlarmPriority::urgent) ==
          (kind == rack::AlarmKind::switch_failed || kind == rack::AlarmKind::journal_failed));
  }
}

TEST_CASE("an alarm is shelved with a reason, for a while, and is answered as it is then") {
  WebBench bench;
  bench.gate.turn(1, slide_at(9, 518));
  const auto shelved =
      bench.call("POST", "/alarms/1/shelve", R"({"for_s":1800,"why":"the mast moves"})");
  CHECK(shelved.status == 200);
  CHECK(shelved.body.at("id") == 1);
  CHECK(shelved.body.at("shelved").at("by") == "ana");
  CHECK(shelved.body.at("shelved").at("why") == "the mast moves");
  CHECK(shelved.body.at("shelved").at("until").get<std::string>().starts_with(
      "2026-08-14T00:30:00."));
  CHECK(bench.call("GET", "/alarms").body.at("alarms").at(0) == shelved.body);
  const auto unshelved = bench.call("POST", "/alarms/1/unshelve");
  CHECK(unshelved.status == 200);
  CHECK_FALSE(unshelved.body.contains("shelved"));
  CHECK_FALSE(unshelved.body.contains("detail"));
  CHECK_FALSE(bench.call("GET", "/alarms").body.at("alarms").at(0).contains("shelved"));
  CHECK(bench.call("POST", "/alarms/9/shelve", R"({"for_s":60,"why":"x"})").text("detail") ==
        "There is no alarm no. 9.");
  CHECK(bench.call("POST", "/alarms/nine/unshelve").status == 404);
}

TEST_CASE("the same shelving asked for twice under one key is one") {
  WebBench bench;
  bench.gate.turn(1, slide_at(9, 518));
  const Headers key{{"idempotency-key", "k1"}};
  const std::string body = R"({"for_s":60,"why":"x"})";
  const auto first = bench.call("POST", "/alarms/1/shelve", body, key);
  const auto rows = bench.gate.journal.size();
  CHECK(bench.call("POST", "/alarms/1/shelve", body, key).body == first.body);
  CHECK(bench.gate.journal.size() == rows);
}

TEST_CASE("another segment is chosen, the nodes stay, and the findings on them are new") {
  WebBench bench;
  CHECK(bench.call("GET", "/nodes/left").body.at("findings").empty());
  CHECK(bench.call("POST", "/rack/segment", R"({"segment":"finale","why":"last song"})").status ==
        200);
  CHECK(bench.call("GET", "/rack").text("segment") == "finale");
  CHECK(bench.gate.sent.empty());
  CHECK(bench.call("GET", "/nodes/left").body.at("findings")[0].at("rule") ==
        "carrier-outside-window");
}

TEST_CASE("the journal is read as it was asked for, newest first; without one it is 503") {
  WebBench bench;
  REQUIRE(bench.set("left", {{"gain_db", 6}, {"why", "long cable"}}).status == 200);
  const auto entries = bench.call("GET", "/journal?node=left&kind=fate&limit=5").body.at("entries");
  REQUIRE(bench.gate.last_query);
  CHECK(bench.gate.last_query->node == "left");
  CHECK(bench.gate.last_query->kind == "fate");
  CHECK(bench.gate.last_query->limit == 5);
  REQUIRE(entries.size() == 1);
  CHECK(entries[0].at("fate") == "settled");
  const auto newest = bench.call("GET", "/journal?node=left").body.at("entries");
  REQUIRE(newest.size() > 2);
  CHECK(newest[0].at("kind") == "fate");
  CHECK(newest[1].at("why") == "long cable");
  bench.gate.journal_reads = false;
  CHECK(bench.call("GET", "/journal").status == 503);
  CHECK(bench.call("GET", "/journal?limit=0").status == 422);
}

TEST_CASE("bad bodies of the actions are 422, and do nothing") {
  WebBench bench;
  const auto rows = bench.gate.journal.size();
  for (const auto& [path, body, detail] : std::vector<std::array<std::string, 3>>{
           {"/rack/lock", R"({"reason":"doors"})",
            "There is no member \"reason\" here; known are: why."},
           {"/rack/unlock", R"({"why":1})", "why is 1; allowed is text of at most 500 bytes."},
           {"/rack/take-over", "[]", "The body is not a JSON object."},
           {"/rack/take-over", "{}", "why is missing; needed is the reason for it."},
           {"/rack/take-over", R"({"why":" "})",
            "why is \" \"; allowed is text of 1 to 500 bytes, not blank."},
           {"/rack/segment", "{}", "segment is missing; needed is the name of a segment."},
           {"/rack/segment", R"({"segment":2})",
            "segment is 2; allowed is text of at most 64 bytes."},
           {"/nodes/left/adopt", R"({"gain_db":3})",
            "There is no member \"gain_db\" here; known are: why, waiver."},
           {"/nodes/left/reapply", R"({"gain_db":3})",
            "There is no member \"gain_db\" here; known are: why, waiver."},
           {"/nodes/left/locate", R"({"seconds":256})",
            "seconds is 256; allowed is a whole number from 0 to 255."},
           {"/nodes/left/store", R"({"now":true})",
            "There is no member \"now\" here; known are: none."},
           {"/lines/bus/discover", R"({"deep":true})",
            "There is no member \"deep\" here; known are: none."},
           {"/alarms/1/acknowledge", "{", "The body is not JSON: it cannot be read at byte 2."},
           {"/alarms/1/shelve", R"({"why":"x"})",
            "for_s is missing; needed is a whole number from 60 to 86400."},
           {"/alarms/1/shelve", R"({"for_s":59,"why":"x"})",
            "for_s is 59; allowed is a whole number from 60 to 86400."},
           {"/alarms/1/shelve", R"({"for_s":86401,"why":"x"})",
            "for_s is 86401; allowed is a whole number from 60 to 86400."},
           {"/alarms/1/shelve", R"({"for_s":60.5,"why":"x"})",
            "for_s is 60.5; allowed is a whole number from 60 to 86400."},
           {"/alarms/1/shelve", R"({"for_s":60})", "why is missing; needed is the reason for it."},
           {"/alarms/1/shelve", R"({"for_s":60,"why":"  "})",
            "why is \"  \"; allowed is text of 1 to 500 bytes, not blank."},
           {"/alarms/1/shelve", R"({"for_s":60,"why":"x","for":"ever"})",
            "There is no member \"for\" here; known are: for_s, why."},
           {"/alarms/1/unshelve", R"({"why":"x"})",
            "There is no member \"why\" here; known are: none."}}) {
    const auto& the_path = path;
    CAPTURE(the_path);
    const auto& the_body = body;
    CAPTURE(the_body);
    const auto bad = bench.call("POST", path, body);
    CHECK(bad.status == 422);
    CHECK(bad.text("type") == "/problems/bad-value");
    CHECK(bad.text("detail") == detail);
  }
  CHECK(bench.call("POST", "/nodes/left/adopt", "{}", {{"if-match", "3"}}).status == 422);
  CHECK(bench.call("POST", "/nodes/left/reapply", "{}", {{"if-match", "3"}}).status == 422);
  CHECK(bench.gate.journal.size() == rows);
  CHECK(bench.gate.sent.empty());
}
