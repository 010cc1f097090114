// SPDX-License-Identifier: Apache-2.0
// A matrix in a show, on real bytes: a segment that moves windows and routes at once, with a node
// that dies in the middle of it; routes under the show lock; and a supply that is cut.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <regex>

#include "tests/support/matrix_rig.hpp"

using namespace catwalk::test;

namespace {

const auto patience = std::chrono::seconds{30};

Json tuned(double centre_mhz) {
  return {{"gain_db", 4}, {"filter", "slide-40"}, {"centre_mhz", centre_mhz}};
}

Json segment(const std::string& name, double call_mhz, const Json& settings) {
  const Json lane = {{"name", "mics"}, {"purpose", "receive"}, {"low_mhz", 470}, {"high_mhz", 600}};
  return {{"name", name},
          {"title", name},
          {"lanes", Json::array({lane})},
          {"carriers", Json::array({MatrixRig::carrier("voice", 585, "vocals"),
                                    MatrixRig::carrier("call", call_mhz, "talk")})},
          {"settings", settings}};
}

// The vocals have one branch, and a microphone that stays: left hears it in the speeches and float
// in the finale, so that float is there before the routes move, and left goes after them.
void plan_a_finale(MatrixRig& rig) {
  const Json supplies = {{"1", 12000}, {"2", 12000}, {"3", 12000}};
  const auto routes = [](int vocals) {
    return Json{{"1", Json::array({vocals})}, {"2", Json::array()}, {"3", Json::array({2})}};
  };
  const Json speeches = {{"left", tuned(585)},
                         {"right", tuned(560)},
                         {"float", tuned(500)},
                         {"shore", {{"routes", routes(1)}, {"supplies_mv", supplies}}}};
  const Json finale = {{"left", tuned(500)},
                       {"right", tuned(520)},
                       {"float", tuned(585)},
                       {"shore", {{"routes", routes(3)}, {"supplies_mv", supplies}}}};
  const Json cues = Json::array({{{"segment", "speeches"}}, {{"segment", "finale"}}});
  rig.write_show({{"name", "test"},
                  {"segments", Json::array({segment("speeches", 560, speeches),
                                            segment("finale", 520, finale)})},
                  {"running_order", {{"cues", cues}}}});
  rig.edit_rack([](Json& rack) { rack["receivers"][0]["branches"].erase(1); });
}

// What the unit and each antenna are set to, as they say themselves.
std::vector<std::string> settings_shown(MatrixRig& rig) {
  std::vector<std::string> all;
  for (const auto& uid :
       {MatrixRig::unit_uid, MatrixRig::uid_of(1), MatrixRig::uid_of(2), MatrixRig::uid_of(3)}) {
    const auto shown = rig.shown_by(uid);
    const auto end = shown.find(" powered=yes");
    REQUIRE_MESSAGE(end != std::string::npos, shown);
    all.push_back(std::regex_replace(shown.substr(0, end), std::regex{"/[0-9]+mA"}, ""));
  }
  return all;
}

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

// Of the switch to the finale, in the journal.
std::string fate_of_switch(MatrixRig& rig) {
  const auto rows = rig.get("/journal?kind=switch&limit=50").body.at("entries");
  for (const auto& row : rows)
    if (!row.contains("node") && row.contains("fate") && row.at("what") == "speeches → finale")
      return row.at("fate");
  return "not told: " + rows.dump(1);
}

// The newest of its kind that holds; null: there is none.
Json alarm_of(MatrixRig& rig, const std::string& kind) {
  const auto alarms = rig.get("/alarms").body.at("alarms");
  for (const auto& alarm : alarms)
    if (alarm.at("kind") == kind && alarm.at("active") == true) return alarm;
  return {};
}

// Waits until float is not fed and passive; all other alarms have to stand under that one.
Json cause_of_all(MatrixRig& rig) {
  REQUIRE(
      eventually([&] { return rig.has_alarm("not-fed float") && rig.has_alarm("passive float"); }));
  const auto cause = alarm_of(rig, "not-fed");
  CHECK_FALSE(cause.contains("cause"));
  const auto alarms = rig.get("/alarms").body.at("alarms");
  for (const auto& alarm : alarms) {
    if (alarm.at("id") == cause.at("id") || alarm.at("active") == false) continue;
    CAPTURE(alarm.dump());
    CHECK(alarm.at("subject") == "float");
    CHECK(alarm.at("cause") == cause.at("id"));
    CHECK(alarm.at("under") == cause.at("id"));
  }
  return cause;
}

double ratio(double decibels) { return std::pow(10.0, decibels / 10); }

}  // namespace

TEST_CASE("windows and routes move at once, and when a node refuses in the middle all go back") {
  MatrixRig rig;
  plan_a_finale(rig);
  rig.start();
  const auto begun = rig.run({"go", "speeches"});
  REQUIRE_MESSAGE(begun.status == 0, begun.output);
  const auto before = settings_shown(rig);
  CHECK(has(before[0], "output-1=1 output-2=none output-3=2"));

  // Left is the last to move.
  rig.say_to(MatrixRig::uid_of(1), "refuse", "storage_failed");
  CHECK(rig.run({"go", "finale"}).status != 0);
  const auto end = rig.get("/switch").body;
  CHECK(end.at("stage") == "rolled-back");
  CHECK(has(end.at("reason").get<std::string>(), "left"));
  CHECK(rig.get("/rack").text("segment") == "speeches");
  CHECK(settings_shown(rig) == before);
  CHECK(rig.hears(1) == Json::array({"left"}));
  CHECK(rig.has_alarm("switch-failed "));
  const auto steps = rig.get("/journal?kind=step&limit=50").body.at("entries");
  const auto moved = [&](const std::string& what) {
    return std::ranges::any_of(
        steps, [&](const Json& row) { return has(row.at("what").get<std::string>(), what); });
  };
  CAPTURE(steps.dump(1));
  CHECK(moved("step 2 of 3: shore"));  // it had moved, and was brought back
  CHECK(moved("back: "));
  CHECK(has(fate_of_switch(rig), "rolled-back: left: refuses"));

  rig.say_to(MatrixRig::uid_of(1), "refuse", "none");
  const auto again = rig.run({"go", "finale"});
  CHECK_MESSAGE(again.status == 0, again.output);
  CHECK(rig.hears(1) == Json::array({"float"}));
  CHECK(has(rig.shown_by(MatrixRig::uid_of(1)), "centre=500.000000MHz"));
  CHECK_FALSE(rig.has_alarm("switch-failed "));
}

TEST_CASE("when a node dies in the middle the others go back, and it is found where it was") {
  MatrixRig rig;
  plan_a_finale(rig);
  rig.start();
  REQUIRE(rig.run({"go", "speeches"}).status == 0);
  const auto before = settings_shown(rig);

  // Left takes its time, so that it dies when the others have moved.
  rig.say_to(MatrixRig::uid_of(1), "slow", "10s");
  REQUIRE(
      rig.send("POST", "/switch", {{"segment", "finale"}}, {{"Prefer", "respond-async"}}).status ==
      202);
  REQUIRE(eventually([&] {
    return has(rig.shown_by(MatrixRig::unit_uid), "output-1=3 output-2=none") &&
           has(rig.shown_by(MatrixRig::uid_of(3)), "centre=585.000000MHz");
  }));
  CHECK(rig.get("/switch").body.at("ended") == false);
  rig.say_to(MatrixRig::uid_of(1), "silence", "on");
  REQUIRE(eventually([&] { return rig.get("/switch").body.at("ended") == true; }, patience));

  // Of who does not answer nobody knows where it is, and that is said.
  const auto end = rig.get("/switch").body;
  CHECK(end.at("stage") == "stuck");
  CHECK(has(end.at("reason").get<std::string>(),
            "left does not answer; right is as it was before; float is as it was before; shore is "
            "as it was before."));
  CHECK(settings_shown(rig) == before);
  CHECK(rig.hears(1) == Json::array({"left"}));
  CHECK(has(fate_of_switch(rig), "stuck: left: did not answer"));
  CHECK(rig.has_alarm("switch-failed "));
  CHECK(eventually([&] { return rig.has_alarm("silent left"); }, patience));

  rig.say_to(MatrixRig::uid_of(1), "slow", "0s");
  rig.say_to(MatrixRig::uid_of(1), "silence", "off");
  REQUIRE(eventually([&] { return rig.is("left", "link", "answering"); }, patience));
  CHECK(rig.is("left", "agreement", "agreed"));
  CHECK(rig.matrix().at("agreement") == "agreed");
  const auto again = rig.run({"go", "finale"});
  CHECK_MESSAGE(again.status == 0, again.output);
  CHECK(rig.hears(1) == Json::array({"float"}));
  CHECK_FALSE(rig.has_alarm("switch-failed "));
}

TEST_CASE("under the show lock routes move with an armed cue alone") {
  MatrixRig rig;
  plan_a_finale(rig);
  rig.start();
  REQUIRE(rig.run({"go", "speeches"}).status == 0);
  REQUIRE(rig.run({"lock", "--why", "show"}).status == 0);
  const auto by_hand = rig.run({"route", "shore", "output-1=3"});
  CHECK(by_hand.status == 3);
  CHECK(has(by_hand.output, "show-locked"));
  CHECK(rig.run({"go"}).status == 3);
  CHECK(rig.hears(1) == Json::array({"left"}));

  REQUIRE(rig.run({"arm"}).status == 0);
  // The arming is the cue's: a hand at the routes is refused as before.
  CHECK(rig.run({"route", "shore", "output-1=3"}).status == 3);
  const auto armed = rig.run({"go", "--why", "the choir comes on"});
  REQUIRE_MESSAGE(armed.status == 0, armed.output);
  CHECK(rig.hears(1) == Json::array({"float"}));
  CHECK(has(rig.shown_by(MatrixRig::unit_uid), "output-1=3 output-2=none output-3=2"));
  CHECK(rig.run({"route", "shore", "output-1=1"}).status == 3);
}

// Noise by Friis, of the datasheets' figures: H. T. Friis, "Noise figures of radio receivers",
// Proc. IRE 32 (1944), from memory. A matched loss has a noise figure of as much.
TEST_CASE("a supply that is cut is one alarm with its cause, and who hears less stands under it") {
  MatrixRig rig;
  rig.edit_rack([](Json& rack) {
    rack["nodes"][2]["feed"] = Json::array({{{"loss_db", 12}, {"name", "cable"}}});
  });
  rig.start();
  const auto set = rig.run({"set", "float", "gain=16", "filter=slide-40", "centre=582"});
  REQUIRE_MESSAGE(set.status == 0, set.output);
  REQUIRE(rig.run({"store", "float"}).status == 0);  // with its supply it begins anew
  REQUIRE(eventually([&] { return rig.active_alarms().empty(); }));

  rig.say("short", "3 on");
  const auto cause = cause_of_all(rig);
  CHECK(cause.at("sentence") ==
        "Input 3 of shore has let go, since more current was drawn than it gives: a short in the "
        "cable of float, or in float itself.");

  // Powered: the filter 1.394 dB in the middle, a stage of 28 dB with 3.8, a pad of 13 dB, a stage
  // of 1 dB with 3.5; then 12 dB of cable, and the unit with 7 dB. Passive: 1.2 dB, cable, unit.
  const double amplifier = ratio(3.8) + (ratio(13 + 3.5) - 1) / ratio(28);
  const double powered = amplifier + (ratio(12) - 1) / ratio(16) + (ratio(7) - 1) / ratio(16 - 12);
  const double less = 1.2 + 12 + 7 - (1.394 + 10 * std::log10(powered));
  const auto sentence = alarm_of(rig, "passive").at("sentence").get<std::string>();
  CAPTURE(sentence);
  std::smatch said;
  REQUIRE(std::regex_search(sentence, said, std::regex{"talk hears call ([0-9.]+) dB less by it"}));
  CHECK(std::abs(std::stod(said[1]) - less) < 0.06);  // told to a tenth
  CHECK_FALSE(has(sentence, "vocals"));

  // Seen once, all of it is.
  REQUIRE(rig.run({"acknowledge", std::to_string(cause.at("id").get<int>())}).status == 0);
  const auto seen = rig.get("/alarms").body.at("alarms");
  CHECK(std::ranges::all_of(seen, [](const Json& one) { return one.at("acknowledged") == true; }));
  rig.say("short", "3 off");
  REQUIRE(eventually([&] { return rig.active_alarms().empty(); }));

  // From here, by somebody who answers for it.
  const auto off = rig.run({"route", "shore", "supply-3=off", "--by", "ana", "--waive", "rigging"});
  REQUIRE_MESSAGE(off.status == 0, off.output);
  CHECK(cause_of_all(rig).at("sentence") ==
        "Input 3 of shore feeds nothing, since its supply is off, and float is to be heard.");
  CHECK(has(alarm_of(rig, "passive").at("sentence").get<std::string>(), "talk hears call "));
}
