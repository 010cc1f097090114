// SPDX-License-Identifier: Apache-2.0
#pragma once
// Alarms in the states of IEC 62682 / ISA-18.2: active or returned, acknowledged or not. An alarm
// that has returned and is acknowledged is over and leaves the list.
//
// A person may shelve an alarm for a while: it stays in the list, and whoever draws attention to
// alarms leaves it out. It stays shelved though it returns and is raised again meanwhile; so it
// also stays in the list, over or not. At the end it stands as any other. What goes off by itself
// is never forgotten: a shelving always has an end, a reason and a name.
//
// What nodes and lines raise while the rack is being hung and wired is not the show's: until a
// segment has gone on the air, or somebody has locked the rack, such an alarm is over when it
// returns. The journal has it.

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "daemon/base/words.hpp"
#include "daemon/rack/values/ids.hpp"
#include "daemon/rack/values/time.hpp"

namespace catwalk::rack {

enum class AlarmKind {
  drifted,  // seen is not wanted, and nobody here asked for it
  silent,   // the node does not answer
  passive,  // the node's supply is gone: no gain, no filter
  line_down,
  other_controller,  // another one speaks to the node or on its line, or the node obeys it
  wrong_type,        // the node says it is of another type than the rack file does
  change_failed,
  off_plan,            // what is in force on the node is refused by the rules
  journal_failed,      // nothing can be recorded, so nothing may be changed
  switch_failed,       // the last switch was rolled back, or is stuck
  trigger_held,        // a cue was triggered and no switch came of it
  epoch_out_of_reach,  // the node says it obeys an epoch that no controller can have
  babbling,            // the node reports without end, and is heeded once in a while only
  certificate,         // that of the page is over, or will be soon
  journal_broken,      // at the start the journal could not be used, or its chain was broken
  cue_blocked,         // what is armed would have gone when it was armed, and now it would not
  not_fed,             // the matrix at which its cable ends does not feed the node, and why
};
// "drifted", "line-down"
constexpr auto words_of(AlarmKind) {
  using enum AlarmKind;
  return WordTable<AlarmKind, 17>{{{"drifted", drifted},
                                   {"silent", silent},
                                   {"passive", passive},
                                   {"line-down", line_down},
                                   {"other-controller", other_controller},
                                   {"wrong-type", wrong_type},
                                   {"change-failed", change_failed},
                                   {"off-plan", off_plan},
                                   {"journal-failed", journal_failed},
                                   {"switch-failed", switch_failed},
                                   {"trigger-held", trigger_held},
                                   {"epoch-out-of-reach", epoch_out_of_reach},
                                   {"babbling", babbling},
                                   {"certificate", certificate},
                                   {"journal-broken", journal_broken},
                                   {"cue-blocked", cue_blocked},
                                   {"not-fed", not_fed}}};
}
using catwalk::name_of;

struct Shelving {
  std::string by;
  std::string why;
  TimePoint until;
  friend bool operator==(const Shelving&, const Shelving&) = default;
};
// For how long an alarm may be shelved.
constexpr std::chrono::seconds shortest_shelving{60};
constexpr std::chrono::seconds longest_shelving{std::chrono::hours{24}};

struct Alarm {
  AlarmId id = 0;
  AlarmKind kind = AlarmKind::drifted;
  std::string subject;  // name of a node or of a line; empty: the whole rack
  std::string sentence;
  TimePoint raised;
  std::optional<TimePoint> returned;  // absent: active
  std::optional<std::string> acknowledged_by;
  std::optional<Shelving> shelved = {};
  // The active alarm that this one follows from, and is acknowledged with. Not kept: found anew.
  std::optional<AlarmId> cause = {};
  friend bool operator==(const Alarm&, const Alarm&) = default;

  bool active() const { return !returned; }
  bool over() const { return returned && acknowledged_by && !shelved; }
};

}  // namespace catwalk::rack
