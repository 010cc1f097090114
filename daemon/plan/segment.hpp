// SPDX-License-Identifier: Apache-2.0
#pragma once
// A segment of the show: its lanes, its carriers, and the settings its nodes should have.

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/plan/names.hpp"
#include "daemon/plan/settings.hpp"
#include "daemon/rf/units.hpp"

namespace catwalk::plan {

enum class LanePurpose { receive, transmit, closed };
std::string_view name_of(LanePurpose purpose);

// A stretch of spectrum with one purpose. Closed: broadcast, protected or not licensed.
struct Lane {
  LaneName name;
  LanePurpose purpose = LanePurpose::receive;
  rf::Band band;
  std::string why;  // for a closed lane: who has it
  friend bool operator==(const Lane&, const Lane&) = default;
};

enum class CarrierUse { receive, transmit };
std::string_view name_of(CarrierUse use);

struct Carrier {
  CarrierName name;
  CarrierUse use = CarrierUse::receive;
  rf::Frequency frequency;
  rf::Frequency bandwidth;  // occupied, > 0
  std::optional<rf::PowerLevel> erp;
  std::vector<ReceiverName> receivers;  // receive carriers: who must hear it
  friend bool operator==(const Carrier&, const Carrier&) = default;

  rf::Band band() const { return rf::Band::around(frequency, bandwidth); }
};

struct Segment {
  SegmentName name;
  std::string title;
  std::vector<Lane> lanes;
  std::vector<Carrier> carriers;
  std::map<NodeName, SettingsPatch> settings;
  friend bool operator==(const Segment&, const Segment&) = default;
};

}  // namespace catwalk::plan
