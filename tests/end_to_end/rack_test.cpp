// SPDX-License-Identifier: Apache-2.0
// From the rack to the grid and back: an engineer changes antennas over a real serial device (a
// pseudo-terminal) and over UDP, against separate processes that behave as nodes; nodes are killed,
// lines are cut, knobs are turned, supplies fail, and the daemon is killed.
#include <doctest/doctest.h>

#include <csignal>
#include <fstream>
#include <functional>
#include <optional>

#include "tests/support/rig.hpp"

using namespace catwalk::test;

namespace {

double seen_gain(Rig& rig, const std::string& node) {
  return rig.node(node).at("seen").at("settings").at("gain_db");
}

Process& process_of(Rig& rig, const std::string& node) {
  return node.starts_with("bus") ? *rig.bus : *rig.net;
}

void restart_process_of(Rig& rig, const std::string& node) {
  if (node.starts_with("bus"))
    rig.start_bus();
  else
    rig.start_net();
}

// The story holds for both kinds of line.
const std::vector<std::string> one_of_each{"bus-1", "net-1"};
void tell_of_each(Rig& rig, const std::function<void(const std::string&)>& story) {
  rig.start_daemon();
  for (const auto& name : one_of_each) {
    CAPTURE(name);
    story(name);
  }
}

}  // namespace

TEST_CASE("an engineer sees the check, changes gain, filter and centre, and sees them read back") {
  Rig rig;
  tell_of_each(rig, [&](const std::string& name) {
    const auto checked =
        rig.send("PATCH", "/nodes/" + name + "/settings?dry_run=true", {{"centre_mhz", 700}});
    CHECK(checked.status == 200);
    CHECK(checked.text("would_be") == "refused");
    CHECK(
        checked.body.at("findings")[0].at("sentence") ==
        "voice needs 584.900 to 585.100 MHz, but the window surely passes only 680.500 to 719.500 "
        "MHz.");

    const auto slid = rig.set(name, {{"gain_db", 6}, {"centre_mhz", 580.025}, {"label", "vox"}});
    CHECK(slid.status == 200);
    CHECK(slid.text("outcome") == "settled");
    const auto& seen = slid.body.at("node").at("seen").at("settings");
    CHECK(seen == Json{{"gain_db", 6.0},
                       {"filter", "slide-40"},
                       {"centre_mhz", 580.025},
                       {"power", true},
                       {"label", "vox"}});

    const auto wide = rig.set(name, {{"filter", "wide-470-600"}});
    CHECK(wide.text("outcome") == "settled");
    CHECK(wide.body.at("node").at("seen").at("settings").at("filter") == "wide-470-600");
    CHECK_FALSE(wide.body.at("node").at("seen").at("settings").contains("centre_mhz"));

    // The node itself agrees, asked behind the daemon's back.
    process_of(rig, name).say("show " + Rig::uid(name));
    CHECK(eventually([&] {
      return process_of(rig, name).output().find("gain=6.00dB filter=1") != std::string::npos;
    }));
  });
}

TEST_CASE("what the rules refuse reaches no node") {
  Rig rig;
  rig.start_daemon();
  for (const auto& name : one_of_each) {
    const auto refused = rig.set(name, {{"gain_db", 21}});
    CHECK(refused.status == 409);
    CHECK(refused.text("outcome") == "refused");
    CHECK(seen_gain(rig, name) == 0.0);
  }
}

TEST_CASE("a node process that is killed is told silent, and back when it is restarted") {
  Rig rig;
  tell_of_each(rig, [&](const std::string& name) {
    REQUIRE(rig.settles(name, 5));
    REQUIRE(rig.send("POST", "/nodes/" + name + "/store").status == 200);
    REQUIRE(rig.settles(name, 7));
    process_of(rig, name).kill();
    REQUIRE(eventually([&] { return !rig.is(name, "link", "answering"); }));
    CHECK(rig.node(name).at("seen").at("quality") == "stale");
    restart_process_of(rig, name);
    REQUIRE(eventually([&] { return rig.is(name, "link", "answering"); }));
    // It came back with what it had stored: shown, and by on_return = hold not overwritten.
    REQUIRE(eventually([&] { return rig.is(name, "agreement", "drifted"); }));
    CHECK(seen_gain(rig, name) == 5.0);
    CHECK(rig.node(name).at("wanted").at("gain_db") == 7.0);
    CHECK(rig.has_alarm("drifted " + name));
  });
}

TEST_CASE("with on_return = reapply a node that comes back is set again") {
  Rig rig{"reapply"};
  tell_of_each(rig, [&](const std::string& name) {
    REQUIRE(rig.settles(name, 7));
    process_of(rig, name).kill();
    REQUIRE(eventually([&] { return !rig.is(name, "link", "answering"); }));
    restart_process_of(rig, name);
    CHECK(eventually([&] {
      return rig.is(name, "agreement", "agreed") && seen_gain(rig, name) == 7.0 &&
             rig.is(name, "link", "answering");
    }));
  });
}

TEST_CASE("a line cut in the middle of a change ends it with a fate, and wanted is put back") {
  Rig rig;
  tell_of_each(rig, [&](const std::string& name) {
    // The node says "wait", so that the change is certainly under way when the line is cut.
    process_of(rig, name).say("slow " + Rig::uid(name) + " 9s");
    const auto begun = rig.set(name, {{"gain_db", 9}}, {{"Prefer", "respond-async"}});
    REQUIRE(begun.status == 202);
    const auto change = "/changes/" + std::to_string(begun.body.at("change").get<int>());
    REQUIRE(eventually([&] { return rig.get(change).text("stage") == "staging"; }));
    process_of(rig, name).kill();
    REQUIRE(eventually([&] { return rig.get(change).text("stage") == "unreachable"; }));
    CHECK(rig.node(name).at("wanted").at("gain_db") == 0.0);
    CHECK(rig.has_alarm("change-failed " + name));
    restart_process_of(rig, name);
    CHECK(eventually(
        [&] { return rig.is(name, "link", "answering") && rig.is(name, "agreement", "agreed"); }));
    CHECK(seen_gain(rig, name) == 0.0);
  });
}

TEST_CASE("a knob turned at the node is an alarm; adopt takes it, re-apply undoes it") {
  Rig rig;
  tell_of_each(rig, [&](const std::string& name) {
    process_of(rig, name).say("knob " + Rig::uid(name) + " gain 4");
    REQUIRE(eventually([&] { return rig.is(name, "agreement", "drifted"); }));
    CHECK(rig.has_alarm("drifted " + name));
    CHECK(rig.node(name).at("seen").at("telemetry").at("locally_changed") == true);
    CHECK(rig.send("POST", "/nodes/" + name + "/adopt").text("outcome") == "settled");
    CHECK(rig.node(name).at("wanted").at("gain_db") == 4.0);
    CHECK_FALSE(rig.has_alarm("drifted " + name));

    process_of(rig, name).say("knob " + Rig::uid(name) + " gain 11");
    REQUIRE(eventually([&] { return rig.is(name, "agreement", "drifted"); }));
    CHECK(rig.send("POST", "/nodes/" + name + "/reapply").text("outcome") == "settled");
    CHECK(seen_gain(rig, name) == 4.0);
  });
}

TEST_CASE("a node without supply is shown as a passive antenna, and its return is shown too") {
  Rig rig;
  tell_of_each(rig, [&](const std::string& name) {
    process_of(rig, name).say("power " + Rig::uid(name) + " off");
    REQUIRE(eventually([&] { return rig.has_alarm("passive " + name); }));
    CHECK(rig.node(name).at("seen").at("passive") == true);
    CHECK_FALSE(rig.node(name).at("seen").contains("passband_mhz"));
    process_of(rig, name).say("power " + Rig::uid(name) + " on");
    CHECK(eventually([&] { return !rig.has_alarm("passive " + name); }));
  });
}

TEST_CASE("after kill -9 the daemon has what it acknowledged, and shows what differs") {
  Rig rig{"reapply"};
  rig.start_daemon();
  for (const auto& name : one_of_each) REQUIRE(rig.settles(name, 8));
  REQUIRE(rig.send("POST", "/rack/lock", {{"why", "doors"}}).status == 200);
  rig.daemon->kill();
  rig.net->say("knob " + Rig::uid("net-1") + " gain 3");
  REQUIRE(eventually([&] { return rig.net->output().find("ok") != std::string::npos; }));
  rig.start_daemon();
  CHECK(rig.get("/rack").body.at("locked") == true);
  CHECK(rig.node("bus-1").at("wanted").at("gain_db") == 8.0);
  CHECK(rig.is("bus-1", "agreement", "agreed"));
  // The knob was turned while nobody looked: shown, not overwritten, reapply or not.
  CHECK(rig.node("net-1").at("wanted").at("gain_db") == 8.0);
  CHECK(rig.is("net-1", "agreement", "drifted"));
  CHECK(seen_gain(rig, "net-1") == 3.0);
  rig.daemon->signal(SIGTERM);
  CHECK(rig.daemon->wait() == 0);
  Process verify{
      CATWALKD, {"--verify-journal", rig.file("rack.json").string()}, rig.file("verify.log")};
  CHECK(verify.wait() == 0);
  const auto output = rig.daemon->output();
  CHECK(verify.output().starts_with("the journal's chain is whole: rows 1 to "));
  // What the log says at the end is what the journal ends with.
  const auto anchor = verify.output().substr(verify.output().find("anchor ") + 7, 64);
  CHECK(output.find("journal: anchor " + anchor) != std::string::npos);
}

TEST_CASE("killed in the middle of a change, the daemon finds out what became of it") {
  Rig rig;
  rig.start_daemon();
  rig.bus->say("slow " + Rig::uid("bus-1") + " 3s");
  const auto begun = rig.set("bus-1", {{"gain_db", 9}}, {{"Prefer", "respond-async"}});
  REQUIRE(begun.status == 202);
  rig.daemon->kill();
  rig.start_daemon();
  REQUIRE(eventually([&] { return !rig.is("bus-1", "agreement", "changing"); }));
  // It was acknowledged, so it is still wanted; if the node has not got it, that shows.
  CHECK(rig.node("bus-1").at("wanted").at("gain_db") == 9.0);
  CHECK(rig.has_alarm("drifted bus-1") == (seen_gain(rig, "bus-1") != 9.0));
  const auto rows = rig.get("/journal?kind=fate&node=bus-1").body.at("entries");
  REQUIRE(rows.size() == 1);
  CHECK(rows[0].at("change") == begun.body.at("change"));
}

TEST_CASE("a search finds every node on the line, and says which are not in the rack file") {
  Rig rig;
  rig.start_daemon();
  const auto found = rig.run({"discover", "bus"});
  CHECK(found.status == 0);
  const auto has = [&](const std::string& text) {
    return found.output.find(text) != std::string::npos;
  };
  CHECK(has(Rig::uid("bus-1") + "        1  bus-1                 tern-inline"));
  CHECK(has(Rig::uid("bus-2") + "        2  bus-2                 tern-inline"));
  CHECK(has(Rig::uid("bus-9") + "        9  not in the rack file  tern-inline"));
}

TEST_CASE("the command line says by its exit status how it went") {
  Rig rig;
  rig.start_daemon();
  CHECK(rig.run({"set", "net-1", "gain=6", "--why", "long cable"}).status == 0);
  CHECK(rig.run({"set", "net-1", "gain=99"}).status == 3);
  CHECK(rig.run({"check", "net-1", "gain=6"}).status == 0);
  CHECK(rig.run({"check", "net-1", "gain=99"}).status == 3);
  CHECK(rig.run({"set", "net-1", "gain=lots"}).status == 2);
  CHECK(rig.run({"set", "nobody", "gain=6"}).status == 2);
  rig.net->say("refuse " + Rig::uid("net-1") + " storage_failed");
  REQUIRE(eventually([&] { return rig.net->output().find("ok") != std::string::npos; }));
  const auto failed = rig.run({"set", "net-1", "gain=7"});
  CHECK(failed.status == 4);
  CAPTURE(failed.output);
  rig.net->kill();
  CHECK(rig.run({"set", "net-1", "gain=8"}).status == 5);
  rig.daemon->kill();
  CHECK(rig.run({"nodes"}).status == 6);
}

TEST_CASE("a plan that is read again changes what is checked, and a broken one changes nothing") {
  Rig rig;
  rig.start_daemon();
  const auto show = rig.file("show.json").string();
  std::filesystem::copy_file(show, rig.file("good.json"));
  REQUIRE(Process{"/bin/sh", {"-c", "echo '{' > " + show}, rig.file("sh.log")}.wait() == 0);
  rig.daemon->signal(SIGHUP);
  CHECK(eventually(
      [&] { return rig.daemon->output().find("reload: refused") != std::string::npos; }));
  CHECK(rig.get("/segments").body.at("segments").size() == 2);
  std::filesystem::copy_file(rig.file("good.json"), show,
                             std::filesystem::copy_options::overwrite_existing);
  rig.daemon->signal(SIGHUP);
  CHECK(eventually([&] { return rig.daemon->output().find("reload: done") != std::string::npos; }));
}

TEST_CASE("other devices come in by reload, under the show lock only if that was armed") {
  Rig rig;
  rig.start_daemon();
  for (const auto& [node, gain] : {std::pair{"bus-2", 5}, {"net-1", 3}, {"net-2", 7}})
    REQUIRE(rig.set(node, {{"gain_db", gain}}).status == 200);
  // A spare hangs where bus-2 hung, and net-1 and net-2 were mixed up.
  rig.edit_rack([](Json& rack) {
    rack["nodes"][1]["uid"] = "7a10-00000209";
    rack["nodes"][1]["address"] = 9;
    rack["nodes"][2]["uid"] = Rig::uid("net-2");
    rack["nodes"][3]["uid"] = Rig::uid("net-1");
  });
  REQUIRE(rig.run({"lock"}).status == 0);
  const auto refused = rig.run({"reload"});
  CHECK(refused.status == 3);
  CHECK(refused.output.find("arm the reload") != std::string::npos);
  CHECK(rig.node("bus-2").at("uid") == Rig::uid("bus-2"));
  REQUIRE(rig.run({"arm", "--reload"}).status == 0);
  REQUIRE(rig.run({"reload"}).status == 0);

  const auto shows = [&](const std::string& node, double gain) {
    const auto view = rig.node(node);
    return view.contains("seen") && view.at("link") == "answering" &&
           view.at("seen").at("settings").at("gain_db") == gain;
  };
  // Each device in its new place, and what is wanted there as it was.
  CHECK(eventually([&] { return shows("net-1", 7) && shows("net-2", 3) && shows("bus-2", 0); }));
  CHECK(rig.node("bus-2").at("uid") == "7a10-00000209");
  CHECK(rig.node("bus-2").at("wanted").at("gain_db") == 5.0);
  CHECK(rig.node("net-1").at("wanted").at("gain_db") == 3.0);
  CHECK(eventually([&] {
    return rig.has_alarm("drifted bus-2") && rig.has_alarm("drifted net-1") &&
           rig.has_alarm("drifted net-2");
  }));
  // A repair passes the lock, and so do the lines that were opened anew.
  CHECK(rig.run({"reapply", "--all"}).status == 0);
  CHECK(eventually([&] { return shows("net-1", 3) && shows("net-2", 7) && shows("bus-2", 5); }));
  // The arming was for once.
  CHECK(rig.run({"reload"}).status != 0);
}

namespace {

// The same rack with its UDP line alone, on a machine of its own: a pseudo-terminal has one end.
class Spare {
 public:
  explicit Spare(const Rig& rig)
      : file_{rig.file("spare.json")}, state_{rig.file("spare")}, log_{rig.file("spare.log")} {
    std::filesystem::create_directories(state_);
    std::filesystem::copy_file(rig.file("state/net.key"), state_ / "net.key");
    std::ifstream in{rig.file("rack.json")};
    auto rack = Json::parse(in);
    rack["state_dir"] = state_.string();
    rack["lines"].erase(0);
    rack["nodes"].erase(0);
    rack["nodes"].erase(0);
    rack["receivers"][0]["branches"] = Json::array({Json::array({"net-1"})});
    std::ofstream{file_} << rack.dump(2);
    start();
  }

  void start() {
    daemon.emplace(CATWALKD, std::vector<std::string>{"--port", "0", file_.string()}, log_);
    const std::string mark = "http://127.0.0.1:";
    REQUIRE(eventually([&] { return daemon->output().find(mark) != std::string::npos; }));
    const auto output = daemon->output();
    const auto from = output.find(mark) + mark.size();
    client_.emplace(
        catwalk::cli::Address{
            "127.0.0.1", output.substr(from, output.find_first_not_of("0123456789", from) - from)},
        catwalk::cli::Headers{{"Catwalk-User", "ben"}});
  }
  catwalk::cli::ClientResponse ask(const std::string& method, const std::string& path,
                                   const Json& body = {},
                                   const catwalk::cli::Headers& headers = {}) {
    auto answer = client_->request(method, path, body.is_null() ? "" : body.dump(), headers);
    REQUIRE(answer);
    return std::move(answer).value();
  }
  Json rack() { return Json::parse(ask("GET", "/api/v1/rack").body); }
  double seen_gain() {
    const auto node = Json::parse(ask("GET", "/api/v1/nodes/net-1").body);
    return node.contains("seen") ? node.at("seen").at("settings").at("gain_db").get<double>() : -99;
  }
  catwalk::cli::ClientResponse set_gain(double gain) {
    const std::string path = "/api/v1/nodes/net-1/settings";
    const auto settings = ask("GET", path);
    const auto etag = settings.headers.find("etag");
    return ask("PATCH", path, {{"gain_db", gain}},
               {{"If-Match", etag == settings.headers.end() ? "\"1\"" : etag->second}});
  }

  std::optional<Process> daemon;

 private:
  std::filesystem::path file_;
  std::filesystem::path state_;
  std::filesystem::path log_;
  std::optional<catwalk::cli::Client> client_;
};

}  // namespace

TEST_CASE("a spare beside a running daemon only watches, and has the nodes when it takes over") {
  Rig rig;
  rig.start_daemon();
  REQUIRE(rig.settles("net-1", 2));
  Spare spare{rig};
  REQUIRE(eventually([&] { return spare.rack().at("control") == "watching"; }));
  CHECK(spare.rack().at("watching_because").get<std::string>().find("speaks to net-") !=
        std::string::npos);
  CHECK(spare.ask("GET", "/readyz").status == 503);
  CHECK(spare.set_gain(7).status != 200);
  // The running one goes on, and the spare sees it.
  CHECK(rig.settles("net-1", 4));
  CHECK(eventually([&] { return spare.seen_gain() == 4.0; }));
  CHECK(eventually([&] { return rig.active_alarms().empty(); }));
  // Started again it watches again: it never spoke under the epoch that it took.
  spare.daemon->kill();
  spare.start();
  REQUIRE(eventually([&] { return spare.rack().at("control") == "watching"; }));
  CHECK(rig.settles("net-1", 5));

  rig.daemon->kill();
  const auto taken = spare.ask("POST", "/api/v1/rack/take-over", {{"why", "the first one died"}});
  CHECK(taken.status == 200);
  CHECK(spare.rack().at("control") == "ours");
  CHECK(spare.rack().at("locked") == true);
  CHECK(spare.ask("POST", "/api/v1/rack/unlock", Json::object()).status == 200);
  REQUIRE(eventually([&] { return spare.set_gain(6).status == 200; }));
  CHECK(spare.seen_gain() == 6.0);

  // The first one is back, and leaves them to whoever has them now.
  rig.start_daemon(false);
  REQUIRE(eventually([&] { return rig.get("/rack").body.at("control") == "watching"; }));
  REQUIRE(spare.set_gain(8).status == 200);
  CHECK(eventually([&] {
    const auto node = rig.node("net-1");
    return node.contains("seen") && node.at("seen").at("settings").at("gain_db") == 8.0;
  }));
}

TEST_CASE("a daemon that comes back after a kill has its own nodes at once") {
  Rig rig;
  rig.start_daemon();
  REQUIRE(rig.settles("net-1", 2));
  rig.daemon->kill();
  rig.start_daemon();
  CHECK(rig.get("/rack").body.at("control") == "ours");
  for (const auto* own : {"net-1", "bus-1"})
    CHECK(rig.set(own, {{"gain_db", 3}}).text("outcome") == "settled");
}
