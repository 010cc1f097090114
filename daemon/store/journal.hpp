// SPDX-License-Identifier: Apache-2.0
#pragma once
// The journal on disk: an SQLite file that remembers who changed what and why, what every node
// should be set to, and which changes were under way. Write-ahead log, synchronous=FULL: what
// keep() has returned from survives a power cut. It is read beside that: reader.hpp.
//
// Rows of the journal are never changed or deleted (triggers forbid it), and each carries a SHA-256
// over itself and the hash of the row before, so that a later hand in the file shows: chain.hpp.

#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <span>

#include "daemon/base/result.hpp"
#include "daemon/rack/values/journal.hpp"
#include "daemon/rack/values/kept.hpp"
#include "daemon/rack/values/record.hpp"
#include "daemon/store/error.hpp"

namespace catwalk::store {

// Used from one thread at a time.
class Journal {
 public:
  // Creates the file if there is none. Without room for what it shares with readers (the disk is
  // full) it is written all the same, and cannot be read until the next start. Fails if it cannot
  // be opened, is not a journal, is of a later format (`newer`: nothing of it is touched), or is in
  // use by another daemon. What to do then: open_store.hpp.
  static Result<Journal, StoreError> open(const std::filesystem::path& file);
  Journal(Journal&&) noexcept;
  Journal& operator=(Journal&&) noexcept;
  ~Journal();

  // What was kept, and an epoch of our own: higher than every one before, and not below the seconds
  // of the wall clock, so that a controller on a new machine, with an empty journal, outranks the
  // one it replaces. Durable before this returns, so that no two runs ever speak under the same;
  // but if nothing can be written now (the disk is full), it is kept with the first record that
  // can. Nothing of what the file holds is trusted: what is not lawful fails, as `broken`.
  Result<rack::Restored, StoreError> restore(rack::TimePoint now = {}, rack::EpochShare share = {});

  // All records in one transaction: durable when this returns without an error, else none is kept.
  std::optional<StoreError> keep(std::span<const rack::Record> records);

  // Called with true before keep() waits for readings to end, so that a log that has grown long can
  // be begun anew, and with false afterwards. Whoever reads without a pause has to make one then: a
  // reading that begins as the last one ends would keep it waiting for nothing.
  void on_waiting(std::function<void(bool waits)> told);

  rack::JournalHead head() const;
  // A sentence, if it was of an older format: from which to which, and where a copy is kept of the
  // file as it was. Empty: it was of ours, or is new.
  const std::string& brought_up() const;
  const std::filesystem::path& file() const;

 private:
  struct Database;
  explicit Journal(std::unique_ptr<Database> database);
  std::unique_ptr<Database> database_;
};

}  // namespace catwalk::store
