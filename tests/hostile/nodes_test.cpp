// SPDX-License-Identifier: Apache-2.0
// Nodes that lie, strangers with recordings, floods: against a running daemon, over real sockets.
// What is promised of the other nodes and to the people at the rack holds throughout.
#include <doctest/doctest.h>

#include <fcntl.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <limits>
#include <random>
#include <utility>

#include "protocol/codec.hpp"
#include "tests/hostile/played_net.hpp"
#include "tests/support/rig.hpp"

using namespace catwalk;
using namespace catwalk::test;
using protocol::NodeUid;

namespace {

constexpr std::uint32_t out_of_reach = std::numeric_limits<std::uint32_t>::max() - 1;

protocol::Key rig_key() { return *protocol::Key::from_bytes(protocol::Bytes(32, 0x55)); }

NodeUid uid_of(const std::string& node) { return *NodeUid::parse(Rig::uid(node)); }

// "udp 127.0.0.1:47311" in what a node process has said.
std::uint16_t port_in(const std::string& output) {
  const std::string mark = "127.0.0.1:";
  const auto at = output.find(mark);
  REQUIRE(at != std::string::npos);
  return static_cast<std::uint16_t>(std::stoi(output.substr(at + mark.size())));
}

// A rig whose UDP nodes are found at this port.
void put_net_at(Rig& rig, std::uint16_t port) {
  rig.edit_rack([&](Json& rack) {
    for (auto& node : rack["nodes"])
      if (node.contains("endpoint")) node["endpoint"] = "127.0.0.1:" + std::to_string(port);
  });
}

void give_show_with_settings(Rig& rig) {
  Json settings = Json::object();
  for (const auto* node : {"bus-1", "bus-2", "net-1", "net-2"})
    settings[node] = {{"gain_db", 2}, {"filter", "slide-40"}, {"centre_mhz", 585}, {"power", true}};
  rig.write_show(
      {{"name", "test"},
       {"segments",
        {Rig::segment("speeches", 585, settings), Rig::segment("finale", 585, settings)}}});
}

struct PlayedRig {
  PlayedRig() {
    give_show_with_settings(rig);
    rig.net->kill();
    put_net_at(rig, net.port());
    rig.start_daemon();
  }
  Rig rig;
  PlayedNet net{rig_key(), {uid_of("net-1"), uid_of("net-2")}, "tern-inline"};
};

// All that looks at a node, or at all of them. Each has to be answered, and none may be a fault.
void look_at_everything(Rig& rig) {
  for (const auto* path :
       {"/rack", "/nodes", "/nodes/net-1", "/nodes/net-1/settings", "/nodes/net-1/explain",
        "/nodes/bus-1/explain", "/nodes/net-1/allowed", "/nodes/net-1/response", "/spectrum",
        "/segments", "/segments/finale/check", "/segments/finale/preview",
        "/segments/speeches/preview", "/running-order", "/alarms", "/lines"}) {
    CAPTURE(path);
    CHECK(rig.get(path).status < 500);
  }
  CHECK(rig.send("POST", "/nodes/net-1/what-if", {{"gain_db", 3}}).status < 500);
}

// A daemon whose log goes into a pipe that the test may close.
class PipedDaemon {
 public:
  explicit PipedDaemon(const std::string& rack_file) {
    std::array<int, 2> ends{};
    if (::pipe2(ends.data(), O_CLOEXEC) != 0) return;
    log_.emplace(ends[0]);
    posix_spawn_file_actions_t actions{};
    ::posix_spawn_file_actions_init(&actions);
    ::posix_spawn_file_actions_adddup2(&actions, ends[1], STDOUT_FILENO);
    ::posix_spawn_file_actions_adddup2(&actions, ends[1], STDERR_FILENO);
    std::vector<std::string> words{CATWALKD, "--port", "0", rack_file};
    std::vector<char*> arguments;
    for (auto& word : words) arguments.push_back(word.data());
    arguments.push_back(nullptr);
    if (::posix_spawn(&pid_, CATWALKD, &actions, nullptr, arguments.data(), environ) != 0)
      pid_ = -1;
    ::posix_spawn_file_actions_destroy(&actions);
    ::close(ends[1]);
    find_port();
  }
  PipedDaemon(const PipedDaemon&) = delete;
  PipedDaemon& operator=(const PipedDaemon&) = delete;
  ~PipedDaemon() {
    if (pid_ > 0) ::kill(pid_, SIGKILL), ::waitpid(pid_, nullptr, 0);
  }

  std::uint16_t port() const { return port_; }
  void close_its_log() { log_.reset(); }
  // Asks it to end. Its exit status; 128 and more: a signal has ended it.
  int end() {
    ::kill(pid_, SIGTERM);
    int status = 0;
    ::waitpid(std::exchange(pid_, -1), &status, 0);
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
  }

 private:
  // It says where it listens, or its log ends.
  void find_port() {
    const std::string mark = "http://127.0.0.1:";
    std::string said;
    std::array<char, 256> some{};
    for (;;) {
      const auto at = said.find(mark);
      if (at != std::string::npos && said.find('\n', at) != std::string::npos) {
        port_ = static_cast<std::uint16_t>(std::stoi(said.substr(at + mark.size())));
        return;
      }
      const auto count = ::read(log_->number(), some.data(), some.size());
      if (count <= 0) return;
      said.append(some.data(), static_cast<std::size_t>(count));
    }
  }

  std::optional<Handle> log_;
  pid_t pid_ = -1;
  std::uint16_t port_ = 0;
};

// What a stranger makes of datagrams that he has recorded, without the key: some bits turned, an
// end cut off or put on, or nothing but noise.
class Forger {
 public:
  explicit Forger(std::vector<protocol::Bytes> recorded) : recorded_{std::move(recorded)} {}
  protocol::Bytes next() {
    protocol::Bytes bytes = recorded_[below(recorded_.size())];
    switch (below(4)) {
      case 0:
        bytes.resize(below(bytes.size()));
        break;
      case 1:
        for (auto n = 1 + below(64); n > 0; --n) bytes.push_back(byte());
        break;
      case 2:
        for (auto& one : bytes) one = byte();
        break;
      default:
        for (auto n = 1 + below(4); n > 0; --n)
          bytes[below(bytes.size())] ^= static_cast<std::uint8_t>(1U << below(8));
    }
    return bytes;
  }

 private:
  std::size_t below(std::size_t end) { return random_() % end; }
  std::uint8_t byte() { return static_cast<std::uint8_t>(random_()); }
  std::vector<protocol::Bytes> recorded_;
  std::mt19937 random_{7};
};

// A counter of the line "net", as /metrics has it.
std::uint64_t total(const Rig& rig, const std::string& name) {
  cli::Client client{
      {"127.0.0.1", std::to_string(rig.daemon_port())}, {}, std::chrono::seconds{20}};
  const auto answer = client.request("GET", "/metrics");
  REQUIRE(answer);
  const std::string mark = "catwalk_line_" + name + "_total{line=\"net\"} ";
  const auto at = answer->body.find(mark);
  REQUIRE(at != std::string::npos);
  return static_cast<std::uint64_t>(std::stod(answer->body.substr(at + mark.size())));
}

struct Shown {
  std::int16_t gain_cdb;
  std::uint8_t filter;
  std::uint32_t centre_hz;
  bool power;
  std::string label;
};

// Datagrams that were none of a node, or none of now.
std::uint64_t turned_down(const Rig& rig) {
  return total(rig, "forged") + total(rig, "malformed") + total(rig, "replayed") +
         total(rig, "unexpected");
}

// In the end: that one was missed once is told to be over.
bool answers_without_alarm(Rig& rig, const std::vector<std::string>& nodes) {
  return std::ranges::all_of(nodes, [&](const std::string& node) {
    return eventually(
        [&] { return rig.is(node, "link", "answering") && !rig.has_alarm("silent " + node); });
  });
}

}  // namespace

TEST_CASE("a node may show any value of the wire, and everything goes on") {
  PlayedRig played;
  auto& rig = played.rig;
  for (const auto& [gain, filter, centre, power, label] :
       std::vector<Shown>{{0, 0, 0, true, ""},
                          {0, 0, 19'999'999, true, ""},
                          {0, 0, 4'294'967'295, true, ""},
                          {0, 255, 585'000'000, true, ""},
                          {32'767, 0, 585'000'000, true, ""},
                          {-32'768, 0, 585'000'000, true, ""},
                          {32'767, 255, 4'294'967'295, false, ""},
                          {1, 1, 1, true, "\x1B[2J\xE2\x80\xAE"},
                          {0, 0, 585'000'000, true, "\xFF\xFE"}}) {
    CAPTURE(gain);
    CAPTURE(filter);
    CAPTURE(centre);
    auto reading = played.net.shown(uid_of("net-1"));
    reading.settings = {gain, filter, centre, power, label};
    played.net.show(uid_of("net-1"), reading);
    const auto shows = [&, the_gain = gain, the_power = power] {
      const auto seen = rig.node("net-1").at("seen").at("settings");
      return seen.at("gain_db") == the_gain / 100.0 && seen.at("power") == the_power;
    };
    REQUIRE(eventually(shows));
    look_at_everything(rig);
    // To the segment's settings, the lying node included; it obeys, as far as it says.
    const auto gone =
        rig.send("POST", "/switch",
                 {{"segment", "finale"}, {"waiver", {{"who", "ana"}, {"reason", "a test"}}}});
    CHECK(gone.status < 500);
    REQUIRE(rig.daemon->running());
  }
  CHECK(rig.settles("bus-1", 4));
  CHECK(rig.settles("net-2", 4));
}

TEST_CASE("a node of another type than the file says ends nothing") {
  Rig rig;
  give_show_with_settings(rig);
  rig.bus->kill();
  rig.bus = std::make_unique<Process>(
      CATWALK_NODE,
      std::vector<std::string>{"--pty", "--link", rig.file("state/bus").string(), "--node",
                               Rig::uid("bus-1") + "@1,type=plover-fixed", "--node",
                               Rig::uid("bus-2") + "@2,type=tern-inline"},
      rig.file("bus.log"));
  rig.start_daemon();
  REQUIRE(eventually([&] { return rig.has_alarm("wrong-type bus-1"); }));
  look_at_everything(rig);
  (void)rig.send("POST", "/switch", {{"segment", "finale"}});
  CHECK(rig.get("/segments/finale/recommend").status == 200);
  CHECK(rig.settles("bus-2", 4));
}

TEST_CASE("what is asked right after the start, before anything was read, is answered") {
  Rig rig;
  give_show_with_settings(rig);
  rig.edit_rack([](Json& rack) {
    rack["receivers"][0]["branches"] = Json::array({Json::array({"bus-1", "net-1"})});
  });
  rig.start_daemon(false);
  for (const auto* path : {"/segments/finale/recommend", "/segments/finale/check", "/spectrum",
                           "/segments/finale/preview"})
    CHECK(rig.get(path).status < 500);
  CHECK(rig.daemon->running());
}

TEST_CASE(
    "a node that reads an epoch out of reach is a fault of its own, and a take-over keeps off") {
  PlayedRig played;
  auto& rig = played.rig;
  auto reading = played.net.shown(uid_of("net-1"));
  reading.epoch.value = out_of_reach;
  played.net.show(uid_of("net-1"), reading);
  REQUIRE(eventually([&] { return rig.has_alarm("epoch-out-of-reach net-1"); }));
  CHECK_FALSE(rig.has_alarm("other-controller net-1"));
  CHECK(rig.send("POST", "/rack/take-over", {{"why", "a test"}}).status == 200);
  CHECK(rig.get("/rack").body.at("epoch").get<std::uint32_t>() < out_of_reach / 2);
  CHECK(rig.settles("bus-1", 4));
  CHECK(rig.settles("net-2", 4));
  // The way back: it obeys, and the alarm goes.
  reading.epoch.value = 0;
  played.net.lie(
      [&](NodeUid uid, const protocol::Request& request) -> std::optional<protocol::Reply> {
        const auto* reclaim = std::get_if<protocol::Reclaim>(&request);
        if (reclaim == nullptr || uid != uid_of("net-1")) return std::nullopt;
        return protocol::Done{};
      });
  CHECK(rig.run({"reclaim", "net-1", "--why", "its memory was mended"}).status == 0);
}

TEST_CASE("a real node that was told an epoch out of reach is reclaimed, and obeys again") {
  Rig rig;
  rig.start_daemon();
  // Something with the key has told it.
  const Mailbox mailbox;
  const auto net_port = port_in(rig.net->output());
  const protocol::Envelope envelope{protocol::Direction::to_node, uid_of("net-1"), out_of_reach, 1,
                                    1};
  const auto claim = [&](std::uint32_t boots) {
    auto addressed = envelope;
    addressed.peer_session = boots;
    addressed.counter = boots + 1;
    return protocol::seal(
        addressed, protocol::encode({{{}, 9}, protocol::Request{protocol::Store{{out_of_reach}}}}),
        rig_key());
  };
  const auto boots = rig.node("net-1").at("seen").at("telemetry").at("boots").get<std::uint32_t>();
  mailbox.send(net_port, claim(boots));
  REQUIRE(eventually([&] { return rig.has_alarm("epoch-out-of-reach net-1"); }));
  CHECK(rig.set("net-1", {{"gain_db", 4}}).status >= 400);
  const auto ran = rig.run({"reclaim", "net-1", "--why", "told so by a test"});
  CAPTURE(ran.output);
  CHECK(ran.status == 0);
  REQUIRE(eventually([&] { return !rig.has_alarm("epoch-out-of-reach net-1"); }));
  REQUIRE(eventually([&] { return rig.is("net-1", "link", "answering"); }));
  CHECK(rig.settles("net-1", 4));
}

TEST_CASE("a line's key that has leaked opens no node that has a key of its own") {
  Rig rig;
  const auto own_key = rig.file("state/net-1.key");
  std::ofstream{own_key} << std::string(64, '7') << '\n';
  std::filesystem::permissions(own_key, std::filesystem::perms::owner_read);
  rig.net->kill();
  const auto type = std::string{",type=tern-inline"};
  rig.net = std::make_unique<Process>(
      CATWALK_NODE,
      std::vector<std::string>{"--udp", "127.0.0.1:0", "--key-file",
                               rig.file("state/net.key").string(), "--node",
                               Rig::uid("net-1") + type + ",key-file=" + own_key.string(), "--node",
                               Rig::uid("net-2") + type},
      rig.file("net.log"));
  REQUIRE(eventually([&] { return rig.net->output().find("ready") != std::string::npos; }));
  const auto port = port_in(rig.net->output());
  put_net_at(rig, port);
  rig.edit_rack([](Json& rack) {
    for (auto& node : rack["nodes"])
      if (node["name"] == "net-1") node["key_file"] = "net-1.key";
  });
  rig.start_daemon();
  CHECK(rig.settles("net-1", 4));

  const auto ask = [&](const std::string& node, protocol::Request request) {
    const protocol::Envelope envelope{protocol::Direction::to_node, uid_of(node), out_of_reach, 1,
                                      1};
    const Mailbox thief;  // another each time: reports to the one before are no answer
    thief.send(
        port, protocol::seal(envelope, protocol::encode({{{}, 1}, std::move(request)}), rig_key()));
    return thief.receive(2'000).has_value();
  };
  // The one without is open to whoever has the key of the line; the other does not even answer.
  CHECK(ask("net-2", protocol::Read{}));
  CHECK_FALSE(ask("net-1", protocol::Read{}));
  CHECK_FALSE(ask("net-1", protocol::Store{{out_of_reach}}));
  CHECK(rig.settles("net-1", 5));
  CHECK(rig.run({"discover", "net"}).output.find(Rig::uid("net-1")) != std::string::npos);
}

TEST_CASE("recordings of before a restart, sent from elsewhere, neither move nor silence a node") {
  Rig rig;
  const Tap tap{port_in(rig.net->output())};
  put_net_at(rig, tap.port());
  rig.start_daemon();
  REQUIRE(eventually([&] { return tap.from_nodes().size() > 2 * 62; }, std::chrono::seconds{60}));
  const auto recorded = tap.from_nodes();
  rig.daemon->signal(SIGTERM);
  REQUIRE(rig.daemon->wait() == 0);

  rig.start_daemon(false);
  const Mailbox stranger;
  for (int round = 0; round < 50; ++round) {
    for (const auto& old : recorded) stranger.send(tap.daemon_port(), old);
    CHECK(rig.get("/nodes/net-1").status == 200);
  }
  REQUIRE(eventually([&] {
    return rig.is("net-1", "link", "answering") && rig.is("net-2", "link", "answering");
  }));
  for (int round = 0; round < 20; ++round) {
    for (const auto& old : recorded) stranger.send(tap.daemon_port(), old);
    CHECK(rig.set("net-1", {{"gain_db", round % 2}}).text("outcome") == "settled");
  }
  // They were seen for what they are, every one that found room in the socket.
  CHECK(eventually([&] { return turned_down(rig) > 0; }));
  CHECK(answers_without_alarm(rig, {"net-1", "net-2"}));
}

// CATWALK_DATAGRAMS says how many; the default suits a test.
TEST_CASE("a flood of forged datagrams is counted, and changes go on") {
  const char* asked = std::getenv("CATWALK_DATAGRAMS");
  const std::uint64_t wanted = asked == nullptr ? 50'000 : std::stoull(asked);
  Rig rig;
  const Tap tap{port_in(rig.net->output())};
  put_net_at(rig, tap.port());
  rig.start_daemon();
  REQUIRE(eventually([&] { return tap.from_nodes().size() > 8; }, std::chrono::seconds{60}));
  const auto recorded = tap.from_nodes();
  std::atomic<std::uint64_t> sent{0};
  std::thread flood{[&] {
    const Mailbox stranger;
    Forger forger{recorded};
    for (; sent < wanted; ++sent) stranger.send(tap.daemon_port(), forger.next());
  }};
  std::uint64_t changes = 0;
  std::uint64_t again = 0;
  do {
    CHECK(rig.settles("bus-1", static_cast<double>(changes % 2), &again));
    CHECK(rig.settles("net-1", static_cast<double>(changes % 2), &again));
    ++changes;
  } while (sent < wanted);
  flood.join();
  REQUIRE(rig.daemon->running());
  // What finds no room in the socket is lost before anybody can count it; and figures are up to
  // half a second old.
  CHECK(eventually([&] { return turned_down(rig) > sent / 100; }));
  std::cout << sent << " forged datagrams, " << turned_down(rig) << " of them counted; beside them "
            << 2 * changes << " changes, " << again << " of them not at the first try\n";
  CHECK(answers_without_alarm(rig, {"bus-1", "bus-2", "net-1", "net-2"}));
}

TEST_CASE("a node that flaps is named, and costs the others nothing that they notice") {
  PlayedRig played;
  auto& rig = played.rig;
  std::atomic<bool> over{false};
  std::atomic<int> sent{0};
  std::thread flapping{[&] {
    // 400 a second, each with another gain.
    while (!over) {
      auto reading = played.net.shown(uid_of("net-1"));
      reading.settings.gain_cdb = static_cast<std::int16_t>(100 * (sent % 5));
      played.net.show(uid_of("net-1"), reading);
      if (played.net.report(uid_of("net-1"))) ++sent;
      std::this_thread::sleep_for(std::chrono::microseconds{2'500});
    }
  }};
  REQUIRE(eventually([&] { return rig.has_alarm("babbling net-1"); }));
  for (int i = 0; i < 20; ++i) CHECK(rig.settles("bus-1", i % 2));
  CHECK(eventually([&] { return sent > 2'000; }, std::chrono::seconds{60}));
  over = true;
  flapping.join();
  // Reports by the thousand left rows by the dozen.
  const auto rows = rig.get("/journal?node=net-1&limit=1000").body.at("entries").size();
  CHECK(rows < static_cast<std::size_t>(sent) / 10);
  CHECK(eventually([&] { return !rig.has_alarm("babbling net-1"); }, std::chrono::seconds{60}));
}

TEST_CASE("a log that nobody reads any more ends no daemon") {
  Rig rig;
  PipedDaemon daemon{rig.file("rack.json").string()};
  REQUIRE(daemon.port() != 0);
  const auto get = [&](const std::string& path) {
    return ask_http(daemon.port(), "GET /api/v1" + path +
                                       " HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n");
  };
  const auto link_is = [&](const std::string& link) {
    return get("/nodes/net-1").body.find("\"link\":\"" + link + '"') != std::string::npos;
  };
  REQUIRE(eventually([&] { return link_is("answering"); }));
  daemon.close_its_log();
  // Each is a line in the log: a node falls silent, and the files are read again.
  rig.net->kill();
  REQUIRE(eventually([&] { return link_is("silent"); }));
  CHECK(ask_http(daemon.port(),
                 "POST /api/v1/rack/reload HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: "
                 "application/json\r\nContent-Length: 2\r\nConnection: close\r\n\r\n{}")
            .status == 200);
  CHECK(get("/rack").status == 200);
  CHECK(daemon.end() == 0);
}
