// SPDX-License-Identifier: Apache-2.0
#pragma once
// What lies between antenna and receiver, as a rack file lists it: "lead" and "feed" of a node,
// "chain" of a receiver's branch.

#include <memory>
#include <variant>
#include <vector>

#include "config/cable_file.hpp"
#include "config/reader.hpp"
#include "daemon/plan/rack_plan.hpp"

namespace catwalk::config {

constexpr std::size_t most_chain_parts = 32;

// A cable that stands in some chain, and who hears through it.
struct CableUse {
  Cursor at;
  std::shared_ptr<const rf::CableType> type;  // never null
  std::variant<plan::NodeName, plan::ReceiverName> on;
};

// The parts as far as they could be read; what is wrong with the rest has been reported. Of an
// absent member none. Cables are added to `uses`, as being on nobody yet.
plan::Chain read_chain(const Cursor& at, const Cables& cables, std::vector<CableUse>& uses);

// Microphones must be heard through cables whose figures hold at their frequencies: a cable that is
// asked beyond them is reported, once, with the carrier. Transmitters, and microphones that others
// hear, may lie anywhere: their level at such a receiver is computed at the nearest frequency.
void check_cable_ranges(const std::vector<CableUse>& uses, const plan::RackPlan& plan);

}  // namespace catwalk::config
