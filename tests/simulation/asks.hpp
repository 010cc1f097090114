// SPDX-License-Identifier: Apache-2.0
#pragma once
// Who waits for an answer.

#include <map>

#include "daemon/rack/core/effect.hpp"
#include "tests/simulation/violation.hpp"
#include "tests/simulation/virtual_clock.hpp"

namespace catwalk::simulation {

struct Ask {
  enum class Kind { change, adopt, reapply, segment, lock, arming, switching, other };
  Kind kind = Kind::other;
  plan::NodeName node = {};
  bool waiver = false;
  bool dry_run = false;
  bool locks = false;  // of a lock: on or off
  plan::SegmentName segment = {};
  Moment at = {};
  bool accepted = false;
};

class Asks {
 public:
  void asked(rack::RequestId request, Ask ask) { waiting_.emplace(request, std::move(ask)); }
  // "Every request is answered once; a change that is accepted, once more with
  // its fate." The ask is handed out, and forgotten if this was its last
  // answer.
  Complaint answered(const rack::Respond& respond, Ask& ask);
  // Precondition: no command and no record is under way. "Who asked is answered
  // when what it took has ended." `looks_ahead`: the way of an armed cue is being
  // planned, or has to wait for the end of a switch.
  Complaint nobody_waits(bool looks_ahead) const;
  // In the end nobody waits for anything.
  Complaint all_answered() const;
  bool adopts(const plan::NodeName& node) const;
  // Nobody waits any longer: their connections are closed.
  void daemon_gone() { waiting_.clear(); }

 private:
  std::map<rack::RequestId, Ask> waiting_;
};

}  // namespace catwalk::simulation
