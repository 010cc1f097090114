// SPDX-License-Identifier: Apache-2.0
#pragma once
// The journal's rows, and how they are asked for.

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/words.hpp"
#include "daemon/rack/values/ids.hpp"
#include "daemon/rack/values/time.hpp"

namespace catwalk::rack {

enum class JournalKind {
  intent,   // a change was accepted and is about to touch hardware
  fate,     // how a change ended
  refused,  // a change that was asked for and not made
  adopted,  // wanted follows what the node shows
  found,    // a node differs from wanted, or is met for the first time
  lock,
  segment,
  alarm,
  command,  // locate, store, discover, take-over
  plan,
  switching,  // a switch: its intent, and for each of its nodes and the rack how it ended
  step,       // a step of a switch is about to be put in force
  arming,
  turned_away,  // who came with a wrong token, or asked for what needs another role
  journal,      // the journal itself: begun anew, rows that left it
  carriers,     // what is on the air from now on, since the segment or the plan is another
  crew,         // a row of a crew sheet was ticked, or is no longer
};
constexpr auto words_of(JournalKind) {
  using enum JournalKind;
  return WordTable<JournalKind, 17>{{{"intent", intent},
                                     {"fate", fate},
                                     {"refused", refused},
                                     {"adopted", adopted},
                                     {"found", found},
                                     {"lock", lock},
                                     {"segment", segment},
                                     {"alarm", alarm},
                                     {"command", command},
                                     {"plan", plan},
                                     {"switch", switching},
                                     {"step", step},
                                     {"arming", arming},
                                     {"turned-away", turned_away},
                                     {"journal", journal},
                                     {"carriers", carriers},
                                     {"crew", crew}}};
}
using catwalk::name_of;

// One line of the journal: who, when, what, verdict, fate. Texts are for people.
struct JournalEntry {
  TimePoint at;
  JournalKind kind = JournalKind::intent;
  std::string who;
  std::string node;     // empty: the whole rack
  ChangeId change = 0;  // 0: belongs to no change
  std::string segment;
  std::string what;     // "gain +3 dB → +6 dB"
  std::string why;      // as given with the request
  std::string verdict;  // one finding a line: "caution lane-conflict: …"
  std::string waiver;   // "name: reason"; empty: none was needed
  std::string fate;     // "settled", "failed: …", "refused"
  friend bool operator==(const JournalEntry&, const JournalEntry&) = default;
};

struct StoredEntry {
  std::uint64_t sequence = 0;  // 1, 2, 3 … without a gap
  JournalEntry entry;
};

// The last row and its hash, which stands for all rows up to it.
struct JournalHead {
  std::uint64_t row = 0;  // 0: there are none
  std::string hash;       // 64 hexadecimal digits
  friend bool operator==(const JournalHead&, const JournalHead&) = default;

  // "4711:9f86…", as it is written down and given back to be compared.
  std::string text() const { return std::to_string(row) + ':' + hash; }
};

// Newest first. What is absent does not narrow.
struct JournalQuery {
  std::optional<std::string> node;
  std::optional<std::string> kind;
  std::optional<ChangeId> change;
  std::optional<std::uint64_t> before = {};  // only sequences below this: the next page
  std::optional<std::string> who = {};
  std::optional<std::string> segment = {};
  std::optional<std::string> text = {};  // somewhere in it, A to Z in capitals or not
  std::optional<TimePoint> from = {};    // this moment counts
  std::optional<TimePoint> to = {};      // this one does not
  std::size_t limit = 100;               // 1 to 1000
  std::string asker = {};                // whose turn it takes; a name
  bool goes_on = false;                  // a further page of a search that was let in
};

// What one reading found. It looks at no more rows, and for no longer, than it may.
struct JournalPage {
  std::vector<StoredEntry> rows;
  // Present: it ended at its bound. All rows from this one on were looked at; whoever wants older
  // ones goes on with `before` this.
  std::optional<std::uint64_t> looked_down_to = {};
};
enum class Unread {
  failed,
  too_many_wait,  // later, perhaps
};

}  // namespace catwalk::rack
