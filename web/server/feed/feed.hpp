// SPDX-License-Identifier: Apache-2.0
#pragma once
// The live feed as messages: a hello, a snapshot, then numbered changes. Knows no sockets; each
// text is made once and shared by every panel.
//
//   {"type":"hello","server":"5f0c…","epoch":7,"sequence":41}
//   {"type":"snapshot","sequence":41,"rack":{…},"nodes":[…],"lines":[…],"alarms":[…],"changes":[…]}
//   {"type":"change","sequence":42,"nodes":[those that changed]}     also rack, lines, alarms,
//   ticks, changes
//
// A client that was away asks for `?server=5f0c…&since=41`: it gets the changes since, or a
// snapshot if they are not kept any more or the daemon was restarted.

#include <cstdint>
#include <deque>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "daemon/rack/values/snapshot.hpp"

namespace catwalk::web {

using SharedText = std::shared_ptr<const std::string>;

// For one thread.
class Feed {
 public:
  Feed(std::string server_id, rack::SnapshotPtr first);

  // The change from the last snapshot to this one; null if no panel could see a difference.
  SharedText advance(rack::SnapshotPtr next, rack::TimePoint now);

  SharedText hello() const;
  SharedText snapshot(rack::TimePoint now);
  // Every change after `sequence`; absent: some are not kept any more, or there never was such one.
  std::optional<std::vector<SharedText>> since(std::uint64_t sequence) const;

  const std::string& server_id() const { return server_id_; }
  std::uint64_t sequence() const { return sequence_; }

 private:
  static constexpr std::size_t changes_kept = 256;
  static constexpr std::chrono::milliseconds together{25};

  std::string server_id_;
  rack::SnapshotPtr last_;
  std::uint64_t sequence_ = 0;
  std::deque<SharedText> changes_;       // the newest is number sequence_
  std::uint64_t snapshot_sequence_ = 0;  // of snapshot_
  SharedText snapshot_;                  // kept for panels that arrive together
  rack::TimePoint snapshot_at_;          // ages in it are as of then
};

// Answers to what a panel sends: only {"type":"snapshot"} is understood.
struct PanelAsk {
  bool snapshot = false;
  SharedText problem;  // set if it was not understood
};
PanelAsk read_panel_message(const std::string& text, bool is_text);

}  // namespace catwalk::web
