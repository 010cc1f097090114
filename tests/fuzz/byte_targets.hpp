// SPDX-License-Identifier: Apache-2.0
#pragma once
// Fuzz targets that take bytes. Each aborts on a broken promise; memory errors are the sanitizers'
// business. A fuzz program links the targets of one room.

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

// Those of the room; its file of targets says what each is.
const std::vector<Target>& targets();

}  // namespace catwalk::fuzz
