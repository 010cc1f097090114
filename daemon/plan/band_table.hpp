// SPDX-License-Identifier: Apache-2.0
#pragma once
// A region's published bands for wireless audio: information with a source and a date, never
// advice.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/plan/position.hpp"
#include "daemon/rf/units.hpp"

namespace catwalk::plan {

enum class BandStatus { open, restricted, closed, check_with_regulator };
std::string_view name_of(BandStatus status);

// How what stands in a table was come by. Only what was read in the text named is called published.
enum class BandBasis { not_said, read, read_in_part, secondary, memory };
std::string_view name_of(BandBasis basis);  // "read in part", "from memory"

// How a published power limit is measured. e.i.r.p. is 2.15 dB more than e.r.p.
enum class PowerKind { conducted, erp, eirp };
std::string_view name_of(PowerKind kind);

struct BandPower {
  double milliwatts = 0.0;
  PowerKind kind = PowerKind::conducted;
  BandBasis basis = BandBasis::not_said;  // of the figure, which may not be that of its row
  friend bool operator==(const BandPower&, const BandPower&) = default;
};

// Where a row holds that does not hold in the whole region.
struct BandArea {
  std::string name;  // "Boston MA"
  Position centre;
  double radius_km = 0.0;            // around it, 0.1 to 2000
  std::vector<rf::Band> bands = {};  // what of the row holds there, each within it; empty: all
  friend bool operator==(const BandArea&, const BandArea&) = default;
};

struct BandRow {
  std::string id;
  rf::Band band;
  BandStatus status = BandStatus::check_with_regulator;
  std::string use;
  std::string licence;
  std::string source;
  std::string as_of;
  std::optional<BandPower> power = {};  // nothing: not published, or not with its kind
  std::string note = {};
  std::string protects = {};  // a service that must not be disturbed: "radio astronomy"
  BandBasis basis = BandBasis::not_said;
  std::vector<BandArea> areas = {};  // empty: the row holds everywhere
  friend bool operator==(const BandRow&, const BandRow&) = default;
};

struct BandTable {
  std::string region;
  std::vector<BandRow> rows;
  std::string title = {};  // "CEPT countries"
  friend bool operator==(const BandTable&, const BandTable&) = default;
};

}  // namespace catwalk::plan
