// SPDX-License-Identifier: Apache-2.0
#pragma once
// The segments in sequence, and what may trigger each besides a person's hand.
//
// A cue is one place in the sequence. Only the next one, the one after that which the rack is at,
// is ever triggered by clock, duration or message; a person may go anywhere.

#include <chrono>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "daemon/base/words.hpp"
#include "daemon/plan/names.hpp"
#include "daemon/plan/time_zone.hpp"

namespace catwalk::plan {

// Nothing but a person.
struct ByHand {
  friend bool operator==(const ByHand&, const ByHand&) = default;
};
// When clocks on the wall, in the zone of the running order, show this.
struct AtClock {
  ClockTime time;
  friend bool operator==(const AtClock&, const AtClock&) = default;
};
// So long after the switch to that segment was done. Of an earlier cue; the last time counts.
struct AfterSegment {
  SegmentName segment;
  std::chrono::seconds by{0};  // 0 s to 24 h
  friend bool operator==(const AfterSegment&, const AfterSegment&) = default;
};
// When a show-control message with this text comes from a sender that is configured.
struct ByMessage {
  std::string text;
  friend bool operator==(const ByMessage&, const ByMessage&) = default;
};
using Trigger = std::variant<ByHand, AtClock, AfterSegment, ByMessage>;

struct Cue {
  CueName name;
  SegmentName segment;
  Trigger trigger = ByHand{};
  friend bool operator==(const Cue&, const Cue&) = default;
};

// What a trigger does while another switch is under way.
enum class SecondTrigger {
  refuse,   // it is told so
  queue,    // it waits until that one is done; dropped if that one is not
  replace,  // that one is rolled back, then this one begins
};
constexpr auto words_of(SecondTrigger) {
  using enum SecondTrigger;
  return WordTable<SecondTrigger, 3>{{{"refuse", refuse}, {"queue", queue}, {"replace", replace}}};
}
using catwalk::name_of;

// What becomes of a switch that the daemon was stopped in, once its nodes have been read.
enum class AfterRestart {
  wait,       // for a person to say
  finish,     // go on to the segment that was to be entered
  roll_back,  // go back to the one that was left
};
constexpr auto words_of(AfterRestart) {
  using enum AfterRestart;
  return WordTable<AfterRestart, 3>{{{"wait", wait}, {"finish", finish}, {"roll back", roll_back}}};
}

struct RunningOrder {
  std::vector<Cue> cues;  // empty: there is none
  TimeZone zone;
  SecondTrigger second_trigger = SecondTrigger::refuse;
  AfterRestart after_restart = AfterRestart::wait;
  std::chrono::seconds arming_lasts{600};  // 10 s to 24 h
  friend bool operator==(const RunningOrder&, const RunningOrder&) = default;

  // Null if there is none.
  const Cue* find(const CueName& name) const;
  // The cue that somebody means who goes to this segment: the armed one if it leads there, else the
  // first after that which the rack is at, else the first of all. Null: not armed; nowhere yet.
  std::optional<CueName> leads_to(const SegmentName& segment, const CueName* armed,
                                  const CueName* at) const;
  // The cue after that one, or the first. Null: there is none.
  const Cue* after(const CueName* at) const;
};

}  // namespace catwalk::plan
