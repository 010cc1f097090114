// SPDX-License-Identifier: Apache-2.0
#pragma once
// The state of the rack as subscribers are told it: the messages under /catwalk/state/, always all
// of them, so that whoever missed some needs only the last. README.md beside this file has them.

#include <vector>

#include "daemon/control/osc_packet.hpp"
#include "daemon/rack/values/snapshot.hpp"

namespace catwalk::control {

std::vector<Message> state_of(const rack::Snapshot& snapshot);

}  // namespace catwalk::control
