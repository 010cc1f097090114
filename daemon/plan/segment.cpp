// SPDX-License-Identifier: Apache-2.0
#include "daemon/plan/segment.hpp"

#include <algorithm>

namespace catwalk::plan {

std::string_view name_of(LanePurpose purpose) {
  switch (purpose) {
    case LanePurpose::receive:
      return "receive";
    case LanePurpose::transmit:
      return "transmit";
    case LanePurpose::closed:
      return "closed";
  }
  return "?";
}

std::string_view name_of(CarrierUse use) {
  return use == CarrierUse::receive ? "receive" : "transmit";
}

const Carrier* Segment::find(const CarrierName& carrier) const {
  const auto found = std::ranges::find(carriers, carrier, &Carrier::name);
  return found == carriers.end() ? nullptr : &*found;
}
Carrier* Segment::find(const CarrierName& carrier) {
  const auto found = std::ranges::find(carriers, carrier, &Carrier::name);
  return found == carriers.end() ? nullptr : &*found;
}

std::string_view name_of(IfNodeFails policy) {
  return policy == IfNodeFails::roll_back ? "roll back" : "go on";
}

}  // namespace catwalk::plan
