// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/values/switch_view.hpp"

namespace catwalk::rack {

std::string_view name_of(TriggeredBy trigger) {
  switch (trigger) {
    case TriggeredBy::hand:
      return "hand";
    case TriggeredBy::clock:
      return "clock";
    case TriggeredBy::duration:
      return "duration";
    case TriggeredBy::message:
      return "message";
  }
  return "?";
}

std::string_view name_of(SwitchStage stage) {
  switch (stage) {
    case SwitchStage::planning:
      return "planning";
    case SwitchStage::recording:
      return "recording";
    case SwitchStage::staging:
      return "staging";
    case SwitchStage::applying:
      return "applying";
    case SwitchStage::reading_back:
      return "reading-back";
    case SwitchStage::interrupted:
      return "interrupted";
    case SwitchStage::done:
      return "done";
    case SwitchStage::rolled_back:
      return "rolled-back";
    case SwitchStage::stuck:
      return "stuck";
  }
  return "?";
}

std::string_view name_of(Whereabouts where) {
  switch (where) {
    case Whereabouts::before:
      return "before";
    case Whereabouts::between:
      return "between";
    case Whereabouts::target:
      return "target";
    case Whereabouts::elsewhere:
      return "elsewhere";
    case Whereabouts::not_ours:
      return "not-ours";
    case Whereabouts::unknown:
      return "unknown";
  }
  return "?";
}

std::string_view name_of(Progress progress) {
  switch (progress) {
    case Progress::waiting:
      return "waiting";
    case Progress::staging:
      return "staging";
    case Progress::staged:
      return "staged";
    case Progress::applying:
      return "applying";
    case Progress::reading_back:
      return "reading-back";
    case Progress::failed:
      return "failed";
  }
  return "?";
}

}  // namespace catwalk::rack
