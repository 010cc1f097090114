// SPDX-License-Identifier: Apache-2.0
// The daemon is killed (kill -9) at a random instant of a switch, over and over, through real
// processes; each time it is started again, nothing is unknown: the switch has ended, the segment
// that the rack says it is in is the one that its nodes are in, or the switch is stuck and says of
// every node where it is. CATWALK_KILLS says how often; the default suits a test.
#include <doctest/doctest.h>

#include <cstdlib>
#include <random>
#include <thread>

#include "tests/support/festival.hpp"

using namespace catwalk::test;

namespace {

const auto patience = std::chrono::seconds{30};

int kills() {
  const char* asked = std::getenv("CATWALK_KILLS");
  return asked == nullptr ? 500 : std::atoi(asked);
}

// What the nodes themselves have, as the daemon has just read it, by node.
std::map<std::string, std::string> truth(Rig& rig) {
  std::map<std::string, std::string> segments;
  const auto all = rig.get("/nodes").body;
  for (const auto& node : all.at("nodes"))
    segments[node.at("name").get<std::string>()] =
        Festival::segment_of(node.at("seen").at("settings"));
  return segments;
}

bool all_read(Rig& rig) {
  const auto all = rig.get("/nodes").body;
  for (const auto& node : all.at("nodes"))
    if (node.at("link") != "answering" || !node.contains("seen")) return false;
  return true;
}

bool nothing_under_way(Rig& rig) {
  const auto said = rig.get("/switch");
  return said.status == 404 || said.body.at("ended") == true;
}

}  // namespace

TEST_CASE(
    "a daemon that is killed at any instant of a switch knows afterwards where everything is") {
  std::mt19937 random{20'260'814};
  std::map<std::string, int> ends;
  int silent = 0;
  const std::vector<std::string> names{"doors", "speeches", "concert", "parade", "fireworks"};
  Rig rig;
  Json cues = Json::array();
  for (const auto& name : names) cues.push_back({{"segment", name}});
  const std::vector<std::string> policies{"finish", "roll back", "wait"};
  rig.write_show(Festival::show(cues, {{"after_restart", policies[0]}}));
  rig.start_daemon();
  REQUIRE(rig.run({"go", "doors"}).status == 0);
  std::string from = "doors";
  const auto begin = std::chrono::steady_clock::now();
  for (const auto* name : {"speeches", "doors", "speeches", "doors"})
    REQUIRE(rig.send("POST", "/switch", {{"segment", name}}).status == 200);
  // As long as a switch takes here.
  const auto longest = std::chrono::duration_cast<std::chrono::microseconds>(
      (std::chrono::steady_clock::now() - begin) / 4);

  const int count = kills();
  for (int kill = 0; kill < count; ++kill) {
    CAPTURE(kill);
    auto to = from;
    while (to == from) to = names[random() % names.size()];
    const auto begun =
        rig.send("POST", "/switch", {{"segment", to}}, {{"Prefer", "respond-async"}});
    REQUIRE(begun.status == 202);
    // The instant is random, and that is the point.
    std::this_thread::sleep_for(
        std::chrono::microseconds{random() % static_cast<std::uint64_t>(1 + longest.count())});
    rig.daemon->kill();
    const auto& policy = policies[random() % policies.size()];
    rig.write_show(Festival::show(cues, {{"after_restart", policy}}));
    rig.start_daemon();
    REQUIRE(eventually([&] { return nothing_under_way(rig) && all_read(rig); }, patience));

    const auto segment = rig.get("/rack").text("segment");
    const auto said = rig.get("/switch");
    const auto end = said.status == 404 ? std::string{"done before"} : said.text("stage");
    ++ends[end];
    CHECK((segment == from || segment == to));
    const auto nodes = truth(rig);
    if (end == "stuck") {
      REQUIRE(policy == "wait");
      for (const auto& node : said.body.at("nodes")) {
        const std::string where = node.at("where");
        const auto& is = nodes.at(node.at("node").get<std::string>());
        // One that a busy machine did not let answer in time was silent when the switch was given
        // up, which is said of it; it stands at either end all the same.
        if (where == "unknown") {
          ++silent;
          CHECK((is == from || is == to));
          continue;
        }
        REQUIRE((where == "before" || where == "target"));
        CHECK(is == (where == "target" ? to : from));
        CHECK_FALSE(node.at("what_to_do").get<std::string>().empty());
      }
      const auto mended = rig.send("POST", "/switch", {{"segment", to}});
      REQUIRE(mended.status == 200);
      from = to;
    } else {
      for (const auto& [node, is] : nodes) CHECK(is == segment);
      from = segment;
    }
    REQUIRE(Festival::all_in(rig, from));
  }
  rig.daemon->signal(15);
  CHECK(rig.daemon->wait() == 0);
  Process verify{
      CATWALKD, {"--verify-journal", rig.file("rack.json").string()}, rig.file("verify.log")};
  CHECK(verify.wait() == 0);
  for (const auto& [end, times] : ends) MESSAGE(end << ": " << times);
  MESSAGE("nodes silent at a stuck end: " << silent);
  CHECK(silent <= count / 4);  // of four in each
}
