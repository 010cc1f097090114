// SPDX-License-Identifier: Apache-2.0
#include "drivers/node/liar.hpp"

#include <array>
#include <limits>
#include <string_view>
#include <type_traits>

namespace catwalk::drivers {

using protocol::Reading;
using protocol::Reply;

namespace {

// Labels that no person would be shown as they are.
constexpr std::array<std::string_view, 4> labels{"\x1B[2J",
                                                 "\xE2\x80\xAE"
                                                 "stage",
                                                 "\xFF\xFE", "quay\r\nquay"};

}  // namespace

std::uint64_t Liar::any(std::uint64_t last) {
  switch (dice_.below(4)) {
    case 0:
      return 0;
    case 1:
      return last;
    case 2:
      return last / 2 + dice_.below(2);
    default:
      return dice_.below(last);
  }
}

template <class Number>
void Liar::spoil(Number& number) {
  using Bits = std::make_unsigned_t<Number>;
  if (lies()) number = static_cast<Number>(any(std::numeric_limits<Bits>::max()));
}

template <class Telling>
void Liar::spoil_state(Telling& told) {
  auto& telemetry = told.telemetry;
  spoil(telemetry.supply_mv);
  spoil(telemetry.supply_ma);
  spoil(telemetry.temperature_ddegc);
  if constexpr (std::is_same_v<Telling, Reading>) spoil(telemetry.detector_cdbm);
  spoil(telemetry.uptime_s);
  // Now and then only: who has started anew is asked anew who it is.
  if (dice_.below(16) == 0) spoil(telemetry.boots);
  telemetry.powered = lies();
  telemetry.locally_changed = lies();
  telemetry.locating = lies();
  if (dice_.below(4) == 0) spoil(told.epoch.value);
  spoil(told.staged.value);
  spoil(told.applied.value);
}

Reading Liar::instead_of(Reading reading) {
  auto& settings = reading.settings;
  spoil(settings.gain_cdb);
  spoil(settings.filter);
  spoil(settings.centre_hz);
  settings.power = lies();
  if (lies()) settings.label = labels[dice_.below(labels.size())];
  spoil_state(reading);
  return reading;
}

protocol::Part Liar::instead_of(protocol::Part part) {
  if (lies()) spoil(part.settings_number);
  if (lies()) part.of = protocol::PartsOf{static_cast<std::uint8_t>(1 + dice_.below(2))};
  for (auto& byte : part.bytes)
    if (dice_.below(8) == 0) byte = static_cast<std::uint8_t>(any(0xFF));
  if (lies()) {
    part.parts = static_cast<std::uint8_t>(1 + dice_.below(protocol::most_parts));
    part.part = static_cast<std::uint8_t>(dice_.below(part.parts));
    if (part.part + 1 < part.parts) part.bytes.resize(protocol::largest_read_part);
  }
  return part;
}

Reply Liar::operator()(Reply reply) {
  if (dice_.below(16) == 0) return protocol::Wait{static_cast<std::uint8_t>(1 + dice_.below(255))};
  if (dice_.below(16) == 0) {
    const auto reason = 1 + dice_.below(protocol::last_refusal_reason);
    return protocol::Refusal{static_cast<protocol::RefusalReason>(reason),
                             static_cast<std::uint32_t>(any(0xFFFF'FFFF))};
  }
  if (auto* reading = std::get_if<Reading>(&reply)) return instead_of(*reading);
  if (auto* reading = std::get_if<protocol::MatrixReading>(&reply)) {
    spoil(reading->settings_number);
    if (lies())
      reading->settings_parts = static_cast<std::uint8_t>(1 + dice_.below(protocol::most_parts));
    spoil_state(*reading);
  }
  if (auto* part = std::get_if<protocol::Part>(&reply)) return instead_of(*std::move(part));
  if (auto* kind = std::get_if<protocol::Kind>(&reply); kind != nullptr && lies()) {
    *kind = {};
    if (lies())
      *kind = {static_cast<std::uint8_t>(1 + dice_.below(255)), protocol::NodeKind::matrix,
               static_cast<std::uint8_t>(1 + dice_.below(protocol::most_inputs)),
               static_cast<std::uint8_t>(1 + dice_.below(protocol::most_outputs))};
  }
  if (auto* identity = std::get_if<protocol::Identity>(&reply)) {
    if (dice_.below(16) == 0) spoil(identity->boots);
    spoil(identity->firmware);
  }
  if (auto* heard = std::get_if<protocol::ControllerHeard>(&reply)) {
    spoil(heard->epoch.value);
    spoil(heard->ago_ms);
  }
  return reply;
}

}  // namespace catwalk::drivers
