// SPDX-License-Identifier: Apache-2.0
#pragma once
// A segment of the show: its lanes, its carriers, and the settings its nodes should have.

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/words.hpp"
#include "daemon/plan/matrix_settings.hpp"
#include "daemon/plan/names.hpp"
#include "daemon/plan/place.hpp"
#include "daemon/plan/settings.hpp"
#include "daemon/rf/emission.hpp"
#include "daemon/rf/units.hpp"

namespace catwalk::plan {

enum class LanePurpose { receive, transmit, closed };
constexpr auto words_of(LanePurpose) {
  using enum LanePurpose;
  return WordTable<LanePurpose, 3>{
      {{"receive", receive}, {"transmit", transmit}, {"closed", closed}}};
}
using catwalk::name_of;

// A stretch of spectrum with one purpose. Closed: broadcast, protected or not licensed.
struct Lane {
  LaneName name;
  LanePurpose purpose = LanePurpose::receive;
  rf::Band band;
  std::string why;  // for a closed lane: who has it
  friend bool operator==(const Lane&, const Lane&) = default;
};

enum class CarrierUse { receive, transmit };
constexpr auto words_of(CarrierUse) {
  using enum CarrierUse;
  return WordTable<CarrierUse, 2>{{{"receive", receive}, {"transmit", transmit}}};
}

struct Carrier {
  CarrierName name;
  CarrierUse use = CarrierUse::receive;
  rf::Frequency frequency;
  rf::Frequency bandwidth;  // occupied, > 0
  std::optional<rf::PowerLevel> erp;
  std::vector<ReceiverName> receivers;  // receive carriers: who must hear it

  // How far from the antennas it is used, as near as it comes and as far as it goes. A place counts
  // for both; else nothing is known but for the nodes in `isolations`.
  std::optional<rf::Metres> nearest = {};   // 0.1 to 10 000 m
  std::optional<rf::Metres> farthest = {};  // not below the nearest
  std::optional<Place> place = {};
  // Over what reflects, where it is not that of RackPlan::propagation; 0.1 to 1000 m.
  std::optional<rf::Metres> height = {};
  // Bodies, walls, polarization; 0 to 100 dB, at the farthest only, and not beside an isolation.
  rf::Decibel extra_loss = {};
  // From its e.r.p. to the terminals of a node's antenna, as measured. Wins over what is computed,
  // an extra loss included.
  std::map<NodeName, rf::Decibel> isolations = {};  // −50 to 300 dB
  // Of a transmitter: its wide-band noise beside the carrier, dBc/Hz, negative.
  std::optional<rf::Decibel> noise_density = {};

  // From another's e.r.p. to the output of this one's transmitter, as measured. Wins over places.
  std::map<CarrierName, rf::Decibel> isolations_from = {};  // −50 to 300 dB
  // Of what its transmitter takes in, to the product that it radiates; 0 to 60 dB.
  std::optional<rf::Decibel> conversion_loss = {};
  std::optional<rf::Modulation> modulation = {};  // taken for FM

  // A carrier that only one of two segments has, or has at this frequency, is live until the switch
  // between them begins, or from when it has ended. Unless it is
  bool early = false;  // on already while the rack switches to its segment
  bool late = false;   // still on while the rack switches away from it

  std::string held_by = {};  // for people: who wears, holds or minds it; 0 to 48 bytes
  friend bool operator==(const Carrier&, const Carrier&) = default;

  rf::Band band() const { return rf::Band::around(frequency, bandwidth); }
  rf::Emission emission() const { return {bandwidth, modulation.value_or(rf::Modulation::fm)}; }
};

// Whether they are one and the same on the air, in two segments.
inline bool is_same_signal(const Carrier& a, const Carrier& b) {
  return a.name == b.name && a.use == b.use && a.frequency == b.frequency;
}

// What a switch to a segment does when a node refuses, answers wrongly or is silent.
enum class IfNodeFails {
  roll_back,  // every node goes back to where it was
  go_on,      // without that node
};
constexpr auto words_of(IfNodeFails) {
  using enum IfNodeFails;
  return WordTable<IfNodeFails, 2>{{{"roll back", roll_back}, {"go on", go_on}}};
}

struct Segment {
  SegmentName name;
  std::string title;
  std::vector<Lane> lanes;
  std::vector<Carrier> carriers;
  std::map<NodeName, SettingsPatch> settings;  // of amplifiers
  IfNodeFails if_a_node_fails = IfNodeFails::roll_back;
  std::map<NodeName, MatrixPatch> matrices = {};

  // Null where nothing has the name.
  const Carrier* find(const CarrierName& carrier) const;
  Carrier* find(const CarrierName& carrier);

  friend bool operator==(const Segment&, const Segment&) = default;
};

}  // namespace catwalk::plan
