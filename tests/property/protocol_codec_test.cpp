// SPDX-License-Identifier: Apache-2.0
#include <doctest/doctest.h>

#include "protocol/cobs.hpp"
#include "protocol/codec.hpp"
#include "protocol/datagram.hpp"
#include "protocol/frame.hpp"
#include "protocol/parts.hpp"
#include "tests/support/random_packet.hpp"

using namespace catwalk;
using namespace catwalk::protocol;
using test::RandomPackets;

namespace {

// Refused with a reason, or a packet that is written back as the same bytes.
bool refused_or_exact(ByteView bytes) {
  const auto decoded = decode(bytes);
  if (!decoded) {
    return !decoded.error().sentence.empty() && decoded.error().offset <= bytes.size();
  }
  const Bytes again = encode(*decoded);
  return std::equal(again.begin(), again.end(), bytes.begin(), bytes.end());
}

}  // namespace

TEST_CASE("every message with random content comes back as it went, 10000 times each") {
  RandomPackets packets{20261};
  for (std::size_t kind = 0; kind < RandomPackets::kinds; ++kind) {
    CAPTURE(kind);
    std::size_t good = 0;
    for (int i = 0; i < 10'000; ++i) {
      const Packet packet = packets.of_kind(kind);
      const Bytes bytes = encode(packet);
      const auto back = decode(bytes);
      if (back && *back == packet && bytes.size() <= longest_packet) ++good;
    }
    CHECK(good == 10'000);
  }
}

TEST_CASE("settings and measurements of a matrix come back from their parts as they went") {
  RandomPackets packets{20267};
  for (int i = 0; i < 10'000; ++i) {
    const auto settings = packets.matrix_settings();
    const auto bytes = encode(settings);
    REQUIRE(bytes.size() <= largest_matrix_settings);
    Parts parts;
    const auto count = static_cast<std::uint8_t>(parts_of(bytes.size(), largest_staged_part));
    for (std::uint8_t part = 0; part < count; ++part)
      REQUIRE(
          parts.add(part, count, largest_staged_part, part_of(bytes, part, largest_staged_part)));
    REQUIRE(parts.complete());
    REQUIRE(decode_matrix_settings(parts.bytes(), Labels::plain).value() == settings);
    const auto inputs = packets.inputs();
    REQUIRE(decode_inputs(encode(inputs)).value() == inputs);
  }
}

TEST_CASE("settings of a matrix with a byte changed are refused, or taken exactly") {
  RandomPackets packets{20268};
  for (int i = 0; i < 20'000; ++i) {
    auto bytes = encode(packets.matrix_settings());
    bytes[packets.dice().below(bytes.size())] = static_cast<std::uint8_t>(i);
    if (i % 3 == 0) bytes.resize(packets.dice().below(bytes.size() + 1));
    const auto decoded = decode_matrix_settings(bytes, Labels::any);
    if (decoded)
      REQUIRE(encode(*decoded) == bytes);
    else
      REQUIRE(decoded.error().offset <= bytes.size());
  }
}

TEST_CASE("every packet cut short is refused, at every length") {
  RandomPackets packets{20262};
  for (std::size_t kind = 0; kind < RandomPackets::kinds; ++kind) {
    for (int i = 0; i < 200; ++i) {
      const Bytes bytes = encode(packets.of_kind(kind));
      for (std::size_t length = 0; length < bytes.size(); ++length) {
        const auto decoded = decode(ByteView{bytes}.first(length));
        REQUIRE_FALSE(decoded);
        const ParseCode code = decoded.error().code;
        REQUIRE((code == ParseCode::too_short || code == ParseCode::length_wrong));
      }
    }
  }
}

TEST_CASE("every packet with a byte too many is refused") {
  RandomPackets packets{20263};
  for (int i = 0; i < 20'000; ++i) {
    Bytes bytes = encode(packets.any());
    bytes.push_back(static_cast<std::uint8_t>(i));
    const auto decoded = decode(bytes);
    REQUIRE_FALSE(decoded);
    const ParseCode code = decoded.error().code;
    REQUIRE((code == ParseCode::trailing_bytes || code == ParseCode::too_long));
  }
}

TEST_CASE("every value of every byte of a packet is refused with a reason, or taken exactly") {
  RandomPackets packets{20264};
  for (std::size_t kind = 0; kind < RandomPackets::kinds; ++kind) {
    for (int i = 0; i < 10; ++i) {
      Bytes bytes = encode(packets.of_kind(kind));
      for (std::size_t at = 0; at < bytes.size(); ++at) {
        const std::uint8_t right = bytes[at];
        for (int value = 0; value < 256; ++value) {
          bytes[at] = static_cast<std::uint8_t>(value);
          REQUIRE(refused_or_exact(bytes));
        }
        bytes[at] = right;
      }
    }
  }
}

TEST_CASE("noise is refused with a reason, or taken exactly") {
  drivers::Dice dice{20265};
  for (int i = 0; i < 200'000; ++i) {
    Bytes bytes(dice.below(70));
    for (auto& byte : bytes) byte = static_cast<std::uint8_t>(dice.below(256));
    if (bytes.size() > 3 && dice.below(2) == 0) {
      bytes[0] = 1;
      bytes[1] = 5;
      bytes[3] = static_cast<std::uint8_t>(1 + dice.below(11));
    }
    REQUIRE(refused_or_exact(bytes));
  }
}

TEST_CASE("COBS gives back what it was given, holds no zero, and grows by its bound only") {
  drivers::Dice dice{20266};
  for (int i = 0; i < 3'000; ++i) {
    Bytes data(dice.below(1'200));
    const std::uint64_t zeros = 1 + dice.below(300);
    for (auto& byte : data) {
      byte = dice.below(zeros) == 0 ? std::uint8_t{0} : static_cast<std::uint8_t>(dice.below(256));
    }
    const Bytes stuffed = cobs_encode(data);
    REQUIRE(std::count(stuffed.begin(), stuffed.end(), 0) == 0);
    REQUIRE(stuffed.size() <= data.size() + 1 + data.size() / 254);
    REQUIRE(cobs_decode(stuffed) == data);
  }
}

TEST_CASE(
    "a frame reader finds every whole frame in a stream, in pieces of any size, noise between") {
  RandomPackets packets{20267};
  drivers::Dice& dice = packets.dice();
  for (int round = 0; round < 300; ++round) {
    std::vector<Bytes> sent;
    Bytes stream;
    for (int i = 0; i < 20; ++i) {
      if (dice.below(3) == 0) {
        for (std::uint64_t n = dice.below(200); n > 0; --n) {
          stream.push_back(static_cast<std::uint8_t>(1 + dice.below(255)));
        }
        stream.push_back(0);  // noise ends at the next zero at the latest
      }
      sent.push_back(encode(packets.any()));
      const Bytes frame = to_frame(sent.back());
      stream.insert(stream.end(), frame.begin(), frame.end());
    }
    std::vector<Bytes> heard;
    FrameReader reader;
    ByteView rest{stream};
    while (!rest.empty()) {
      const auto piece = rest.first(std::min<std::size_t>(1 + dice.below(40), rest.size()));
      reader.feed(piece,
                  [&](ByteView packet) { heard.emplace_back(packet.begin(), packet.end()); });
      rest = rest.subspan(piece.size());
    }
    REQUIRE(heard == sent);
    REQUIRE_FALSE(reader.mid_frame());
  }
}

// The CRC alone does not do it: where the frame ends in 01 00 (the CRC's low byte is zero) and the
// 01 is spoilt into a zero, the rest is a good frame again, one byte short. The codec's exact
// lengths do.
TEST_CASE("a frame with any one bit wrong is never taken for a message") {
  RandomPackets packets{20268};
  std::size_t past_the_crc = 0;
  for (int round = 0; round < 2'000; ++round) {
    const Bytes frame = to_frame(encode(packets.any()));
    for (std::size_t bit = 0; bit < frame.size() * 8; ++bit) {
      Bytes wrong = frame;
      wrong[bit / 8] = static_cast<std::uint8_t>(wrong[bit / 8] ^ (1U << (bit % 8)));
      FrameReader reader;
      reader.feed(wrong, [&](ByteView packet) {
        ++past_the_crc;
        REQUIRE_FALSE(decode(packet));
      });
    }
  }
  CHECK(past_the_crc > 0);  // or the sentence above is wrong
  CHECK(past_the_crc < 20);
}

TEST_CASE("a datagram with any one bit wrong is refused") {
  RandomPackets packets{20269};
  const auto key = Key::from_bytes(Bytes(32, 0x5A));
  for (int round = 0; round < 100; ++round) {
    const Bytes packet = encode(packets.any());
    const Envelope envelope{Direction::to_node, NodeUid{0x7a10, 5}, 7, 3, 99};
    const Bytes sealed = seal(envelope, packet, *key);
    const auto opened = open(sealed, Direction::to_node, *key);
    REQUIRE(opened);
    REQUIRE(*opened == Datagram{envelope, packet});
    for (std::size_t bit = 0; bit < sealed.size() * 8; ++bit) {
      Bytes wrong = sealed;
      wrong[bit / 8] = static_cast<std::uint8_t>(wrong[bit / 8] ^ (1U << (bit % 8)));
      REQUIRE_FALSE(open(wrong, Direction::to_node, *key));
    }
  }
}
