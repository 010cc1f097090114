// SPDX-License-Identifier: Apache-2.0
#pragma once
// legal-band and protected-band: what the table of the region has published about the spectrum that
// carriers use. Never a permission: a table that says nothing is said to say nothing, and the
// regulator decides.

#include <span>
#include <vector>

#include "daemon/plan/rack_plan.hpp"
#include "daemon/rack/values/verdict.hpp"

namespace catwalk::rack {

// Cautions: a carrier in a closed row, in no row at all, or stronger than the rows allow. Refused:
// a carrier in a row that protects another service. No findings where the region is unknown: then
// nothing is known. `node` is whom the findings name; empty for those about a segment.
std::vector<Finding> check_bands(const plan::BandTable& bands,
                                 std::span<const plan::Carrier* const> carriers,
                                 const plan::NodeName& node);

// A note for each row that carriers lie in and that has conditions: a licence, or a source that was
// not read in full ("check with the regulator").
std::vector<Finding> band_conditions(const plan::BandTable& bands,
                                     std::span<const plan::Carrier* const> carriers);

}  // namespace catwalk::rack
