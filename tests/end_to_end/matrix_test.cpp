// SPDX-License-Identifier: Apache-2.0
// A matrix on a line, on real bytes: a technician says what is on an input, sees what it draws, and
// routes it; who hears through whom follows wherever it is told; a hand at the unit is found; and
// the daemon is killed in the middle of it.
#include <doctest/doctest.h>

#include <algorithm>
#include <csignal>

#include "tests/support/matrix_rig.hpp"
#include "tests/support/raw_socket.hpp"

using namespace catwalk::test;

namespace {

const std::string shore = "/matrices/shore";

// A panel on the live feed: the newest that it was told of the matrices and nodes.
struct Panel {
  explicit Panel(std::uint16_t port) : socket{port, "/api/v1/live"} {
    REQUIRE(socket.upgraded.status == 101);
  }

  // True as soon as it has been told so.
  bool hears_of(const std::function<bool()>& told) {
    for (int messages = 0; !told() && messages < 2'000; ++messages) {
      const auto message = socket.next();
      if (message.opcode == 0 || message.opcode == RawWebSocket::close) return false;
      if (message.opcode != RawWebSocket::text) continue;
      const auto said = Json::parse(message.payload);
      for (const auto& one : said.value("matrices", Json::array())) matrix = one;
      for (const auto& one : said.value("nodes", Json::array()))
        nodes[one.at("name").get<std::string>()] = one;
      snapshots += said.value("type", "") == "snapshot";
    }
    return told();
  }
  Json hears(std::size_t output) const {
    return matrix.is_null() ? Json{} : matrix.at("outputs").at(output - 1).at("hears");
  }

  RawWebSocket socket;
  Json matrix;
  std::map<std::string, Json> nodes;
  int snapshots = 0;
};

using Names = std::vector<std::string>;

}  // namespace

TEST_CASE("a technician names an input, sees what it draws, and routes it to another receiver") {
  MatrixRig rig;
  rig.start();
  Panel panel{rig.daemon_port()};
  REQUIRE(panel.hears_of([&] { return panel.hears(1) == Json::array({"left"}); }));
  CHECK(panel.hears(3) == Json::array({"float"}));
  CHECK(panel.snapshots == 1);
  CHECK(rig.served_by("float") == Names{"talk 1"});
  CHECK(rig.node("float").at("fed_by") == Json{{"matrix", "shore"}, {"input", 3}});

  // What is on input 3: its label is kept by the unit, and its amplifier draws current there.
  REQUIRE(rig.run({"route", "shore", "label-3=float", "--why", "named"}).status == 0);
  CHECK(eventually([&] {
    const auto input = rig.matrix().at("inputs").at(2);
    return input.contains("measured") && input.at("measured").at("current_ma").get<int>() > 0;
  }));
  const auto input = rig.matrix().at("inputs").at(2);
  CHECK(input.at("antenna") == "float");
  CHECK(input.at("measured").at("limited") == false);
  CHECK(rig.matrix().at("seen").at("settings").at("labels").at("3") == "float");
  const auto shown = rig.run({"routes", "shore"});
  CHECK(shown.status == 0);
  CHECK(shown.output.find(" mA") != std::string::npos);
  CHECK(rig.run({"matrices"}).output.find("shore") != std::string::npos);

  // Under the show lock nothing moves.
  REQUIRE(rig.run({"lock", "--why", "doors"}).status == 0);
  const auto refused = rig.run({"route", "shore", "output-1=1+3"});
  CHECK(refused.status == 3);
  CHECK(refused.output.find("show-locked") != std::string::npos);
  CHECK(rig.hears(1) == Json::array({"left"}));
  REQUIRE(rig.run({"unlock"}).status == 0);

  // To the vocals too; they and the talkback hear it now.
  CHECK(rig.run({"check-route", "shore", "output-1=1+3"}).status == 0);
  const auto done = rig.run({"route", "shore", "output-1=1+3", "--why", "one more for the vocals"});
  CAPTURE(done.output);
  REQUIRE(done.status == 0);
  CHECK(rig.hears(1) == Json::array({"left", "float"}));
  CHECK(rig.served_by("float") == Names{"vocals 1", "talk 1"});
  CHECK(rig.get("/nodes/float/explain").status == 200);
  const auto explained = rig.run({"explain", "float", "--carrier", "voice"});
  CHECK(explained.status == 0);
  CHECK(explained.output.find("shore, output 1") != std::string::npos);
  CHECK(panel.hears_of([&] { return panel.hears(1) == Json::array({"left", "float"}); }));
  CHECK(panel.hears_of([&] { return panel.nodes["float"].at("serves").size() == 2; }));
  // The unit itself agrees, asked behind the daemon's back.
  CHECK(rig.shown_by(MatrixRig::unit_uid).find("output-1=1+3 output-2=2 output-3=3") !=
        std::string::npos);
  const auto rows = rig.get("/journal?node=shore&kind=intent").body.at("entries");
  REQUIRE(rows.size() == 2);
  CHECK(rows[0].at("what") == "output 1: 1 → 1+3");
  CHECK(rows[0].at("why") == "one more for the vocals");
}

TEST_CASE("a hand at the unit is drift, and what was wanted is brought back, or adopted") {
  MatrixRig rig;
  rig.start();
  Panel panel{rig.daemon_port()};
  rig.say("route", "2 3");
  REQUIRE(eventually([&] { return rig.matrix().at("agreement") == "drifted"; }));
  CHECK(rig.has_alarm("drifted shore"));
  CHECK(rig.hears(2) == Json::array({"float"}));
  CHECK(panel.hears_of([&] { return panel.hears(2) == Json::array({"float"}); }));
  CHECK(rig.served_by("right") == Names{});
  REQUIRE(rig.run({"reapply", "shore", "--why", "a hand"}).status == 0);
  CHECK(rig.matrix().at("agreement") == "agreed");
  CHECK(rig.hears(2) == Json::array({"right"}));
  CHECK(panel.hears_of([&] { return panel.hears(2) == Json::array({"right"}); }));
  CHECK(eventually([&] { return !rig.has_alarm("drifted shore"); }));

  rig.say("trim", "1 -3dB");
  REQUIRE(eventually([&] { return rig.matrix().at("agreement") == "drifted"; }));
  REQUIRE(rig.run({"adopt", "shore"}).status == 0);
  CHECK(rig.matrix().at("wanted").at("trims_db").at("1") == -3.0);
  CHECK(rig.run({"locate", "shore", "2"}).status == 0);
  CHECK(rig.run({"store", "shore"}).status == 0);
}

TEST_CASE("an amplifier loses its supply with the input that feeds it, and that is seen at both") {
  MatrixRig rig;
  rig.start();
  REQUIRE(eventually([&] { return rig.active_alarms().empty(); }));
  rig.say("short", "3 on");
  CHECK(eventually([&] { return rig.has_alarm("passive float"); }));
  CHECK(eventually(
      [&] { return rig.matrix().at("inputs").at(2).at("measured").value("limited", false); }));
  rig.say("short", "3 off");
  CHECK(eventually([&] { return !rig.has_alarm("passive float"); }));
}

TEST_CASE("a daemon that is killed in the middle of a change of routes knows what became of it") {
  MatrixRig rig;
  rig.start();
  rig.say("slow", "3s");
  const Json more = {{"routes", {{"1", Json::array({1, 3})}}}, {"labels", {{"3", "float"}}}};
  const auto begun = rig.route(more, {{"Prefer", "respond-async"}});
  REQUIRE(begun.status == 202);
  rig.daemon->kill();
  rig.start();
  REQUIRE(eventually([&] {
    const auto agreement = rig.matrix().at("agreement");
    return agreement != "changing" && agreement != "unknown";
  }));
  // It was acknowledged, so it is still wanted, all of it; if the unit has not got it, that shows.
  const auto matrix = rig.matrix();
  CHECK(matrix.at("wanted").at("routes").at("1") == Json::array({1, 3}));
  CHECK(matrix.at("wanted").at("labels").at("3") == "float");
  const auto& seen = matrix.at("seen").at("settings");
  const bool has_it = seen.at("routes").at("1") == Json::array({1, 3});
  CHECK((seen.at("labels").at("3") == "float") == has_it);
  CHECK((matrix.at("agreement") == "agreed") == has_it);
  CHECK(rig.has_alarm("drifted shore") == !has_it);
  CHECK(rig.hears(1) == (has_it ? Json::array({"left", "float"}) : Json::array({"left"})));
  const auto rows = rig.get("/journal?kind=fate&node=shore").body.at("entries");
  REQUIRE(rows.size() == 1);
  CHECK(rows[0].at("change") == begun.body.at("change"));
  CHECK(eventually([&] { return rig.run({"reapply", "shore"}).status == 0; }));
  CHECK(rig.hears(1) == Json::array({"left", "float"}));
}

TEST_CASE("before the matrix is read again, who hears through whom is what was wanted last") {
  MatrixRig rig;
  rig.start();
  REQUIRE(rig.route({{"routes", {{"1", Json::array({3})}}}}).text("outcome") == "settled");
  rig.daemon->kill();
  rig.unit->kill();
  rig.start_daemon(false);
  REQUIRE(eventually([&] { return rig.matrix().at("link") == "silent"; }));
  const auto matrix = rig.matrix();
  CHECK_FALSE(matrix.contains("seen"));
  CHECK(matrix.at("wanted").at("routes").at("1") == Json::array({3}));
  CHECK(rig.hears(1) == Json::array({"float"}));
  CHECK(rig.run({"route", "shore", "output-1=1"}).status == 5);
  CHECK(rig.run({"routes", "shore"}).status == 0);
}

TEST_CASE("what is plugged in elsewhere is taken by a reload, and nothing of the routes moves") {
  MatrixRig rig;
  rig.start();
  REQUIRE(rig.route({{"label", "A"}}).text("outcome") == "settled");
  const auto revision = rig.get(shore + "/settings").etag;
  rig.edit_rack([](Json& rack) {
    rack["nodes"][0]["ends_at"]["input"] = 3;
    rack["nodes"][2]["ends_at"]["input"] = 1;
  });
  const auto reloaded = rig.run({"reload"});
  CAPTURE(reloaded.output);
  REQUIRE(reloaded.status == 0);
  CHECK(eventually([&] {
    return rig.hears(1) == Json::array({"float"}) && rig.hears(3) == Json::array({"left"});
  }));
  CHECK(rig.served_by("left") == Names{"talk 1"});
  CHECK(rig.node("left").at("fed_by").at("input") == 3);
  const auto plans = rig.get("/journal?kind=plan").body.at("entries");
  REQUIRE_FALSE(plans.empty());
  CHECK(plans[0].dump().find("left is plugged in elsewhere") != std::string::npos);
  CHECK(rig.get(shore + "/settings").etag == revision);
  CHECK(rig.matrix().at("wanted").at("label") == "A");
  CHECK(eventually([&] { return rig.matrix().at("agreement") == "agreed"; }));

  // Two antennas on one input: refused, and the old files stay.
  rig.edit_rack([](Json& rack) { rack["nodes"][0]["ends_at"]["input"] = 1; });
  const auto refused = rig.run({"reload"});
  CHECK(refused.status != 0);
  CHECK(refused.output.find("is already used on line") != std::string::npos);
  CHECK(rig.hears(1) == Json::array({"float"}));
}

TEST_CASE("a bad word for a matrix is told at once, and nothing is done") {
  MatrixRig rig;
  rig.start();
  const auto says = [&](std::vector<std::string> words, int status, const std::string& sentence) {
    const auto ran = rig.run(std::move(words));
    CAPTURE(ran.output);
    CHECK(ran.status == status);
    CHECK(ran.output.find(sentence) != std::string::npos);
  };
  says({"routes", "left"}, 2, "There is no matrix \"left\".");
  says({"route", "nobody", "output-1=1"}, 2, "There is no matrix \"nobody\".");
  says({"route", "shore", "output-7=1"}, 2,
       "There is no member \"7\" in routes; known are: 1, 2, 3, 4, 5, 6.");
  says({"route", "shore", "output-1=13"}, 2,
       "routes of 1 is [13]; allowed is a list of whole numbers from 1 to 12, each once.");
  says({"route", "shore", "output-1=1+2+3+4+5"}, 3,
       "Output 1 cannot take 1+2+3+4+5: a heron-sum sums at most 4 inputs.");
  says({"route", "shore", "trim-1=-0.25"}, 3, "is between two steps");
  says({"route", "shore", "supply-1=10"}, 3, "Input 1 cannot feed 10 V; it feeds 9 V and 12 V");
  says({"route", "shore", "label-1=seventeen letters"}, 2,
       "labels of 1 is \"seventeen letters\"; allowed is text of at most 16 bytes.");
  says({"set", "shore", "gain=3"}, 2, "There is no node \"shore\"");
  CHECK(rig.get(shore + "/settings").etag == "\"1\"");
}
