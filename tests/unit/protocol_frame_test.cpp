// SPDX-License-Identifier: Apache-2.0
#include <doctest/doctest.h>

#include "protocol/frame.hpp"

using namespace catwalk::protocol;

namespace {

std::vector<Bytes> read_all(FrameReader& reader, ByteView bytes) {
  std::vector<Bytes> packets;
  reader.feed(bytes, [&](ByteView packet) { packets.emplace_back(packet.begin(), packet.end()); });
  return packets;
}

const Bytes whole_packet{1, 5, 0, 2};

}  // namespace

TEST_CASE("a frame that comes byte by byte is read when its zero comes") {
  const Bytes frame = to_frame(whole_packet);
  FrameReader reader;
  for (std::size_t i = 0; i + 1 < frame.size(); ++i) {
    CHECK(read_all(reader, ByteView{frame}.subspan(i, 1)).empty());
    CHECK(reader.mid_frame());
  }
  CHECK(read_all(reader, ByteView{frame}.last(1)) == std::vector<Bytes>{whole_packet});
  CHECK_FALSE(reader.mid_frame());
  CHECK(reader.faults().total() == 0);
}

TEST_CASE("zeros in a row are no fault") {
  FrameReader reader;
  CHECK(read_all(reader, Bytes(10, 0)).empty());
  CHECK(reader.faults() == FrameFaults{});
}

TEST_CASE("each fault is counted for what it is, and the next frame is read all the same") {
  const Bytes frame = to_frame(whole_packet);
  const auto after = [&](Bytes noise) {
    FrameReader reader;
    noise.insert(noise.end(), frame.begin(), frame.end());
    CHECK(read_all(reader, noise) == std::vector<Bytes>{whole_packet});
    return reader.faults();
  };
  CHECK(after({9, 1, 2, 0}) == FrameFaults{.stuffing = 1});
  CHECK(after({3, 0x29, 0xB1, 0}) == FrameFaults{.too_short = 1});
  CHECK(after({5, 1, 2, 3, 4, 0}) == FrameFaults{.crc = 1});
  Bytes endless(1000, 7);
  endless.push_back(0);
  CHECK(after(endless) == FrameFaults{.too_long = 1});
}

TEST_CASE("the longest frame is read, one byte more is not") {
  FrameReader reader;
  const Bytes longest(longest_packet, 0x11);
  CHECK(to_frame(longest).size() == longest_frame);
  CHECK(read_all(reader, to_frame(longest)) == std::vector<Bytes>{longest});
  CHECK(read_all(reader, to_frame(Bytes(longest_packet + 1, 0x11))).empty());
  CHECK(reader.faults() == FrameFaults{.too_long = 1});
}
