// SPDX-License-Identifier: Apache-2.0
#pragma once
// What is fuzzed of protocol/ and of what stands right behind it. Each target aborts on a broken
// promise; memory errors are the sanitizers' business.

#include <cstdint>
#include <string_view>
#include <vector>

#include "protocol/bytes.hpp"

namespace catwalk::fuzz {

struct Target {
  std::string_view name;
  void (*run)(protocol::ByteView input);
  // Valid inputs to begin with.
  std::vector<protocol::Bytes> (*seeds)();
};

// "packet": codec. "frame": frame reader, a node's bus and the serial engine behind it.
// "datagram": envelope; and, under a good HMAC, a node and the datagram engine.
const std::vector<Target>& targets();

}  // namespace catwalk::fuzz
