// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/values/journal.hpp"

namespace catwalk::rack {

std::string_view name_of(JournalKind kind) {
  switch (kind) {
    case JournalKind::intent:
      return "intent";
    case JournalKind::fate:
      return "fate";
    case JournalKind::refused:
      return "refused";
    case JournalKind::adopted:
      return "adopted";
    case JournalKind::found:
      return "found";
    case JournalKind::lock:
      return "lock";
    case JournalKind::segment:
      return "segment";
    case JournalKind::alarm:
      return "alarm";
    case JournalKind::command:
      return "command";
    case JournalKind::plan:
      return "plan";
    case JournalKind::switching:
      return "switch";
    case JournalKind::step:
      return "step";
    case JournalKind::arming:
      return "arming";
    case JournalKind::turned_away:
      return "turned-away";
    case JournalKind::journal:
      return "journal";
    case JournalKind::carriers:
      return "carriers";
    case JournalKind::crew:
      return "crew";
  }
  return "?";
}

}  // namespace catwalk::rack
