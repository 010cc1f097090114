// SPDX-License-Identifier: Apache-2.0
#pragma once
// What a line tells of a node that it found, as the rack hears it.

#include "daemon/rack/core/event.hpp"
#include "drivers/line/line.hpp"

namespace catwalk::shell {

inline rack::NodeDiscovered found_on(const plan::LineName& line,
                                     const drivers::NodeDiscovered& what) {
  return {line,
          what.node,
          what.address,
          what.identity,
          what.endpoint ? text_of(*what.endpoint) : std::string{},
          std::string{sentence_of(what.doubt)}};
}

}  // namespace catwalk::shell
