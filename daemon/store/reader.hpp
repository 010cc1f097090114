// SPDX-License-Identifier: Apache-2.0
#pragma once
// Reads the journal beside whoever writes it: a connection of its own, which cannot write, and
// which the write-ahead log gives a picture of its own, so that neither waits for the other. No
// picture is held for longer than a slice of a reading: a log that is being read cannot be begun
// anew, and would grow.

#include <chrono>
#include <filesystem>
#include <memory>
#include <optional>

#include "daemon/base/result.hpp"
#include "daemon/rack/values/journal.hpp"
#include "daemon/store/chain.hpp"
#include "daemon/store/error.hpp"

namespace catwalk::store {

// How much one reading may look at before it has to say how far it came.
struct ReadingBounds {
  std::size_t slice = 2'000;  // rows between two looks at the clock
  std::size_t most_rows = 100'000;
  std::chrono::milliseconds most_time{25};
};

// Used from one thread at a time.
class JournalReader {
 public:
  // The file must be there.
  static Result<JournalReader, StoreError> open(const std::filesystem::path& file);
  JournalReader(JournalReader&&) noexcept;
  JournalReader& operator=(JournalReader&&) noexcept;
  ~JournalReader();

  // Looks at one slice at least.
  Result<rack::JournalPage, StoreError> read(const rack::JournalQuery& query,
                                             const ReadingBounds& bounds = {});
  // Goes on along the chain; false: the walk is over.
  Result<bool, StoreError> go_on(ChainWalk& walk, std::size_t rows);
  // The whole walk at once.
  std::optional<StoreError> walk(ChainWalk& walk);
  // Rows from before this moment.
  Result<std::uint64_t, StoreError> rows_before(rack::TimePoint moment);

 private:
  explicit JournalReader(std::unique_ptr<Connection> connection);
  std::unique_ptr<Connection> connection_;
};

}  // namespace catwalk::store
