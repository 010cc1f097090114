// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

namespace catwalk::rack {

// A named person's reason to go on in spite of a caution. Both parts are needed.
struct Waiver {
  std::string who;
  std::string reason;
  friend bool operator==(const Waiver&, const Waiver&) = default;

  bool is_signed() const { return !who.empty() && !reason.empty(); }
  // "ana: heard at the rehearsal"
  std::string text() const { return who + ": " + reason; }
};

}  // namespace catwalk::rack
