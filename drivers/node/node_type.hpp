// SPDX-License-Identifier: Apache-2.0
#pragma once
// What an emulated node can do: the node's own copy of its limits. The types are invented.

#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "protocol/message.hpp"

namespace catwalk::drivers {

struct NodeFilter {
  std::string name;
  // Hz. A step of 0: the filter has no centre to tune, and the centre must be 0.
  std::uint32_t lowest_centre = 0;
  std::uint32_t highest_centre = 0;
  std::uint32_t centre_step = 0;
};

struct AmplifierType {
  // 0.01 dB. Steps count from the lowest gain.
  std::int16_t lowest_gain = 0;
  std::int16_t highest_gain = 0;
  std::int16_t gain_step = 100;
  std::vector<NodeFilter> filters;
};

struct MatrixType {
  std::uint8_t inputs = 1;  // 1 to 32
  std::uint8_t outputs = 1;
  std::uint8_t most_summed = 1;  // inputs that one output may take
  // 0.01 dB. Steps count from the lowest trim; all 0: it has none.
  std::int16_t lowest_trim = 0;
  std::int16_t highest_trim = 0;
  std::int16_t trim_step = 0;
  std::vector<std::uint16_t> supplies_mv = {};  // that an input may give; empty: none
  std::uint16_t most_ma = 0;                    // that an input gives before it lets go
  bool measures_current = false;
  bool measures_level = false;
};

struct NodeType {
  std::string name;
  // mA at the usual 12 V, in circuit and out of it.
  std::uint16_t current_on = 0;
  std::uint16_t current_off = 0;
  std::variant<AmplifierType, MatrixType> can = AmplifierType{};
};

using NodeSettings = std::variant<protocol::Settings, protocol::MatrixSettings>;

// "tern-inline", "gull-integral", "plover-fixed"; "heron-sum" and "dunlin-select" are matrices.
const std::vector<NodeType>& built_in_types();
std::optional<NodeType> built_in_type(std::string_view name);
// "tern-inline, gull-integral, …", for messages.
std::string built_in_type_names();

// Why a node of this type would refuse the settings; nothing if it would take them.
std::optional<protocol::Refusal> refusal_of(const NodeType& type, const NodeSettings& settings);

// Of an amplifier: gain nearest to 0 dB on the steps, the first filter, the middle of its range,
// power on. Of a matrix: nothing routed, no trim and no supply.
NodeSettings factory_settings(const NodeType& type);

}  // namespace catwalk::drivers
