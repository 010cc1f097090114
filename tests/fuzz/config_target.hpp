// SPDX-License-Identifier: Apache-2.0
#pragma once
// One input of the configuration fuzzers: the first byte chooses which file of the demo is replaced
// by the rest. Aborts if the loader breaks its promise; crashes by itself if it breaks worse.

#include <cstddef>
#include <cstdint>

namespace catwalk::config {

void load_one(const std::uint8_t* data, std::size_t size);

}  // namespace catwalk::config
