// SPDX-License-Identifier: Apache-2.0
#pragma once
// The values that travel between controller and node. Exact integers only: 0.01 dB, Hz, mV, mA.
// Ranges here are those of the wire; what a given node accepts is its datasheet's business.

#include <array>
#include <compare>
#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "daemon/base/setting.hpp"
#include "daemon/base/uid.hpp"

namespace catwalk::protocol {

using catwalk::NodeUid;

// Which controller speaks. A node obeys the highest epoch it has ever heard and refuses lower ones,
// so two controllers can never fight over a grid.
struct Epoch {
  std::uint32_t value = 0;
  friend constexpr auto operator<=>(const Epoch&, const Epoch&) = default;
};

// Names one staged set of settings. Zero means "none".
struct Ticket {
  std::uint32_t value = 0;
  friend constexpr auto operator<=>(const Ticket&, const Ticket&) = default;
};

// A node's short address on a serial line.
struct Address {
  std::uint8_t value = 0;

  static constexpr std::uint8_t first = 1;
  static constexpr std::uint8_t last = 247;
  static constexpr Address broadcast() { return {0}; }
  static constexpr Address unassigned() { return {255}; }
  constexpr bool is_assignable() const { return value >= first && value <= last; }

  friend constexpr auto operator<=>(const Address&, const Address&) = default;
};

// The first 16 bytes of an HMAC-SHA-256 (RFC 2104, FIPS 180-4; datagram.hpp).
using Proof = std::array<std::uint8_t, 16>;

using catwalk::longest_label;
constexpr std::size_t longest_type = 24;  // bytes of ASCII: names the datasheet

struct Settings {
  std::int16_t gain_cdb = 0;    // 0.01 dB
  std::uint8_t filter = 0;      // index into the datasheet's list of filters
  std::uint32_t centre_hz = 0;  // Hz; 0 for a filter that has no centre to tune
  bool power = true;            // false: amplifier and filter switched out, a plain passive antenna
  std::string label;            // at most longest_label bytes

  friend bool operator==(const Settings&, const Settings&) = default;
};

struct Telemetry {
  std::uint16_t supply_mv = 0;         // mV at the node's terminals
  std::uint16_t supply_ma = 0;         // mA drawn
  std::int16_t temperature_ddegc = 0;  // 0.1 °C
  std::int16_t detector_cdbm = 0;      // 0.01 dBm, total power at the amplifier's input
  std::uint32_t uptime_s = 0;          // seconds since the node started
  std::uint32_t boots = 0;             // starts in the node's life; also its session in datagrams
  bool powered = true;                 // false: the supply is gone, the node is passive
  bool locally_changed = false;        // the last change was made by hand at the node
  bool locating = false;               // the lamp blinks

  friend bool operator==(const Telemetry&, const Telemetry&) = default;
};

// Settings and telemetry as one reply: what the node is doing now.
struct Reading {
  Epoch epoch;     // highest controller epoch the node has heard
  Ticket staged;   // waiting to be applied; zero if nothing is
  Ticket applied;  // the last ticket that was applied; zero after a start
  Settings settings;
  Telemetry telemetry;

  friend bool operator==(const Reading&, const Reading&) = default;
};

// ---- of a matrix, the unit in the rack that antennas end in ------------------------------------

constexpr std::size_t most_inputs = 32;
constexpr std::size_t most_outputs = 32;

struct MatrixInput {
  std::int16_t trim_cdb = 0;    // 0.01 dB
  std::uint16_t supply_mv = 0;  // mV that it feeds up the cable; 0: none
  std::string label;            // at most longest_label bytes
  friend bool operator==(const MatrixInput&, const MatrixInput&) = default;
};

struct MatrixSettings {
  std::vector<std::uint32_t> outputs;  // the inputs that each takes; bit 0 stands for input 1
  std::vector<MatrixInput> inputs;
  std::string label;  // of the unit, at most longest_label bytes
  friend bool operator==(const MatrixSettings&, const MatrixSettings&) = default;
};

// What a matrix does now, but for its settings: those are asked for in parts where their number is
// another than before.
struct MatrixReading {
  Epoch epoch;
  Ticket staged;
  Ticket applied;
  Telemetry telemetry;                // a matrix has no detector: 0
  std::uint16_t settings_number = 0;  // another whenever the settings in force have changed
  std::uint8_t settings_parts = 1;    // 1 to most_parts
  friend bool operator==(const MatrixReading&, const MatrixReading&) = default;
};

// What an input finds at its socket.
struct InputMeasured {
  bool measures_current = false;
  bool measures_level = false;
  bool limited = false;         // it would give more current than it may, and has let go
  std::uint16_t supply_ma = 0;  // mA; 0 if it does not measure
  std::int16_t level_cdbm = 0;  // 0.01 dBm, all that comes in; likewise
  friend bool operator==(const InputMeasured&, const InputMeasured&) = default;
};

}  // namespace catwalk::protocol
