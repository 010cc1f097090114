// SPDX-License-Identifier: Apache-2.0
#pragma once
// The journal at the start of the daemon, whatever stands in its place: a rack does not stay dark
// because a disk has failed.

#include <filesystem>
#include <string>

#include "daemon/store/journal.hpp"

namespace catwalk::store {

struct OpenedStore {
  Journal journal;
  rack::Restored restored;
  // What was wrong with what stood there, and where it is now: a sentence or two; empty: nothing.
  std::string set_aside;
};

// A journal that is broken, or something else in its place, is set aside under another name, never
// deleted, and a new one begins, whose first row says so. From the old one come, if they can still
// be read, the epoch, the show lock, the segment and the last numbers of changes and alarms; not
// what was wanted, since it is as doubtful as the file: nodes are met anew, and nothing is sent. If
// nobody can say whether the rack was locked, it is; if nobody knows the epoch, ours is a minute
// ahead of the clock.
//
// Fails if the folder cannot be had, or its journal is in use or of a later program. One of an
// older program is brought up to date, and a copy kept.
Result<OpenedStore, StoreError> open_store(const std::filesystem::path& file, rack::TimePoint now,
                                           rack::EpochShare share = {});

// For a disk that failed before there was a journal, as `trouble` says: a new one in `folder`,
// which need not last, for a rack that runs on without a past. It is locked, and its first row says
// why.
Result<OpenedStore, StoreError> open_stopgap(const std::filesystem::path& folder,
                                             const StoreError& trouble, rack::TimePoint now,
                                             rack::EpochShare share = {});

}  // namespace catwalk::store
