// SPDX-License-Identifier: Apache-2.0
#pragma once
// What an emulated node can do: the node's own copy of its limits. The types are invented.

#include <cstdint>
#include <optional>
#include <string>
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

struct NodeType {
  std::string name;
  // 0.01 dB. Steps count from the lowest gain.
  std::int16_t lowest_gain = 0;
  std::int16_t highest_gain = 0;
  std::int16_t gain_step = 100;
  std::vector<NodeFilter> filters;
  // mA at the usual 12 V, with the amplifier in circuit and out of it.
  std::uint16_t current_on = 0;
  std::uint16_t current_off = 0;
};

// "tern-inline", "gull-integral" and "plover-fixed".
const std::vector<NodeType>& built_in_types();
std::optional<NodeType> built_in_type(std::string_view name);
// "tern-inline, gull-integral, plover-fixed", for messages.
std::string built_in_type_names();

// Why a node of this type would refuse the settings; nothing if it would take them.
std::optional<protocol::RefusalReason> refusal_of(const NodeType& type,
                                                  const protocol::Settings& settings);

// Gain nearest to 0 dB on the steps, the first filter, the middle of its range, power on.
protocol::Settings factory_settings(const NodeType& type);

}  // namespace catwalk::drivers
