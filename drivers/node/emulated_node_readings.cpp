// SPDX-License-Identifier: Apache-2.0
// EmulatedNode, continued: what it says of itself.

#include <algorithm>
#include <cmath>

#include "drivers/node/emulated_node.hpp"
#include "protocol/discovery.hpp"
#include "protocol/matrix_codec.hpp"

namespace catwalk::drivers {

using protocol::Refusal;
using protocol::RefusalReason;
using protocol::Reply;

namespace {

// Small changes that look like a living node, the same in every run.
double ripple(protocol::NodeUid uid, std::chrono::duration<double> at, double period_s) {
  constexpr double tau = 6.283185307179586;
  const double phase = static_cast<double>(protocol::mixed(uid) & 0xFFFF) / 65536.0;
  return std::sin(tau * (at.count() / period_s + phase));
}

}  // namespace

protocol::Telemetry EmulatedNode::telemetry(Moment now) const {
  const std::chrono::duration<double> up = now - started_;
  protocol::Telemetry t;
  const auto* amplifier = std::get_if<protocol::Settings>(&in_force_);
  const bool works = powered_ && (amplifier == nullptr || amplifier->power);
  const double load = works ? config_.type.current_on : config_.type.current_off;
  t.supply_ma = powered_ ? static_cast<std::uint16_t>(
                               std::lround(load * (1.0 + 0.01 * ripple(config_.uid, up, 7))))
                         : std::uint16_t{0};
  // What is fed to it, less the drop over some 3 ohms of feed cable.
  t.supply_mv = powered_ ? static_cast<std::uint16_t>(std::lround(
                               supply_mv_ - 3.0 * t.supply_ma + 15.0 * ripple(config_.uid, up, 11)))
                         : std::uint16_t{0};
  // Warms up by 12 degrees in the first minutes.
  const double warm = works ? 12.0 * (1.0 - std::exp(-up.count() / 120.0)) : 1.0;
  t.temperature_ddegc = static_cast<std::int16_t>(
      std::lround(10.0 * (24.0 + warm + 0.3 * ripple(config_.uid, up, 90))));
  t.uptime_s = static_cast<std::uint32_t>(std::max(0.0, up.count()));
  t.boots = memory_.boots;
  t.powered = powered_;
  t.locally_changed = locally_changed_;
  t.locating = is_locating(now);
  return t;
}

template <class AReading>
AReading EmulatedNode::begun(Moment now) const {
  AReading reading;
  reading.epoch = memory_.epoch;
  if (staged_) reading.staged = staged_->ticket;
  if (applied_) reading.applied = applied_->ticket;
  reading.telemetry = telemetry(now);
  return reading;
}

protocol::Reading EmulatedNode::reading(Moment now) const {
  auto reading = begun<protocol::Reading>(now);
  reading.settings = settings();
  const std::chrono::duration<double> up = now - started_;
  reading.telemetry.detector_cdbm = static_cast<std::int16_t>(
      std::clamp(static_cast<long>(detector_cdbm_) + std::lround(20 * ripple(config_.uid, up, 3)),
                 -32'768L, 32'767L));
  return reading;
}

protocol::MatrixReading EmulatedNode::matrix_reading(Moment now) const {
  auto reading = begun<protocol::MatrixReading>(now);
  reading.settings_number = settings_number_;
  reading.settings_parts = static_cast<std::uint8_t>(
      protocol::parts_of(protocol::encode(matrix_settings()).size(), protocol::largest_read_part));
  return reading;
}

Reply EmulatedNode::now_reading(Moment now) const {
  return is_matrix() ? Reply{matrix_reading(now)} : Reply{reading(now)};
}

Reply EmulatedNode::report(Moment now) {
  const auto truly = now_reading(now);
  const auto told = mouth_ ? mouth_(truly) : truly;
  const auto& said = told.index() == truly.index() ? told : truly;
  if (const auto* of_matrix = std::get_if<protocol::MatrixReading>(&said))
    return protocol::MatrixReport{*of_matrix};
  return protocol::Report{std::get<protocol::Reading>(said)};
}

Reply EmulatedNode::kind() const {
  protocol::Kind kind;
  if (const auto* matrix = std::get_if<MatrixType>(&config_.type.can))
    kind = {1, protocol::NodeKind::matrix, matrix->inputs, matrix->outputs};
  return kind;
}

Reply EmulatedNode::read_part(const protocol::ReadPart& request) const {
  if (!is_matrix()) return Refusal{RefusalReason::unknown_message};
  const auto bytes = request.of == protocol::PartsOf::inputs ? protocol::encode(measured_)
                                                             : protocol::encode(matrix_settings());
  const auto parts = protocol::parts_of(bytes.size(), protocol::largest_read_part);
  if (request.part >= parts)
    return Refusal{RefusalReason::part_unknown, static_cast<std::uint32_t>(parts)};
  return protocol::Part{request.of, settings_number_, request.part,
                        static_cast<std::uint8_t>(parts),
                        protocol::part_of(bytes, request.part, protocol::largest_read_part)};
}

}  // namespace catwalk::drivers
