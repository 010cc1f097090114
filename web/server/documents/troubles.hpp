// SPDX-License-Identifier: Apache-2.0
#pragma once
// What went wrong in a time, as the journal has it.

#include <optional>
#include <string>
#include <vector>

#include "daemon/rack/values/journal.hpp"

namespace catwalk::web {

// Of one alarm, from when it was raised until it returned.
struct Trouble {
  rack::TimePoint from;
  std::optional<rack::TimePoint> until;  // absent: it still lasted, or tells of what happened once
  const rack::JournalEntry* raised = nullptr;  // of the rows it was found in; never null
};

// `rows`: newest first, as the journal is read. What returned without having been raised among them
// was there at `begin`.
std::vector<Trouble> troubles_in(const std::vector<rack::StoredEntry>& rows, rack::TimePoint begin);
// False: it tells of what happened, such as a change that failed.
bool lasts(const std::string& kind);

}  // namespace catwalk::web
