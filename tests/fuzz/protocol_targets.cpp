// SPDX-License-Identifier: Apache-2.0
// protocol/ and what stands right behind it. "packet": codec. "frame": frame reader, a node's bus
// and the serial engine behind it. "datagram": envelope; and, under a good HMAC, a node and the
// datagram engine.
#include <algorithm>
#include <cstdio>
#include <cstdlib>

#include "drivers/bus/bus_engine.hpp"
#include "drivers/datagrams/datagram_engine.hpp"
#include "drivers/node/node_on_bus.hpp"
#include "drivers/node/node_on_datagrams.hpp"
#include "protocol/codec.hpp"
#include "protocol/datagram.hpp"
#include "protocol/frame.hpp"
#include "protocol/matrix_codec.hpp"
#include "tests/fuzz/byte_targets.hpp"
#include "tests/support/random_packet.hpp"

namespace catwalk::fuzz {
namespace {

using namespace protocol;
using drivers::TimePoint;

void promise(bool kept, const char* what) {
  if (kept) return;
  std::fprintf(stderr, "broken: %s\n", what);
  std::abort();
}

const NodeUid node_uid{0x7a10, 0x2f};
const TimePoint noon{std::chrono::hours{12}};

Key fuzz_key() { return *Key::from_bytes(Bytes(32, 0x42)); }

drivers::EmulatedNode make_node() {
  drivers::NodeConfig config;
  config.uid = node_uid;
  config.type = *drivers::built_in_type("tern-inline");
  return {config, drivers::factory_memory(config, Address{5}), noon};
}

// ---- packet ------------------------------------------------------------------------------------

void run_parts(ByteView input) {
  if (const auto settings = decode_matrix_settings(input, Labels::any)) {
    promise(encode(*settings) == Bytes(input.begin(), input.end()),
            "settings that were taken are written back as the same bytes");
  } else {
    promise(settings.error().offset <= input.size(), "a refusal points into the settings");
  }
  if (const auto inputs = decode_inputs(input))
    promise(encode(*inputs) == Bytes(input.begin(), input.end()),
            "inputs that were taken are written back as the same bytes");
}

void run_packet(ByteView input) {
  run_parts(input);
  const auto decoded = decode(input);
  if (decoded) {
    const Bytes again = encode(*decoded);
    promise(std::equal(again.begin(), again.end(), input.begin(), input.end()),
            "a packet that was taken is written back as the same bytes");
    return;
  }
  promise(!decoded.error().sentence.empty(), "a refusal has a sentence");
  promise(decoded.error().offset <= input.size(), "a refusal points into the packet");
}

std::vector<Bytes> packet_seeds() {
  test::RandomPackets packets{1};
  std::vector<Bytes> out;
  for (std::size_t kind = 0; kind < test::RandomPackets::kinds; ++kind) {
    for (int i = 0; i < 3; ++i) out.push_back(encode(packets.of_kind(kind)));
  }
  for (int i = 0; i < 3; ++i) {
    out.push_back(encode(packets.matrix_settings()));
    out.push_back(encode(packets.inputs()));
  }
  return out;
}

// ---- frame -------------------------------------------------------------------------------------

std::vector<Bytes> packets_in(FrameReader& reader, ByteView bytes, std::size_t piece) {
  std::vector<Bytes> out;
  while (!bytes.empty()) {
    const auto part = bytes.first(std::min(piece, bytes.size()));
    reader.feed(part, [&](ByteView packet) { out.emplace_back(packet.begin(), packet.end()); });
    bytes = bytes.subspan(part.size());
  }
  return out;
}

void run_frame(ByteView input) {
  FrameReader whole;
  FrameReader pieces;
  const auto packets = packets_in(whole, input, input.size() + 1);
  promise(packets == packets_in(pieces, input, 1), "pieces make no difference");
  promise(whole.faults() == pieces.faults(), "pieces make no difference to the faults");
  for (const Bytes& packet : packets) {
    promise(packet.size() <= longest_packet, "no packet is longer than the longest");
    FrameReader again;
    promise(packets_in(again, to_frame(packet), 7) == std::vector<Bytes>{packet},
            "a packet that was read is read again from its own frame");
  }

  auto node = make_node();
  drivers::NodeOnBus on_bus{node};
  for (const Bytes& answer : on_bus.feed(input, noon)) {
    FrameReader reader;
    const auto answers = packets_in(reader, answer, answer.size());
    promise(answers.size() == 1 && decode(answers.front()), "a node's answer is well formed");
  }

  drivers::BusConfig config;
  config.nodes = {{node_uid, Address{5}}};
  drivers::BusEngine engine{config};
  TimePoint now = noon;
  engine.up(now);
  for (int round = 0; round < 3; ++round) {
    engine.received(input, now);
    const auto next = engine.deadline();
    promise(next.has_value(), "a line that is up has something to do");
    now = std::max(now, *next);
    engine.tick(now);
    static_cast<void>(engine.take());
  }
}

std::vector<Bytes> frame_seeds() {
  std::vector<Bytes> out;
  Bytes all;
  for (const Bytes& packet : packet_seeds()) {
    out.push_back(to_frame(packet));
    all.insert(all.end(), out.back().begin(), out.back().end());
  }
  // What the engine under test asks for first, answered.
  out.push_back(to_frame(
      encode({{Address{5}, 0}, Reply{Identity{node_uid, Address{5}, 1, 0x0100, "tern-inline"}}})));
  out.push_back(to_frame(encode({{Address{5}, 0}, Request{Read{}}})));
  out.push_back(to_frame(encode({{Address{5}, 1}, Request{Apply{{1}, {1}}}})));
  all.resize(std::min<std::size_t>(all.size(), 600));
  out.push_back(all);
  return out;
}

// ---- datagram ----------------------------------------------------------------------------------

// Puts a good HMAC under whatever comes, so that the fuzzer gets past it.
Bytes signed_by_us(ByteView input) {
  Bytes out(input.begin(), input.end());
  const FullMac mac = hmac_sha256(fuzz_key().bytes(), out);
  out.insert(out.end(), mac.begin(), mac.begin() + mac_size);
  return out;
}

void run_datagram(ByteView input) {
  const Key key = fuzz_key();
  for (const Direction direction : {Direction::to_node, Direction::to_controller}) {
    promise(!open(input, direction, key) || input.size() >= shortest_datagram,
            "nothing shorter than the shortest is opened");
    const Bytes good = signed_by_us(input);
    const auto opened = open(good, direction, key);
    if (!opened) continue;
    promise(seal(opened->envelope, opened->packet, key) == good,
            "what was opened is sealed as the same bytes");
  }

  const Bytes good = signed_by_us(input);
  auto node = make_node();
  drivers::NodeOnDatagrams side{node, key, noon};
  for (int times = 0; times < 2; ++times) {
    const auto heard = side.receive(good, noon);
    if (!heard.reply) continue;
    const auto reply = open(*heard.reply, Direction::to_controller, key);
    promise(reply && decode(reply->packet), "a node's answer is well formed");
  }

  drivers::DatagramConfig config{.nodes = {{node_uid, Endpoint{{}, 7000}}}, .key = key};
  config.epoch = 7;
  drivers::DatagramEngine engine{config};
  engine.up(noon);
  engine.discover(noon);
  engine.received(good, Endpoint{{}, 7001}, noon);
  engine.received(good, Endpoint{{}, 7002}, noon);
  engine.received(input, Endpoint{{}, 7003}, noon);
  promise(engine.counters().frames_received <= 1,
          "the same datagram is not taken twice, nor one without a good HMAC");
  engine.tick(noon + std::chrono::seconds{1});
}

std::vector<Bytes> datagram_seeds() {
  std::vector<Bytes> out;
  for (const Bytes& packet : packet_seeds()) {
    const bool request = is_request_type(packet[3]);
    const Envelope envelope{request ? Direction::to_node : Direction::to_controller, node_uid,
                            request ? 7U : 1U, request ? 1U : 7U, 1};
    Bytes bytes = seal(envelope, packet, fuzz_key());
    bytes.erase(bytes.end() - static_cast<std::ptrdiff_t>(mac_size), bytes.end());
    out.push_back(std::move(bytes));
  }
  return out;
}

}  // namespace

const std::vector<Target>& targets() {
  static const std::vector<Target> all = {{"packet", run_packet, packet_seeds},
                                          {"frame", run_frame, frame_seeds},
                                          {"datagram", run_datagram, datagram_seeds}};
  return all;
}

}  // namespace catwalk::fuzz
