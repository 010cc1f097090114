// SPDX-License-Identifier: Apache-2.0
#pragma once
// When nothing has happened to a line for a while, the rack knows what is on
// it: it shows what its nodes truly have, and every difference from what is
// wanted stands as an alarm. A watchdog for everything that would only never
// happen again.

#include <map>

#include "daemon/rack/values/snapshot.hpp"
#include "tests/simulation/truth.hpp"
#include "tests/simulation/violation.hpp"

namespace catwalk::simulation {

class Calm {
 public:
  // Anything at all happened to the line or to one of its nodes.
  void disturb(const plan::LineName& line, Moment now) { last_[line] = now; }
  void disturb_all(const Show& show, Moment now) {
    for (const auto& line : show.lines) disturb(line.name, now);
  }
  // "After a calm the rack knows its nodes."
  Complaint knows_its_nodes(const rack::Snapshot& snapshot, const Truth& truth, Moment now,
                            rack::TimePoint wall) const;
  // "After a calm the rack knows what it feeds": an input that gives no current to an antenna which
  // lives on it, or has let go, stands as an alarm with the name of the antenna.
  Complaint knows_what_it_feeds(const rack::Snapshot& snapshot, const Truth& truth,
                                Moment now) const;

  // After this long without a fault everything is known again.
  static Micros after(const LineSetup& line) {
    return 2 * line.reading_age + std::chrono::seconds{30};
  }

 private:
  // So that all is known by now of whatever is on its line.
  bool is_calm(const TrueNode& one, Moment now) const;

  std::map<plan::LineName, Moment> last_;
};

}  // namespace catwalk::simulation
