// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/values/alarm.hpp"

namespace catwalk::rack {

std::string_view name_of(AlarmKind kind) {
  switch (kind) {
    case AlarmKind::drifted:
      return "drifted";
    case AlarmKind::silent:
      return "silent";
    case AlarmKind::passive:
      return "passive";
    case AlarmKind::line_down:
      return "line-down";
    case AlarmKind::other_controller:
      return "other-controller";
    case AlarmKind::wrong_type:
      return "wrong-type";
    case AlarmKind::change_failed:
      return "change-failed";
    case AlarmKind::off_plan:
      return "off-plan";
    case AlarmKind::journal_failed:
      return "journal-failed";
    case AlarmKind::switch_failed:
      return "switch-failed";
    case AlarmKind::trigger_held:
      return "trigger-held";
    case AlarmKind::epoch_out_of_reach:
      return "epoch-out-of-reach";
    case AlarmKind::babbling:
      return "babbling";
    case AlarmKind::certificate:
      return "certificate";
    case AlarmKind::journal_broken:
      return "journal-broken";
    case AlarmKind::cue_blocked:
      return "cue-blocked";
  }
  return "?";
}

}  // namespace catwalk::rack
