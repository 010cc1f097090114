// SPDX-License-Identifier: Apache-2.0
#pragma once
// A region's published bands for wireless audio: information with a source and a date, never
// advice.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/rf/units.hpp"

namespace catwalk::plan {

enum class BandStatus { open, restricted, closed, check_with_regulator };
std::string_view name_of(BandStatus status);

// How a published power limit is measured. e.i.r.p. is 2.15 dB more than e.r.p.
enum class PowerKind { conducted, erp, eirp };
std::string_view name_of(PowerKind kind);

struct BandPower {
  double milliwatts = 0.0;
  PowerKind kind = PowerKind::conducted;
  friend bool operator==(const BandPower&, const BandPower&) = default;
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
  friend bool operator==(const BandRow&, const BandRow&) = default;
};

struct BandTable {
  std::string region;
  std::vector<BandRow> rows;
  std::string title = {};  // "CEPT countries"
  friend bool operator==(const BandTable&, const BandTable&) = default;
};

}  // namespace catwalk::plan
