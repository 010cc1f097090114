// SPDX-License-Identifier: Apache-2.0
// The same targets for libFuzzer, one program each: CATWALK_FUZZ_TARGET names it.

#include <cstddef>
#include <cstdint>

#include "tests/fuzz/byte_targets.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  for (const auto& target : catwalk::fuzz::targets()) {
    if (target.name == CATWALK_FUZZ_TARGET) target.run({data, size});
  }
  return 0;
}
