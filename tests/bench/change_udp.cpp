// SPDX-License-Identifier: Apache-2.0
// A change over UDP from the request to the answer that it was read back, against the round trips
// that it needs: one over HTTP, to a bare Beast server with an answer of the same size, and three
// over UDP (stage, apply, read), to a node like the one that is changed, asked by a plain blocking
// client. One after the other, in one run. The journal's commit is part of the change and of no
// round trip; it is told beside, and so is what a datagram takes that is only sent back.
#include <fstream>
#include <nlohmann/json.hpp>

#include "daemon/store/journal.hpp"
#include "protocol/codec.hpp"
#include "protocol/datagram.hpp"
#include "tests/bench/bench.hpp"
#include "tests/bench/raw_change.hpp"
#include "tests/support/raw_socket.hpp"
#include "tests/support/rig.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

constexpr std::size_t datagram_size = 90;  // a reading with a short label, sealed
constexpr int udp_round_trips = 3;

// Asks a node what a change asks, with nothing between the bytes and the socket.
class BareController {
 public:
  BareController(std::uint16_t port, protocol::NodeUid node, protocol::Key key)
      : port_{port}, node_{node}, key_{std::move(key)} {
    ask(protocol::Identify{});  // the answer tells the node's session
  }

  void change(std::int16_t gain_cdb) {
    protocol::Settings settings = reading_.settings;
    settings.gain_cdb = gain_cdb;
    ask(protocol::Stage{epoch, {++ticket_}, settings});
    ask(protocol::Apply{epoch, {ticket_}});
    read();
    if (reading_.settings != settings) throw std::runtime_error{"the node took no change"};
  }

  void read() { reading_ = std::get<protocol::Reading>(ask(protocol::Read{})); }

 private:
  static constexpr protocol::Epoch epoch{1};

  protocol::Reply ask(protocol::Request request) {
    const auto packet = protocol::encode({{{}, ++sequence_}, std::move(request)});
    const auto sealed = protocol::seal(
        {protocol::Direction::to_node, node_, epoch.value, session_, ++counter_}, packet, key_);
    udp_.send(port_, {reinterpret_cast<const char*>(sealed.data()), sealed.size()});
    for (;;) {
      const auto bytes = udp_.receive(1'000);
      if (!bytes) throw std::runtime_error{"the node does not answer"};
      const auto* first = reinterpret_cast<const std::uint8_t*>(bytes->data());
      const auto datagram =
          protocol::open({first, bytes->size()}, protocol::Direction::to_controller, key_);
      if (!datagram) throw std::runtime_error{"the node's answer is forged"};
      session_ = datagram->envelope.session;
      const auto answer = protocol::decode(datagram->packet);
      if (!answer) throw std::runtime_error{answer.error().sentence};
      if (answer->header.sequence != sequence_) continue;  // a report between
      auto reply = std::get<protocol::Reply>(answer->message);
      if (std::holds_alternative<protocol::Refusal>(reply)) throw std::runtime_error{"refused"};
      return reply;
    }
  }

  UdpClient udp_;
  std::uint16_t port_;
  protocol::NodeUid node_;
  protocol::Key key_;
  std::uint32_t session_ = 0;
  std::uint32_t counter_ = 0;
  std::uint16_t ticket_ = 0;
  std::uint8_t sequence_ = 0;
  protocol::Reading reading_;
};

// Microseconds that the intent of one change takes until it is durable, in the folder where the
// daemon keeps its; once the write-ahead log has its full size and is used again, as the daemon's
// is by then.
double commit_time(const std::filesystem::path& folder, int times) {
  auto journal = store::Journal::open(folder / "bench.sqlite");
  if (!journal) throw std::runtime_error{journal.error().sentence};
  std::vector<double> all;
  for (int i = 0; i < 2 * times; ++i) {
    rack::Record record;
    record.entries.push_back({});
    record.entries.front().node = "net-1";
    record.entries.front().change = static_cast<rack::ChangeId>(i) + 1;
    record.entries.front().what = "gain +0 dB, slide-40 at 585.000 MHz → gain +1 dB";
    const auto node = protocol::NodeUid{0x7a10, 0x301};
    record.writes = {rack::KeepWanted{node, {{}, static_cast<std::uint64_t>(i) + 1}},
                     rack::KeepUnfinished{{record.entries.front().change, node, {}, {}}}};
    const std::vector<rack::Record> one{record};
    const auto time = time_of([&] { static_cast<void>(journal.value().keep(one)); });
    if (i >= times) all.push_back(1e6 * time.count());
  }
  return median(all);
}

int measure(const BenchOptions& options) {
  Rig rig;
  rig.start_daemon();
  TcpClient daemon{rig.daemon_port()};
  auto etag = rig.get("/nodes/net-1/settings").etag;

  RawResponse answer;
  int gain = 0;
  const auto change = [&] {
    gain = 1 - gain;
    daemon.say(patch(gain, etag));
    answer = daemon.response();
    etag = answer.header("etag");
    if (answer.status != 200 || answer.body.find("\"settled\"") == std::string::npos)
      throw std::runtime_error{"not settled: " + answer.body};
  };
  // The store answers when it has written what it was given before: the fate of the last change.
  const auto settle_journal = [&] {
    daemon.say("GET /api/v1/journal?limit=1 HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n");
    if (daemon.response().status != 200) throw std::runtime_error{"no journal"};
  };
  change();

  std::ofstream{rig.file("answer"), std::ios::binary}
      << "HTTP/1.1 200 OK\r\nContent-Type: application/json\r\nContent-Length: "
      << answer.body.size() << "\r\n\r\n"
      << answer.body;
  Served bare{BARE_SERVER, {rig.file("answer").string()}, rig.file("bare.log"), "ready "};
  Served echo{UDP_ECHO, {}, rig.file("echo.log"), "ready "};
  TcpClient bare_client{bare.port()};
  Served other_node{
      CATWALK_NODE,
      {"--udp", "127.0.0.1:0", "--key-file", rig.file("state/net.key").string(), "--state",
       rig.file("other.nodes").string(), "--node", Rig::uid("net-9") + ",type=tern-inline"},
      rig.file("other.log"),
      "127.0.0.1:"};
  BareController node{other_node.port(), *protocol::NodeUid::parse(Rig::uid("net-9")),
                      *protocol::Key::from_hex(std::string(64, '5'))};
  node.read();
  UdpClient udp;
  const std::string datagram(datagram_size, 'x');
  const auto http_round_trip = [&] {
    bare_client.say(patch(gain, etag));
    if (bare_client.response().status != 200) throw std::runtime_error{"no answer"};
  };
  const auto round_trips = [&] {
    http_round_trip();
    node.change(static_cast<std::int16_t>(100 * gain));
  };
  const auto echoes = [&] {
    http_round_trip();
    for (int i = 0; i < udp_round_trips; ++i) {
      udp.send(echo.port(), datagram);
      if (!udp.receive(1'000)) throw std::runtime_error{"no echo"};
    }
  };

  std::vector<double> changes;
  std::vector<double> trips;
  std::vector<double> http_trips;
  std::vector<double> echo_trips;
  for (int round = 0; round < options.rounds(1'000, 20); ++round) {
    trips.push_back(1e6 * time_of(round_trips).count());
    http_trips.push_back(1e6 * time_of(http_round_trip).count());
    echo_trips.push_back(1e6 * time_of(echoes).count());
    settle_journal();
    changes.push_back(1e6 * time_of(change).count());
  }
  const auto commit = commit_time(rig.file("state"), options.rounds(600, 20));
  const int status = judge("change over UDP, request to read-back answer", {"change", changes},
                           {"1 HTTP + 3 UDP round trips", trips}, 3.0, "us", options);
  tell("the HTTP round trip of it", median(http_trips), "us");
  tell("1 HTTP round trip + 3 datagrams sent back", median(echo_trips), "us");
  tell("the change against those", median(changes) / median(echo_trips), "times", 2);
  tell("one commit of an intent, within the change", commit, "us");
  tell("99th percentile of the change", quantile(changes, 0.99), "us");
  return status;
}

}  // namespace

int main(int argc, char** argv) { return run_bench(argc, argv, measure); }
