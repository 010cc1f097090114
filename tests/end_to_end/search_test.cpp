// SPDX-License-Identifier: Apache-2.0
// From the rack to nodes that stand in no file: found, told apart, and made to blink.
#include <doctest/doctest.h>

#include "tests/support/rig.hpp"

using namespace catwalk::test;

namespace {

// The nodes of "net" are to be found: one does not hang where the rack file has it, the other is in
// no file.
void forget_where(Rig& rig) {
  rig.edit_rack([](Json& rack) {
    const std::string endpoint = rack["nodes"][2]["endpoint"];
    rack["lines"][1]["search_port"] = std::stoi(endpoint.substr(endpoint.rfind(':') + 1));
    rack["nodes"][2]["endpoint"] = "127.0.0.1:9";
    rack["nodes"].erase(3);
  });
}

bool blinks(Process& nodes, const std::string& uid) {
  nodes.say("show " + uid);
  return eventually([&] {
    const auto shown = nodes.output();
    const auto at = shown.rfind(uid + " gain=");
    return at != std::string::npos && shown.find("locating=yes", at) != std::string::npos;
  });
}

}  // namespace

TEST_CASE("nodes of a network are found wherever they are, read, and made to blink by their uid") {
  Rig rig;
  forget_where(rig);
  rig.start_daemon(false);
  REQUIRE(eventually([&] { return rig.is("bus-1", "link", "answering"); }));
  REQUIRE(eventually([&] { return rig.is("net-1", "link", "silent"); }));
  CHECK(rig.run({"locate", Rig::uid("net-2")}).status == 2);

  const auto found = rig.run({"discover", "net"});
  CAPTURE(found.output);
  CHECK(found.status == 0);
  const auto has = [&](const std::string& text) {
    return found.output.find(text) != std::string::npos;
  };
  CHECK(has(Rig::uid("net-1") + "        -  net-1                 tern-inline"));
  CHECK(has(Rig::uid("net-2") + "        -  not in the rack file  tern-inline"));
  CHECK(has("127.0.0.1:"));
  CHECK(eventually([&] { return rig.is("net-1", "link", "answering"); }));

  CHECK(rig.run({"locate", Rig::uid("net-2"), "60"}).status == 0);
  CHECK(blinks(*rig.net, Rig::uid("net-2")));
  const auto rows = rig.get("/journal?kind=command").body.at("entries").dump();
  CHECK(rows.find("locate " + Rig::uid("net-2") + " on net for 60 s") != std::string::npos);
  CHECK(rig.run({"lines"}).output.find("2 found, 1 not in the rack file") != std::string::npos);
}

TEST_CASE("a node on the line that no file names says what it is, and blinks") {
  Rig rig;
  rig.start_daemon();
  const auto path = "/lines/bus/discovered/" + Rig::uid("bus-9") + "/locate";
  CHECK(rig.send("POST", path).status == 404);
  REQUIRE(rig.run({"discover", "bus"}).status == 0);
  const auto line = rig.get("/lines/bus").body;
  for (const auto& row : line.at("discovered")) {
    CAPTURE(row.dump());
    CHECK(row.at("type") == "tern-inline");
    CHECK_FALSE(row.contains("doubt"));
    CHECK(row.contains("node") == (row.at("uid") != Rig::uid("bus-9")));
  }
  CHECK(rig.send("POST", path, {{"seconds", 60}}).status == 200);
  CHECK(blinks(*rig.bus, Rig::uid("bus-9")));
  CHECK_FALSE(rig.has_alarm("silent bus-1"));

  rig.bus->say("silence " + Rig::uid("bus-9") + " on");
  REQUIRE(eventually([&] { return rig.send("POST", path).status == 504; }));
}

TEST_CASE("uids that were swapped in the file are put right by a reload, with no restart") {
  Rig rig;
  rig.start_daemon();
  REQUIRE(rig.run({"discover", "net"}).status == 0);
  rig.edit_rack([](Json& rack) { std::swap(rack["nodes"][2]["uid"], rack["nodes"][3]["uid"]); });
  REQUIRE(rig.run({"reload"}).status == 0);
  const auto line = rig.get("/lines/net").body;
  for (const auto& row : line.at("discovered"))
    CHECK(row.at("node") == (row.at("uid") == Rig::uid("net-1") ? "net-2" : "net-1"));
  REQUIRE(eventually([&] {
    const auto node = rig.node("net-1");
    return node.value("link", "") == "answering" && node.at("uid") == Rig::uid("net-2");
  }));
}
