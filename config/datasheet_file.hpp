// SPDX-License-Identifier: Apache-2.0
#pragma once
// A datasheet file: one node type. Its schema is schemas/datasheet.schema.json.

#include <optional>

#include "config/reader.hpp"
#include "daemon/plan/datasheet.hpp"

namespace catwalk::config {

// What the wire can carry bounds every datasheet (protocol/PROTOCOL.md): type names of 24 bytes,
// frequencies in 32 bits of hertz, filters counted in 8 bits.
constexpr std::size_t longest_type = 24;
constexpr rf::Frequency lowest_node_frequency = rf::Frequency::kilohertz(1'000);
constexpr rf::Frequency highest_node_frequency = rf::Frequency::kilohertz(4'200'000);
constexpr std::size_t most_filters = 32;
constexpr rf::Gain lowest_any_gain = rf::Gain::centidecibels(-6000);
constexpr rf::Gain highest_any_gain = rf::Gain::centidecibels(6000);

// Nothing if anything is wrong with it; what is wrong has been reported.
std::optional<plan::Datasheet> read_datasheet(const Cursor& root);

// What a node says of itself on the wire, so that it fits there too. Nothing: reported.
std::optional<std::string> read_type(const Cursor& at);

// The type alone, of a file that may be wrong otherwise; empty if it has none
// that is well formed. Reports nothing.
std::string type_of(const Cursor& root);

}  // namespace catwalk::config
