// SPDX-License-Identifier: Apache-2.0
#pragma once
// Does each row's hash follow from the row and the hash before? And is a row still what it was when
// its hash was written down elsewhere, in a printed report or in the log (an anchor)? Without one,
// whoever owns the file could cut the chain at its end, or compute it anew.

#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "daemon/rack/values/journal.hpp"
#include "daemon/store/sqlite.hpp"

namespace catwalk::store {

// "4711:9f86…": a row from 1, and 64 hexadecimal digits.
std::optional<rack::JournalHead> parse_head(std::string_view text);

enum class Anchored {
  same,
  other,    // the row says something else now, or a row before it does
  missing,  // there is no such row, or none that the chain leads to
  gone,     // the row was exported
};

// A walk along the chain, as far at a time as it is told.
class ChainWalk {
 public:
  explicit ChainWalk(const std::vector<rack::JournalHead>& anchors = {});

  // Looks at so many rows more. False: the walk is over, at the end or at what is broken. Throws
  // SqliteError.
  bool go_on(Connection& connection, std::size_t rows);
  // The rest of the way; likewise.
  void go_to_end(Connection& connection);

  // The first row whose hash does not follow.
  std::optional<std::uint64_t> broken() const { return broken_; }
  // Where the chain begins: after the last row that was exported; row 0: at its very beginning.
  const rack::JournalHead& begin() const { return begin_; }
  // The last row that holds.
  const rack::JournalHead& head() const { return head_; }
  struct AnchorFound {
    rack::JournalHead anchor;
    Anchored found = Anchored::missing;
  };
  const std::vector<AnchorFound>& anchors() const { return anchors_; }

 private:
  void compare();

  bool begun_ = false;
  rack::JournalHead begin_;
  rack::JournalHead head_;
  std::optional<std::uint64_t> broken_;
  std::vector<AnchorFound> anchors_;
};

}  // namespace catwalk::store
