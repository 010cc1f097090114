// SPDX-License-Identifier: Apache-2.0
#pragma once
// Settings between the rack's units and the integers on the wire. Exact in both directions for
// every value that a datasheet can allow: gain fits 16 bits of 0.01 dB, centre 32 bits of Hz.

#include "daemon/plan/device.hpp"
#include "daemon/plan/node_settings.hpp"
#include "protocol/whole.hpp"

namespace catwalk::rack {

protocol::Settings to_wire(const plan::Settings& settings);
protocol::MatrixSettings to_wire(const plan::MatrixSettings& settings);
// What stages these settings, of either kind.
protocol::Ask staged(protocol::Epoch epoch, protocol::Ticket ticket,
                     const plan::NodeSettings& settings);

// What a node shows for a label may be anything: what is no plain text of it shows as "?".
plan::Settings from_wire(const protocol::Settings& settings);
plan::MatrixSettings from_wire(const protocol::MatrixSettings& settings);
plan::NodeSettings settings_of(const protocol::AnyReading& reading);

// Could this be a reading of what the plan has there? Settings of another kind, or of a matrix with
// other sockets, are nothing that anybody can count on.
bool is_of_its_kind(const protocol::AnyReading& reading, const plan::Device& device);

}  // namespace catwalk::rack
