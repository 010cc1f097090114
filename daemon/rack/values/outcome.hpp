// SPDX-License-Identifier: Apache-2.0
#pragma once
// How a request ended, or would end.

#include <string_view>

#include "daemon/base/words.hpp"

namespace catwalk::rack {

enum class Outcome {
  done,          // of requests that are not changes
  checked,       // a dry run: the verdict says how it would go
  accepted,      // the intent is durable; the fate follows in a second answer
  settled,       // the node read back what was wanted
  refused,       // the verdict refuses
  needs_waiver,  // the verdict has cautions and nobody signed for them
  failed,        // the node refused, or reads back something else
  unreachable,   // the node did not answer, or its line is down
  stale,         // if_revision is not the present revision
  busy,          // another change of this node is under way
  unknown_name,  // no such node, line, segment or alarm
  not_recorded,  // the store cannot write: nothing was changed, or the detail says what was
  rolled_back,   // a switch: every node is as it was before
  stuck,         // a switch: some nodes are here and some there, the answer says which
};
constexpr auto words_of(Outcome) {
  using enum Outcome;
  return WordTable<Outcome, 14>{{{"done", done},
                                 {"checked", checked},
                                 {"accepted", accepted},
                                 {"settled", settled},
                                 {"refused", refused},
                                 {"needs-waiver", needs_waiver},
                                 {"failed", failed},
                                 {"unreachable", unreachable},
                                 {"stale", stale},
                                 {"busy", busy},
                                 {"unknown-name", unknown_name},
                                 {"not-recorded", not_recorded},
                                 {"rolled-back", rolled_back},
                                 {"stuck", stuck}}};
}
using catwalk::name_of;

}  // namespace catwalk::rack
