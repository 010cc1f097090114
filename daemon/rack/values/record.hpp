// SPDX-License-Identifier: Apache-2.0
#pragma once
// What the core asks the store to keep. One record is one transaction: all of it is durable, or
// none of it.

#include <vector>

#include "daemon/rack/values/ids.hpp"
#include "daemon/rack/values/journal.hpp"
#include "daemon/rack/values/write.hpp"

namespace catwalk::rack {

// Comes back as Recorded or RecordFailed. Records are kept in the order they were asked for.
struct Record {
  RecordId id = 0;
  std::vector<JournalEntry> entries;
  std::vector<Write> writes;
  friend bool operator==(const Record&, const Record&) = default;
};
}  // namespace catwalk::rack
