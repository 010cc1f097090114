// SPDX-License-Identifier: Apache-2.0
// Between segments: a running order switches every antenna to the next segment's plan, by hand, by
// the clock, after a duration and by a show-control message, over a serial device (a
// pseudo-terminal) and UDP, against separate processes that behave as nodes. Nodes are killed in a
// switch, and so is the daemon.
#include <doctest/doctest.h>

#include <csignal>
#include <ctime>

#include "tests/support/festival.hpp"
#include "tests/support/raw_socket.hpp"

using namespace catwalk::test;

namespace {

const auto patience = std::chrono::seconds{30};

// So many seconds from now, on a clock that shows UTC.
std::string clock_in(int seconds) {
  const std::time_t at = std::time(nullptr) + seconds;
  std::tm parts{};
  gmtime_r(&at, &parts);
  char text[16];
  std::strftime(text, sizeof text, "%H:%M:%S", &parts);
  return text;
}

// An OSC 1.0 message with one string argument: both strings end with a zero and are filled up to
// four bytes.
std::string osc(std::string address, std::string argument) {
  const auto filled = [](std::string text) {
    text.push_back('\0');
    text.resize((text.size() + 3) / 4 * 4, '\0');
    return text;
  };
  return filled(std::move(address)) + filled(",s") + filled(std::move(argument));
}

Json by_hand() {
  return {{{"segment", "doors"}},
          {{"segment", "speeches"}},
          {{"segment", "concert"}},
          {{"segment", "parade"}},
          {{"segment", "fireworks"}}};
}

Json under_way(Rig& rig) { return rig.get("/switch").body; }

bool has_ended(Rig& rig) {
  const auto said = rig.get("/switch");
  return said.status == 200 && said.body.at("ended") == true;
}

// What each node itself has, asked behind the daemon's back.
std::string shown_by(Rig& rig, const std::string& node) {
  auto& process = node.starts_with("bus") ? *rig.bus : *rig.net;
  const auto before = process.output().size();
  process.say("show " + Rig::uid(node));
  std::string line;
  REQUIRE(eventually([&] {
    line = process.output().substr(before);
    return line.find('\n') != std::string::npos;
  }));
  return line;
}

// From one segment to the next, while some nodes stand still: it begins, and cannot end.
void begin_a_switch_that_hangs(Rig& rig, Process& nodes) {
  REQUIRE(rig.run({"go", "doors"}).status == 0);
  nodes.signal(SIGSTOP);
  REQUIRE(rig.send("POST", "/switch", {{"segment", "speeches"}}, {{"Prefer", "respond-async"}})
              .status == 202);
}

}  // namespace

TEST_CASE("a festival goes through its five segments by hand, clock, duration and message") {
  Rig rig;
  const auto at = clock_in(5);
  rig.edit_rack([](Json& rack) {
    rack["show_control"] = {{"bind", "127.0.0.1:0"}, {"senders", {"127.0.0.1"}}};
  });
  rig.write_show(Festival::show({{{"segment", "doors"}},
                                 {{"segment", "speeches"}, {"clock", at}},
                                 {{"segment", "concert"}, {"message", "overture"}},
                                 {{"segment", "parade"}, {"after", "concert"}, {"after_s", 1}},
                                 {{"segment", "fireworks"}}}));
  rig.start_daemon();

  const auto preview = rig.run({"preview", "doors"});
  CHECK(preview.status == 0);
  CHECK(preview.output.find("ready to go") != std::string::npos);
  const auto doors = rig.run({"go", "--why", "doors open"});
  CHECK(doors.status == 0);
  REQUIRE(Festival::all_in(rig, "doors"));
  CHECK(shown_by(rig, "bus-2").find("gain=3.00dB") != std::string::npos);
  CHECK(shown_by(rig, "net-2").find("gain=3.00dB") != std::string::npos);

  // The clock, with the rack locked and the cue armed: nobody touches anything.
  REQUIRE(rig.run({"lock", "--why", "show"}).status == 0);
  REQUIRE(rig.run({"arm", "speeches"}).status == 0);
  REQUIRE(eventually([&] { return rig.get("/rack").text("segment") == "speeches"; }, patience));
  CHECK(Festival::all_in(rig, "speeches"));
  CHECK(under_way(rig).at("triggered_by") == "clock");
  CHECK_FALSE(rig.get("/running-order").body.contains("armed"));
  CHECK(rig.run({"go"}).status == 3);  // still locked
  REQUIRE(rig.run({"unlock"}).status == 0);

  // A message, and what follows a second after it.
  const auto log = rig.daemon->output();
  const std::string says = "OSC 1.0 over UDP, 127.0.0.1 port ";
  const auto mark = log.find(says);
  REQUIRE(mark != std::string::npos);
  UdpClient desk;
  const auto port = static_cast<std::uint16_t>(std::stoi(log.substr(mark + says.size())));
  desk.send(port, osc("/catwalk/message", "overture"));
  REQUIRE(eventually([&] { return rig.get("/running-order").text("at") == "concert"; }, patience));
  REQUIRE(eventually([&] { return rig.get("/rack").text("segment") == "parade"; }, patience));
  CHECK(under_way(rig).at("triggered_by") == "duration");
  CHECK(Festival::all_in(rig, "parade"));

  CHECK(rig.run({"go", "fireworks"}).status == 0);
  CHECK(Festival::all_in(rig, "fireworks"));
  CHECK_FALSE(rig.get("/running-order").body.contains("next"));

  // All of it stands in the journal, and its chain is whole.
  const auto rows = rig.get("/journal?kind=switch&limit=200").body.at("entries");
  std::vector<std::string> ends;
  for (const auto& row : rows)
    if (!row.contains("node") && row.contains("fate"))
      ends.insert(ends.begin(),
                  row.at("what").get<std::string>() + " " + row.at("fate").get<std::string>());
  CHECK(ends == std::vector<std::string>{"concert → doors done", "doors → speeches done",
                                         "speeches → concert done", "concert → parade done",
                                         "parade → fireworks done"});
}

TEST_CASE(
    "nodes that are killed in a switch send the others back, and the rack says who is where") {
  Rig rig;
  rig.write_show(Festival::show(by_hand()));
  rig.start_daemon();
  REQUIRE(rig.run({"go", "doors"}).status == 0);
  // Stopped first, so that the switch certainly meets nodes that do not answer; then killed in it.
  rig.net->signal(SIGSTOP);
  const auto begun =
      rig.send("POST", "/switch", {{"segment", "speeches"}}, {{"Prefer", "respond-async"}});
  REQUIRE(begun.status == 202);
  CHECK(under_way(rig).at("ended") == false);
  rig.net->kill();
  REQUIRE(eventually([&] { return has_ended(rig); }, patience));
  const auto end = under_way(rig);
  CHECK(end.at("stage") == "rolled-back");
  CHECK(end.at("reason").get<std::string>().find("net-") != std::string::npos);
  CHECK(rig.get("/rack").text("segment") == "doors");
  for (const auto* node : {"bus-1", "bus-2"})
    CHECK(Festival::segment_of(rig.node(node).at("seen").at("settings")) == "doors");
  CHECK(rig.has_alarm("switch-failed "));

  REQUIRE(eventually([&] { return rig.has_alarm("silent net-1") && rig.has_alarm("silent net-2"); },
                     patience));
  rig.start_net();
  REQUIRE(eventually(
      [&] { return rig.is("net-1", "link", "answering") && rig.is("net-2", "link", "answering"); },
      patience));
  const auto again = rig.run({"go", "speeches"});
  CHECK_MESSAGE(again.status == 0, again.output);
  CHECK(Festival::all_in(rig, "speeches"));
  CHECK_FALSE(rig.has_alarm("switch-failed "));
}

TEST_CASE(
    "a segment that goes on leaves killed nodes behind, and takes them along when they return") {
  Rig rig{"reapply"};
  auto show = Festival::show(by_hand());
  for (auto& segment : show.at("segments")) segment["if_a_node_fails"] = "go on";
  // Without the second branch the receiver is still heard by the first.
  rig.write_show(show);
  rig.start_daemon();
  begin_a_switch_that_hangs(rig, *rig.net);
  rig.net->kill();
  REQUIRE(eventually([&] { return has_ended(rig); }, patience));
  CHECK(under_way(rig).at("stage") == "done");
  CHECK(under_way(rig).at("reason") == "It went on without net-1 and net-2, as the segment says.");
  CHECK(rig.get("/rack").text("segment") == "speeches");
  rig.start_net();
  CHECK(eventually([&] { return Festival::all_in(rig, "speeches"); }, patience));
}

TEST_CASE("a daemon that is killed in a switch ends it as the running order says when it is back") {
  for (const std::string policy : {"finish", "roll back", "wait"}) {
    CAPTURE(policy);
    Rig rig;
    rig.write_show(Festival::show(by_hand(), {{"after_restart", policy}}));
    rig.start_daemon();
    begin_a_switch_that_hangs(rig, *rig.bus);
    rig.daemon->kill();
    rig.bus->signal(SIGCONT);
    rig.start_daemon();
    REQUIRE(eventually([&] { return has_ended(rig); }, patience));
    const auto segment = rig.get("/rack").text("segment");
    CHECK(Festival::all_in(rig, segment));
    CHECK(under_way(rig).at("reason").get<std::string>().find("stopped in the middle") !=
          std::string::npos);
    CHECK(rig.run({"go", "concert"}).status == 0);
    CHECK(Festival::all_in(rig, "concert"));
  }
}
