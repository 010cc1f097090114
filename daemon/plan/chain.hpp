// SPDX-License-Identifier: Apache-2.0
#pragma once
// What lies between an antenna and a receiver beside the node: pieces in the order in which the
// signal meets them. All matched; config has checked every range, so that nothing here can fail.

#include <memory>
#include <string>
#include <variant>
#include <vector>

#include "daemon/rf/feed.hpp"

namespace catwalk::plan {

// Good UHF connectors lose near 0.1 dB each; common practice, no source.
inline constexpr rf::Decibel usual_connector_loss = rf::Decibel::of(0.1);

struct CablePiece {
  std::shared_ptr<const rf::CableType> type;          // never null
  rf::Metres length;                                  // 0 to rf::longest_cable_metres
  int connectors = 2;                                 // 0 to 1000
  rf::Decibel connector_loss = usual_connector_loss;  // of each, 0 to 10 dB
  // Types are compared by their figures, not by where they are kept.
  friend bool operator==(const CablePiece& a, const CablePiece& b) {
    return *a.type == *b.type && a.length == b.length && a.connectors == b.connectors &&
           a.connector_loss == b.connector_loss;
  }
};

// Anything whose loss was measured, the same at all frequencies in use: a patch panel, a piece of
// cable, an attenuator.
struct FixedLoss {
  std::string name;
  rf::Decibel loss;  // 0 to 100 dB
  friend bool operator==(const FixedLoss&, const FixedLoss&) = default;
};

// From its common port to one of the others.
struct Splitter {
  std::string name;
  int ways = 2;             // 1 to 64
  rf::Decibel excess_loss;  // beyond 10·lg(ways); 0 to 30 dB
  friend bool operator==(const Splitter&, const Splitter&) = default;
};

// An amplifier in the rack: an active splitter, a line amplifier. One gain, not tuned.
struct RackAmplifier {
  std::string name;
  rf::Decibel gain;          // −30 to 60 dB
  rf::Decibel noise_figure;  // 0 to 40 dB
  rf::PowerLevel output_p1db;
  rf::PowerLevel output_ip3;
  std::optional<rf::PowerLevel> output_ip5 = {};
  friend bool operator==(const RackAmplifier&, const RackAmplifier&) = default;
};

using ChainPart = std::variant<CablePiece, FixedLoss, Splitter, RackAmplifier>;
using Chain = std::vector<ChainPart>;

// "RG-213, 30 m", "4-way splitter"; as it stands in a level budget.
std::string name_of(const ChainPart& part);

}  // namespace catwalk::plan
