// SPDX-License-Identifier: Apache-2.0
#include "daemon/plan/band_table.hpp"

namespace catwalk::plan {

std::string_view name_of(BandStatus status) {
  switch (status) {
    case BandStatus::open:
      return "open";
    case BandStatus::restricted:
      return "restricted";
    case BandStatus::closed:
      return "closed";
    case BandStatus::check_with_regulator:
      return "check with the regulator";
  }
  return "?";
}

}  // namespace catwalk::plan
