// SPDX-License-Identifier: Apache-2.0
#pragma once
// Why a command ended without an answer. Of lines, which say it; told apart by this alone.

#include <string_view>

namespace catwalk::protocol {

enum class Fault {
  timed_out,     // the node did not answer within its retries
  line_down,     // the line is down, or went down with the command under way
  queue_full,    // more commands are waiting than the line keeps
  node_unknown,  // the line has no such node, and its last search found none
  no_key,        // a reclaim of a node for which neither it nor its line has one
  other_speaks,  // another controller speaks there, and nobody has taken over from it
};

// For people: "timed out", "line down" …
constexpr std::string_view name_of(Fault fault) {
  switch (fault) {
    case Fault::timed_out:
      return "timed out";
    case Fault::line_down:
      return "line down";
    case Fault::queue_full:
      return "queue full";
    case Fault::node_unknown:
      return "node unknown";
    case Fault::no_key:
      return "no key of it is known here: key_file";
    case Fault::other_speaks:
      return "another controller speaks to it";
  }
  return "?";
}

}  // namespace catwalk::protocol
