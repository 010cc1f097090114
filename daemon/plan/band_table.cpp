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

std::string_view name_of(BandBasis basis) {
  switch (basis) {
    case BandBasis::not_said:
      return "nobody says how it was read";
    case BandBasis::read:
      return "read in the text named";
    case BandBasis::read_in_part:
      return "read in part";
    case BandBasis::secondary:
      return "read in a secondary text";
    case BandBasis::memory:
      return "from memory";
  }
  return "?";
}

std::string_view name_of(PowerKind kind) {
  switch (kind) {
    case PowerKind::conducted:
      return "conducted";
    case PowerKind::erp:
      return "e.r.p.";
    case PowerKind::eirp:
      return "e.i.r.p.";
  }
  return "?";
}

}  // namespace catwalk::plan
