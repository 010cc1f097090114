// SPDX-License-Identifier: Apache-2.0
#pragma once
// What whoever asked is told.

#include <optional>
#include <string>

#include "daemon/rack/values/alarm.hpp"
#include "daemon/rack/values/ids.hpp"
#include "daemon/rack/values/outcome.hpp"
#include "daemon/rack/values/snapshot.hpp"
#include "daemon/rack/values/verdict.hpp"

namespace catwalk::rack {

struct Answer {
  Outcome outcome = Outcome::done;
  std::string detail = {};  // a sentence: why, if it did not go as asked
  Verdict verdict = {};
  ChangeId change = 0;              // 0: none was made
  NodeViewPtr node = {};            // as it is now; null if the request named none
  SwitchViewPtr switching = {};     // of requests about a switch
  std::optional<Alarm> alarm = {};  // of requests about an alarm: as it is now
  std::optional<Armed> armed = {};  // of the request to arm a cue
};

}  // namespace catwalk::rack
