// SPDX-License-Identifier: Apache-2.0
#pragma once
// What happens to one show, action by action: all that is random in a run, as a
// text that can be kept, shortened and run again.
//
//   # any remark
//   show 17 8c1f3a90d27be645              the seed of the show, and the
//   fingerprint of its text length 3600s at 12.5s change node=n0 gain=6
//   at 12.503s crash effects=1
//
// "routed 17 …" in the place of "show 17 …": with matrices.

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/result.hpp"
#include "tests/simulation/action.hpp"
#include "tests/simulation/show.hpp"

namespace catwalk::simulation {

struct Timed {
  Micros at{0};  // from the start
  Action action;
};

struct Script {
  std::uint64_t show = 0;
  Micros length{0};
  std::vector<Timed> actions;  // in the order of their times
  bool routed = false;         // the show with matrices
};
Show show_of(const Script& script);

// As many hours of people, weather and bad luck as are asked for; and, if wanted, a tenth of the
// nodes lie for some of the time.
enum class Honesty { all_honest, some_lie };
Script random_script(const Show& show, Micros length, Honesty honesty = Honesty::all_honest);
// What happens at and about the matrices of the show beside that. To be sorted by time afterwards.
void add_matrices(const Show& show, Script& script, Honesty honesty);

std::string words(const Script& script);

// The error names the line, the word at fault and what is allowed. A show that
// has become another since the script was written is an error too: the script
// would say nothing any more.
Result<Script, std::string> script_from(std::string_view text);

}  // namespace catwalk::simulation
