// SPDX-License-Identifier: Apache-2.0
#pragma once
// Where the panel side and the field side meet: requests go to the core, immutable snapshots come
// back. Nothing here waits for a line, a disk or the other thread.

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "daemon/base/pinned.hpp"
#include "daemon/base/result.hpp"
#include "daemon/rack/core/effect.hpp"
#include "daemon/rack/core/event.hpp"
#include "daemon/rack/values/snapshot.hpp"
#include "web/server/documents/figures.hpp"

namespace catwalk::web {

// Why files were not taken, a sentence each. Nothing: they are in force.
struct NotTaken {
  std::vector<std::string> of_files;  // what is wrong with them
  std::vector<std::string> of_rack;   // what it is in the middle of: the show lock, a switch, …
  bool empty() const { return of_files.empty() && of_rack.empty(); }
};

class Gate : Pinned {
 public:
  virtual ~Gate() = default;

  // The newest snapshot; never null. From any thread.
  virtual rack::SnapshotPtr snapshot() const = 0;

  // Puts a request to the core; its `request` member is filled in here. The answer comes once, on
  // the panel side's thread. `until` matters for a change only: is it answered `accepted` as soon
  // as it is in the journal, or with its fate?
  enum class Until { fate, accepted };
  using Answered = std::function<void(const rack::Answer&)>;
  virtual void ask(rack::Event request, Answered answered, Until until) = 0;
  void ask(rack::Event request, Answered answered) {
    ask(std::move(request), std::move(answered), Until::fate);
  }

  // The answer comes on the panel side's thread. It may end at a bound of the store's, and says so.
  // `render`, if there is one, makes text of the rows on the thread that has read them, so that a
  // long table keeps no panel waiting; it must not touch anything else.
  using Render = std::function<std::string(const std::vector<rack::StoredEntry>&)>;
  struct JournalText {
    rack::JournalPage page;  // of rows that were rendered only the numbers
    std::string text;        // empty without `render`
  };
  using JournalRead = Result<JournalText, rack::Unread>;
  using Page = std::function<void(JournalRead)>;
  virtual void read_journal(rack::JournalQuery query, Render render, Page page) = 0;

  virtual JournalFigures journal_figures() const { return {}; }
  // The head of the journal as it is now, for what leaves the machine; the log carries it too.
  virtual rack::JournalHead anchor_journal() { return journal_figures().head; }

  // Somebody was turned away at the panel side's doors, for the journal. From the panel thread.
  virtual void turned_away(rack::TurnedAway) {}

  virtual std::vector<LineFigures> line_figures() const = 0;
  // Empty: that door is closed.
  virtual Totals show_control_figures() const { return {}; }

  // Reads the rack file and what it refers to again; it is in force, or all of the old stays. `who`
  // asked for it. The answer comes on the panel side's thread.
  using Reloaded = std::function<void(const NotTaken&)>;
  virtual void reload(std::string who, Reloaded reloaded) = 0;
};

}  // namespace catwalk::web
