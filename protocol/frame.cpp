// SPDX-License-Identifier: Apache-2.0
#include "protocol/frame.hpp"

#include "protocol/cobs.hpp"
#include "protocol/crc16.hpp"

namespace catwalk::protocol {
namespace {

constexpr std::size_t crc_size = 2;

}  // namespace

Bytes to_frame(ByteView packet) {
  Bytes data(packet.begin(), packet.end());
  put(data, crc16(packet), crc_size);
  Bytes frame = cobs_encode(data);
  frame.push_back(0);
  return frame;
}

void FrameReader::feed(ByteView bytes, const Sink& sink) {
  for (const std::uint8_t byte : bytes) {
    if (byte == 0) {
      end_of_frame(sink);
      continue;
    }
    if (skipping_) continue;
    if (held_.size() == longest_frame - 1) {
      skipping_ = true;
      ++faults_.too_long;
      held_.clear();
      continue;
    }
    held_.push_back(byte);
  }
}

void FrameReader::reset() {
  held_.clear();
  skipping_ = false;
}

void FrameReader::end_of_frame(const Sink& sink) {
  const bool skipped = skipping_;
  const Bytes frame = std::move(held_);
  reset();
  if (skipped || frame.empty()) return;
  const auto data = cobs_decode(frame);
  if (!data) {
    ++faults_.stuffing;
    return;
  }
  if (data->size() <= crc_size) {
    ++faults_.too_short;
    return;
  }
  const ByteView packet = ByteView{*data}.first(data->size() - crc_size);
  if (crc16(packet) != get(*data, packet.size(), crc_size)) {
    ++faults_.crc;
    return;
  }
  sink(packet);
}

}  // namespace catwalk::protocol
