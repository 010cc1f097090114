// SPDX-License-Identifier: Apache-2.0
#pragma once
// What the rack says of itself has to hold together: the snapshot, its alarms,
// and what is on the disk.

#include "daemon/rack/values/snapshot.hpp"
#include "tests/simulation/asks.hpp"
#include "tests/simulation/store_model.hpp"
#include "tests/simulation/violation.hpp"

namespace catwalk::simulation {

// "Every difference between wanted and seen is explained": by a change under
// way, an adoption, or an alarm that stands, from the first reading on after
// whatever ended. `now` is a snapshot of which this node is a new view,
// `before` its view until then (or null).
Complaint difference_is_explained(const rack::Snapshot& now, const rack::NodeView& node,
                                  const rack::NodeView* before, bool adopting);

// "An alarm stands as long as its reason, and no longer." While a node is being
// adopted its drift is not judged.
Complaint alarms_have_reasons(const rack::Snapshot& now, const Asks& asks);

// Precondition: no command and no record is under way. "What is under way ends
// when its commands and records have": no change waits for anything but a first
// reading.
Complaint nothing_hangs(const rack::Snapshot& now);

// Precondition: no record is under way or owed. "The disk is what the rack is":
// wanted settings, alarms, lock, segment, epoch.
Complaint disk_agrees(const rack::Snapshot& now, const Kept& kept);

// Precondition: everything has ended. "Every intent has one fate in the
// journal."
Complaint journal_is_complete(const Kept& kept);

}  // namespace catwalk::simulation
