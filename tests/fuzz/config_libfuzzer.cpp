// SPDX-License-Identifier: Apache-2.0
// For clang's libFuzzer: coverage-guided, without end. Seeds: the files under config/.
#include "tests/fuzz/config_target.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  catwalk::config::load_one(data, size);
  return 0;
}
