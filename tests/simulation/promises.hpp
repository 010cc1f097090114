// SPDX-License-Identifier: Apache-2.0
#pragma once
// What somebody was told is decided, and so has to stay until somebody decides
// otherwise, whatever happens to the daemon.

#include <map>
#include <optional>
#include <set>
#include <vector>

#include "daemon/rack/core/effect.hpp"
#include "daemon/rack/values/snapshot.hpp"
#include "tests/simulation/asks.hpp"
#include "tests/simulation/store_model.hpp"
#include "tests/simulation/violation.hpp"

namespace catwalk::simulation {

class Promises {
 public:
  void record_asked(const rack::Record& record);
  void record_ended(rack::RecordId record, bool kept, const Kept& disk);

  // "What is acknowledged is durable."
  Complaint answered(const Ask& ask, const rack::Answer& answer, const Kept& kept);
  // "Wanted moves only when somebody decides": of each node that has no
  // decision under way.
  Complaint wanted_as_promised(const rack::NodeView& node, bool adopting, bool switched,
                               const Kept& kept);
  // "No acknowledged change is lost": a switch that was answered done stays done, though the daemon
  // was killed before that was durable.
  Complaint switch_ended(const rack::SwitchView& view) const;
  // Somebody takes over from another controller: what its nodes show is what is wanted, and of
  // those that were never seen nothing is.
  void taken_over(const rack::Snapshot& before, const Kept& kept);
  // The journal is set aside: what was wanted is nobody's promise any more. The lock and the
  // segment still are.
  void journal_lost();
  // "No acknowledged change is lost": what the next run is given is what was
  // promised, or what was asked for since.
  Complaint restored(const rack::Restored& restored);

 private:
  // Something that may be on the disk by now, decided after what was promised.
  template <class T>
  struct Later {
    rack::RecordId record = 0;  // 0: it was on the disk before
    std::optional<T> what;      // nothing: it is wanted no more
  };
  template <class T>
  struct Promised {
    std::optional<T> what;  // nothing was promised yet
    std::vector<Later<T>> later;

    // `record`: the one that made it durable; all up to that is decided.
    void now(T value, rack::RecordId record) {
      std::erase_if(later, [&](const Later<T>& one) { return one.record <= record; });
      what = std::move(value);
    }
    bool may_be(const std::optional<T>& value) const {
      if (!what || what == value) return true;
      for (const auto& one : later)
        if (one.what == value) return true;
      return false;
    }
  };

  bool is_or_is_later(const Kept& kept, protocol::NodeUid node) const;

  std::map<protocol::NodeUid, Promised<plan::NodeSettings>> wanted_;
  Promised<bool> lock_{.what = false, .later = {}};
  Promised<std::string> segment_;
  rack::ChangeId done_ = 0;                             // the switch that was answered done last
  std::map<rack::ChangeId, rack::Unfinished> intents_;  // of this run
  std::set<rack::RecordId> ends_switch_;                // of this run
  std::set<protocol::NodeUid> taken_over_;              // of this run, not heard to be durable yet
  rack::RecordId recorded_ = 0;                         // the last that became durable
};

}  // namespace catwalk::simulation
