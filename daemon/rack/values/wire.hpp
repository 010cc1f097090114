// SPDX-License-Identifier: Apache-2.0
#pragma once
// Settings between the rack's units and the integers on the wire. Exact in both directions for
// every value that a datasheet can allow: gain fits 16 bits of 0.01 dB, centre 32 bits of Hz.

#include "daemon/base/text.hpp"
#include "daemon/plan/settings.hpp"
#include "protocol/values.hpp"

namespace catwalk::rack {

inline protocol::Settings to_wire(const plan::Settings& settings) {
  return {static_cast<std::int16_t>(settings.gain.centidecibels()), settings.filter,
          static_cast<std::uint32_t>(settings.centre.hertz()), settings.power, settings.label};
}

// What a node shows for a label may be anything: what is no plain text of it shows as "?".
inline plan::Settings from_wire(const protocol::Settings& settings) {
  return {rf::Gain::centidecibels(settings.gain_cdb), settings.filter,
          rf::Frequency::hertz(settings.centre_hz), settings.power,
          made_plain(settings.label, "?")};
}

}  // namespace catwalk::rack
