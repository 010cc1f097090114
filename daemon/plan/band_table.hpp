// SPDX-License-Identifier: Apache-2.0
#pragma once
// A region's published bands for wireless audio: information with a source and a date, never
// advice.

#include <string>
#include <vector>

#include "daemon/rf/units.hpp"

namespace catwalk::plan {

enum class BandStatus { open, restricted, closed, check_with_regulator };
std::string_view name_of(BandStatus status);

struct BandRow {
  std::string id;
  rf::Band band;
  BandStatus status = BandStatus::check_with_regulator;
  std::string use;
  std::string licence;
  std::string source;
  std::string as_of;
  friend bool operator==(const BandRow&, const BandRow&) = default;
};

struct BandTable {
  std::string region;
  std::vector<BandRow> rows;
  friend bool operator==(const BandTable&, const BandTable&) = default;
};

}  // namespace catwalk::plan
