// SPDX-License-Identifier: Apache-2.0
#pragma once
// Alarms as people list them: in which state each is, how soon somebody is to see to it, and under
// which other it stands.

#include <optional>
#include <string_view>
#include <vector>

#include "daemon/base/words.hpp"
#include "daemon/rack/values/alarm.hpp"

namespace catwalk::rack {

// "not as wanted", "line down"
std::string_view in_words(AlarmKind kind);

// The states of IEC 62682 and ISA-18.2 that stay in a list; shelved counts before the others.
enum class AlarmState { active, returned, acknowledged, shelved };
constexpr auto words_of(AlarmState) {
  using enum AlarmState;
  return WordTable<AlarmState, 4>{{{"active", active},
                                   {"returned", returned},
                                   {"acknowledged", acknowledged},
                                   {"shelved", shelved}}};
}
using catwalk::name_of;
AlarmState state_of(const Alarm& alarm);

// How soon somebody is to see to it. Three or four of them are common practice under ISA-18.2 (from
// memory); which kind has which is ours.
enum class AlarmPriority {
  urgent,  // nodes may lie between two segments, or nothing can be recorded
  high,    // carriers are lost or the next cue is, or will be; or another hand is at the nodes
  medium,  // a node is not as wanted or out of reach, and the show goes on
  low,     // can wait until after the show
};
constexpr auto words_of(AlarmPriority) {
  using enum AlarmPriority;
  return WordTable<AlarmPriority, 4>{
      {{"urgent", urgent}, {"high", high}, {"medium", medium}, {"low", low}}};
}
AlarmPriority priority_of(AlarmKind kind);

// The alarm that this one stands under: its cause, unless that was seen already and this one was
// not. Nothing: it stands for itself.
std::optional<AlarmId> stands_under(const Alarm& alarm, const std::vector<Alarm>& all);
// The most urgent first, of those the newest.
std::vector<Alarm> worst_first(std::vector<Alarm> alarms);

}  // namespace catwalk::rack
