// SPDX-License-Identifier: Apache-2.0
#pragma once
// What a check of an invariant gives: nothing, or the invariant that was
// broken, and how.

#include <optional>
#include <string>

namespace catwalk::simulation {

struct Violation {
  std::string invariant;  // "every request is answered once"
  std::string sentence;   // what happened instead
};
using Complaint = std::optional<Violation>;

}  // namespace catwalk::simulation
