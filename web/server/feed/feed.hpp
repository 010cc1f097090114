// SPDX-License-Identifier: Apache-2.0
#pragma once
// The live feed as messages: a hello, a snapshot, then numbered changes. Knows no sockets; each
// text is made once and shared by every panel.
//
//   {"type":"hello","server":"5f0c…","epoch":7,"sequence":41}
//   {"type":"snapshot","sequence":41,"rack":{…},"nodes":[…],"lines":[…],"alarms":[…],"changes":[…],
//    "matrices":[…]}
//   {"type":"change","sequence":42,"nodes":[those that changed]}     also rack, lines, alarms,
//   ticks, changes, matrices (those that changed)
//
// To whoever asks for `?nodes=patches` a change tells only what is new of a node that it knows, as
// JSON Merge Patch (RFC 7396) with its name; `nodes` are then those that it does not know:
//
//   {"type":"change","sequence":42,"node_patches":[{"name":"bow","seen":{"age_ms":8, …}}]}
//
// Readings that have nothing new but figures are held for a while, and travel together.
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

// How a panel is told of nodes that have changed.
enum class Telling { whole_nodes, node_patches };

// The same change, both ways.
struct ToldChange {
  SharedText whole_nodes, node_patches;
  const SharedText& as(Telling telling) const {
    return telling == Telling::whole_nodes ? whole_nodes : node_patches;
  }
};

// For one thread.
class Feed {
 public:
  using Duration = rack::TimePoint::duration;

  // `together`: how long readings may be held.
  Feed(std::string server_id, rack::SnapshotPtr first, Duration together = Duration{0});

  // The change from what was told last to this snapshot. Nothing: no panel could see a difference,
  // or what there is can be held.
  std::optional<ToldChange> advance(rack::SnapshotPtr next, rack::TimePoint now);
  // After advance(): for how long it can be held; nothing is held: 0.
  Duration held_for() const { return held_for_; }

  SharedText hello() const;
  SharedText snapshot(rack::TimePoint now);
  // Every change after `sequence`; absent: some are not kept any more, or there never was such one.
  std::optional<std::vector<SharedText>> since(std::uint64_t sequence, Telling telling) const;

  const std::string& server_id() const { return server_id_; }
  std::uint64_t sequence() const { return sequence_; }

 private:
  // The last changes, as one kind of panel was told them. Whoever has missed more bytes than these
  // is better off with a snapshot.
  class Kept {
   public:
    void add(const SharedText& text);
    std::optional<std::vector<SharedText>> last(std::uint64_t count) const;

   private:
    static constexpr std::size_t most = 256;
    static constexpr std::size_t most_bytes = 1'048'576;
    std::deque<SharedText> texts_;
    std::size_t bytes_ = 0;
  };
  static constexpr std::chrono::milliseconds arrive_together{25};

  bool can_be_held(const rack::Snapshot& next) const;

  std::string server_id_;
  rack::SnapshotPtr last_;  // as it was told
  Duration together_;
  rack::SnapshotPtr held_;  // what came since, with new figures only; null: nothing
  Duration held_for_{0};
  rack::TimePoint told_at_{};
  std::uint64_t sequence_ = 0;
  Kept kept_whole_, kept_patches_;       // the newest is number sequence_
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
