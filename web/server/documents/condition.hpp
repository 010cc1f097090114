// SPDX-License-Identifier: Apache-2.0
#pragma once
// What there is to say of a node in a word or two, for lists of nodes. What depends on the time
// that has gone by since it was read is not here: that is the quality of the reading.

#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/words.hpp"
#include "daemon/rack/values/snapshot.hpp"

namespace catwalk::web {

enum class Level {
  fault,    // it does not do what the show needs
  caution,  // somebody has to look
  moving,   // something is under way
  calm,     // as wanted
};
constexpr auto words_of(Level) {
  using enum Level;
  return WordTable<Level, 4>{
      {{"fault", fault}, {"caution", caution}, {"moving", moving}, {"calm", calm}}};
}
using catwalk::name_of;

struct Condition {
  Level level = Level::calm;
  // That of the alarm which tells of the same, where there is one; else a name of its own.
  std::string_view kind;
  std::string word;
  std::string sentence = {};  // what it means, or what to do; empty: the word says it
};

// Worst first, and never empty.
std::vector<Condition> conditions_of(const rack::NodeView& node);

// Where it hangs, as people group nodes: "floating stage" of "floating stage, bow mast"; empty
// where nothing is said.
std::string place_of(const rack::NodeView& node);

}  // namespace catwalk::web
