// SPDX-License-Identifier: Apache-2.0
#pragma once
// Numbers by which things are spoken of. Whoever needs one needs no more than this.

#include <cstdint>

namespace catwalk::rack {

// Chosen by whoever asks; every request is answered exactly once under its own (answer.hpp).
using RequestId = std::uint64_t;
using RecordId = std::uint64_t;
// Changes, switches and the steps of switches count together: each number is used once.
using ChangeId = std::uint64_t;
// Never used again.
using AlarmId = std::uint64_t;
// Chosen by the core.
using WayId = std::uint64_t;
using CommandId = std::uint64_t;

}  // namespace catwalk::rack
