// SPDX-License-Identifier: Apache-2.0
#include "daemon/plan/segment.hpp"

#include <algorithm>

namespace catwalk::plan {

const Carrier* Segment::find(const CarrierName& carrier) const {
  const auto found = std::ranges::find(carriers, carrier, &Carrier::name);
  return found == carriers.end() ? nullptr : &*found;
}
Carrier* Segment::find(const CarrierName& carrier) {
  const auto found = std::ranges::find(carriers, carrier, &Carrier::name);
  return found == carriers.end() ? nullptr : &*found;
}

}  // namespace catwalk::plan
