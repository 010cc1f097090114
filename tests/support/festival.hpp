// SPDX-License-Identifier: Apache-2.0
#pragma once
// A show in five segments for the nodes of a Rig: in each, the microphones sing on other
// frequencies and every antenna follows them.

#include <map>
#include <string>

#include "tests/support/rig.hpp"

namespace catwalk::test {

struct Festival {
  // The microphone's frequency; the windows of all four nodes are centred on it.
  static const std::map<std::string, double>& segments();

  // `cues`: of the running order, in its words.
  static Json show(const Json& cues, const Json& order = Json::object());

  // Which segment a node's settings are of; empty: of none.
  static std::string segment_of(const Json& settings);

  // Every node is where this segment has it, as it was read last.
  static bool all_in(Rig& rig, const std::string& segment);
};

}  // namespace catwalk::test
