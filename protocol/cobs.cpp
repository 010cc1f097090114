// SPDX-License-Identifier: Apache-2.0
#include "protocol/cobs.hpp"

#include <algorithm>

namespace catwalk::protocol {
namespace {

// A code byte of 0xFF stands for 254 bytes of data with no zero after them.
constexpr std::size_t full_code = 0xFF;

}  // namespace

Bytes cobs_encode(ByteView data) {
  Bytes out;
  out.reserve(data.size() + data.size() / (full_code - 1) + 1);
  std::size_t code_at = 0;
  out.push_back(1);
  for (std::size_t i = 0; i < data.size(); ++i) {
    if (data[i] == 0) {
      code_at = out.size();
      out.push_back(1);
      continue;
    }
    out.push_back(data[i]);
    ++out[code_at];
    // At the very end no new block is begun: a full block needs none after it.
    if (out[code_at] == full_code && i + 1 < data.size()) {
      code_at = out.size();
      out.push_back(1);
    }
  }
  return out;
}

std::optional<Bytes> cobs_decode(ByteView frame) {
  if (frame.empty()) return std::nullopt;
  Bytes out;
  out.reserve(frame.size());
  std::size_t at = 0;
  while (at < frame.size()) {
    const std::size_t code = frame[at];
    if (code == 0 || at + code > frame.size()) return std::nullopt;
    const auto block = frame.subspan(at + 1, code - 1);
    if (std::find(block.begin(), block.end(), std::uint8_t{0}) != block.end()) return std::nullopt;
    out.insert(out.end(), block.begin(), block.end());
    at += code;
    if (code != full_code && at < frame.size()) out.push_back(0);
  }
  return out;
}

}  // namespace catwalk::protocol
