// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/values/outcome.hpp"

namespace catwalk::rack {

std::string_view name_of(Outcome outcome) {
  switch (outcome) {
    case Outcome::done:
      return "done";
    case Outcome::checked:
      return "checked";
    case Outcome::accepted:
      return "accepted";
    case Outcome::settled:
      return "settled";
    case Outcome::refused:
      return "refused";
    case Outcome::needs_waiver:
      return "needs-waiver";
    case Outcome::failed:
      return "failed";
    case Outcome::unreachable:
      return "unreachable";
    case Outcome::stale:
      return "stale";
    case Outcome::busy:
      return "busy";
    case Outcome::unknown_name:
      return "unknown-name";
    case Outcome::not_recorded:
      return "not-recorded";
    case Outcome::rolled_back:
      return "rolled-back";
    case Outcome::stuck:
      return "stuck";
  }
  return "?";
}

}  // namespace catwalk::rack
