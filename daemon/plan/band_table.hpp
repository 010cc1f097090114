// SPDX-License-Identifier: Apache-2.0
#pragma once
// A region's published bands for wireless audio: information with a source and a date, never
// advice.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/words.hpp"
#include "daemon/plan/position.hpp"
#include "daemon/rf/units.hpp"

namespace catwalk::plan {

enum class BandStatus { open, restricted, closed, check_with_regulator };
constexpr auto words_of(BandStatus) {
  using enum BandStatus;
  return WordTable<BandStatus, 4>{{{"open", open},
                                   {"restricted", restricted},
                                   {"closed", closed},
                                   {"check with the regulator", check_with_regulator}}};
}
using catwalk::name_of;

// How what stands in a table was come by. Only what was read in the text named is called published.
enum class BandBasis { read, read_in_part, secondary, memory };
constexpr auto words_of(BandBasis) {
  using enum BandBasis;
  return WordTable<BandBasis, 4>{{{"read in the text named", read},
                                  {"read in part", read_in_part},
                                  {"read in a secondary text", secondary},
                                  {"from memory", memory}}};
}

// How a published power limit is measured. e.i.r.p. is 2.15 dB more than e.r.p.
enum class PowerKind { conducted, erp, eirp };
constexpr auto words_of(PowerKind) {
  using enum PowerKind;
  return WordTable<PowerKind, 3>{{{"conducted", conducted}, {"e.r.p.", erp}, {"e.i.r.p.", eirp}}};
}

struct BandPower {
  double milliwatts = 0.0;
  PowerKind kind = PowerKind::conducted;
  // Of the figure, which may not be that of its row; absent: nobody says.
  std::optional<BandBasis> basis = {};
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
  std::string protects = {};            // a service that must not be disturbed: "radio astronomy"
  std::optional<BandBasis> basis = {};  // absent: nobody says
  std::vector<BandArea> areas = {};     // empty: the row holds everywhere
  friend bool operator==(const BandRow&, const BandRow&) = default;
};

struct BandTable {
  std::string region;
  std::vector<BandRow> rows;
  std::string title = {};  // "CEPT countries"
  friend bool operator==(const BandTable&, const BandTable&) = default;
};

}  // namespace catwalk::plan
