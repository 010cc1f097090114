// SPDX-License-Identifier: Apache-2.0
#pragma once
// A packet on a serial line:
//
//   COBS( packet | CRC-16 of the packet, high byte first ) | 0x00
//
// The zero ends the frame and is never inside it, so a reader is in step again at the next zero
// whatever it missed.

#include <cstdint>
#include <functional>

#include "protocol/bytes.hpp"
#include "protocol/codec.hpp"

namespace catwalk::protocol {

// Code byte and delimiter around packet and CRC. The data stay below 254 bytes: one code byte.
constexpr std::size_t frame_overhead = 4;
constexpr std::size_t longest_frame = longest_packet + frame_overhead;

// Delimiter included.
Bytes to_frame(ByteView packet);

// Frames that gave no packet, by what was wrong. Each only grows.
struct FrameFaults {
  std::uint64_t too_long = 0;   // no zero within longest_frame bytes
  std::uint64_t stuffing = 0;   // not COBS
  std::uint64_t too_short = 0;  // less than a CRC and a byte
  std::uint64_t crc = 0;        // CRC does not match

  std::uint64_t total() const { return too_long + stuffing + too_short + crc; }
  friend bool operator==(const FrameFaults&, const FrameFaults&) = default;
};

// Takes bytes as they come, in pieces of any size, and holds at most longest_frame of them. Empty
// frames (zeros in a row) are no fault: a sender may begin with a zero to end noise on the line.
class FrameReader {
 public:
  using Sink = std::function<void(ByteView packet)>;

  // The sink is called for each whole frame with a good CRC; its view is valid during the call. It
  // must not call back into the reader.
  void feed(ByteView bytes, const Sink& sink);

  // Forgets a frame that has begun.
  void reset();

  // Bytes of a frame that has not ended yet are waiting (or being skipped).
  bool mid_frame() const { return skipping_ || !held_.empty(); }

  const FrameFaults& faults() const { return faults_; }

 private:
  void end_of_frame(const Sink& sink);

  Bytes held_;
  bool skipping_ = false;  // too long: everything up to the next zero is dropped
  FrameFaults faults_;
};

}  // namespace catwalk::protocol
