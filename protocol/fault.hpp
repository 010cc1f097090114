// SPDX-License-Identifier: Apache-2.0
#pragma once
// Why a command ended without an answer. Of lines, which say it; told apart by this alone.

#include <string_view>

#include "daemon/base/words.hpp"

namespace catwalk::protocol {

enum class Fault {
  timed_out,     // the node did not answer within its retries
  line_down,     // the line is down, or went down with the command under way
  queue_full,    // more commands are waiting than the line keeps
  node_unknown,  // the line has no such node, and its last search found none
  no_key,        // a reclaim of a node for which neither it nor its line has one
  other_speaks,  // another controller speaks there, and nobody has taken over from it
};

// For people.
constexpr auto words_of(Fault) {
  using enum Fault;
  return WordTable<Fault, 6>{{{"timed out", timed_out},
                              {"line down", line_down},
                              {"queue full", queue_full},
                              {"node unknown", node_unknown},
                              {"no key", no_key},
                              {"another controller speaks", other_speaks}}};
}
using catwalk::name_of;

}  // namespace catwalk::protocol
