// SPDX-License-Identifier: Apache-2.0
#pragma once
// What people do with the carriers when the rack goes from one segment to another, in the order
// that the way of the nodes needs.
//
// The way is planned and proven for what live_between() says is on the air while nodes move, so the
// crew makes that true before the first of them does, and the rest when the last is there:
//
//  before     what only the segment that is left has goes off, but for what is `late`; what is
//             `early` comes on. A carrier that changes its frequency is two on the way, the old one
//             and the new: it goes off here and comes on where it belongs under `after`. If the new
//             one is early (and the old one not late) it moves here.
//  meanwhile  what the planner counts with in both states all the way: a carrier that stays and is
//             described otherwise (the louder and the wider of the two count, and only receivers
//             that both have rely on it); one that moves from `late` to `early`.
//  after      what is late goes off, what moves arrives, what is new comes on.
//
// Within each: off, then moves, then changes, then on, so that nobody comes on where somebody still
// is. A move into a band that another move of the same moment leaves comes behind that one, unless
// they go round in a circle.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/words.hpp"
#include "daemon/plan/segment.hpp"
#include "daemon/rack/values/kept.hpp"

namespace catwalk::rack {

enum class CrewAct { off, move, change, on };
constexpr auto words_of(CrewAct) {
  using enum CrewAct;
  return WordTable<CrewAct, 4>{{{"off", off}, {"move", move}, {"change", change}, {"on", on}}};
}
using catwalk::name_of;

// Seen from the nodes that move.
enum class CrewMoment { before, meanwhile, after };
constexpr auto words_of(CrewMoment) {
  using enum CrewMoment;
  return WordTable<CrewMoment, 3>{{{"before", before}, {"meanwhile", meanwhile}, {"after", after}}};
}

struct CrewRow {
  std::string key;  // "vocal-2.move": once in its sheet, and not another when the sheet grows
  CrewAct act = CrewAct::off;
  CrewMoment moment = CrewMoment::before;
  plan::CarrierName carrier;
  plan::CarrierUse use = plan::CarrierUse::receive;
  std::optional<rf::Frequency> from;          // absent: it comes on
  std::optional<rf::Frequency> to;            // absent: it goes off, and stays off
  std::vector<plan::ReceiverName> receivers;  // that hear it then; of one that goes off: until then
  std::string held_by;                        // empty: nobody said
  std::vector<std::string> otherwise;         // what else differs: "bandwidth 200 kHz → 180 kHz"
  std::optional<Ticked> ticked;

  // "vocal-2 to 541.100 MHz"
  std::string in_short() const;
  // "vocal-2 to 541.100 MHz from 538.100 MHz, bandwidth 200 kHz → 180 kHz"
  std::string what() const;
  // All that somebody who does it has to know. A tick holds as long as its row says the same.
  std::string said() const;
  friend bool operator==(const CrewRow&, const CrewRow&) = default;
};

// `ticks`: those of other sheets, and of rows that say something else by now, do not count.
std::vector<CrewRow> crew_sheet(const plan::Segment& left, const plan::Segment& entered,
                                const std::vector<CrewTick>& ticks = {});

// Of what is to be done before the nodes move: "2 of 3 to do before it are not ticked: ear-1 off,
// 645.000 MHz; ear-2 off, 646.000 MHz." Empty: all of it is ticked.
std::string not_ticked(const std::vector<CrewRow>& sheet);

}  // namespace catwalk::rack
