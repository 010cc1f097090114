// SPDX-License-Identifier: Apache-2.0
#include "daemon/store/chain.hpp"

#include <charconv>

#include "daemon/base/text.hpp"
#include "daemon/store/rows.hpp"
#include "daemon/store/tables.hpp"

namespace catwalk::store {
namespace {

constexpr std::size_t rows_at_once = 2'000;

}  // namespace

std::optional<rack::JournalHead> parse_head(std::string_view text) {
  rack::JournalHead head;
  const auto* end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, head.row);
  if (error != std::errc{} || stop == end || *stop != ':' || head.row == 0) return std::nullopt;
  head.hash.assign(stop + 1, end);
  if (!is_hex(head.hash, digits_of_hash)) return std::nullopt;
  return head;
}

ChainWalk::ChainWalk(const std::vector<rack::JournalHead>& anchors) {
  for (const auto& anchor : anchors) anchors_.push_back({anchor});
}

void ChainWalk::compare() {
  for (auto& [anchor, found] : anchors_)
    if (anchor.row == head_.row)
      found = anchor.hash == head_.hash ? Anchored::same : Anchored::other;
}

bool ChainWalk::go_on(Connection& connection, std::size_t rows) {
  if (broken_) return false;
  if (!begun_) {
    begun_ = true;
    head_ = begin_ = begin_of_journal(connection);
    for (auto& [anchor, found] : anchors_)
      if (anchor.row < begin_.row) found = Anchored::gone;
    if (begin_.row != 0) compare();
  }
  // What is not above the last row is out of order as well, and found by the first statement.
  Statement next{connection, "SELECT sequence, hash, " + std::string{entry_columns} +
                                 " FROM journal WHERE sequence > ? ORDER BY sequence LIMIT ?"};
  next.bind(1, head_.row == begin_.row ? -highest_number : static_cast<std::int64_t>(head_.row))
      .bind(2, static_cast<std::int64_t>(rows));
  std::size_t seen = 0;
  for (; next.step(); ++seen) {
    const auto sequence = static_cast<std::uint64_t>(next.integer(0));
    auto hash = hash_of(head_.hash, entry_at(next, 2));
    if (sequence != head_.row + 1 || hash != next.text(1)) {
      broken_ = sequence;
      return false;
    }
    head_ = {sequence, std::move(hash)};
    compare();
  }
  return seen == rows;
}

void ChainWalk::go_to_end(Connection& connection) {
  while (go_on(connection, rows_at_once)) {
  }
}

}  // namespace catwalk::store
