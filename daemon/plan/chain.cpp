// SPDX-License-Identifier: Apache-2.0
#include "daemon/plan/chain.hpp"

#include <cstdio>

#include "daemon/base/overloaded.hpp"

namespace catwalk::plan {
namespace {

std::string metres(rf::Metres length) {
  char text[32];
  std::snprintf(text, sizeof text, "%.4g m", length.value());
  return text;
}

}  // namespace

std::string name_of(const ChainPart& part) {
  return std::visit(Overloaded{[](const CablePiece& cable) {
                                 return cable.type->name + ", " + metres(cable.length);
                               },
                               [](const FixedLoss& loss) { return loss.name; },
                               [](const Splitter& splitter) { return splitter.name; },
                               [](const RackAmplifier& amplifier) { return amplifier.name; }},
                    part);
}

}  // namespace catwalk::plan
