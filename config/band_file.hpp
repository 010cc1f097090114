// SPDX-License-Identifier: Apache-2.0
#pragma once
// A band file: what has been published for one region. Its schema is schemas/bands.schema.json.

#include "config/reader.hpp"
#include "daemon/plan/band_table.hpp"

namespace catwalk::config {

// The rows that could be read; what is wrong with the others has been reported.
plan::BandTable read_bands(const Cursor& root);

}  // namespace catwalk::config
