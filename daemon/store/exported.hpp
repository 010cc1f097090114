// SPDX-License-Identifier: Apache-2.0
#pragma once
// Rows leave the journal in one way only: into a file that carries them, their hashes and the head
// that they lead to. It is a journal itself, and verified as one; what stays begins after that
// head, and says so in a row.

#include <filesystem>

#include "daemon/store/journal.hpp"

namespace catwalk::store {

struct Exported {
  std::uint64_t rows = 0;   // 0: none was old enough, and there is no file
  rack::JournalHead begin;  // the file begins after this one
  rack::JournalHead head;   // and ends with this one
};

// The rows before the first that is not older than `moment`. The file must not be there yet. It is
// whole, on the disk and has been verified before a row leaves the journal; if the program ends in
// between, rows stand in both. Nothing is exported of a chain that is broken.
Result<Exported, StoreError> export_rows(Journal& journal, const std::filesystem::path& target,
                                         rack::TimePoint moment, rack::TimePoint now);

}  // namespace catwalk::store
