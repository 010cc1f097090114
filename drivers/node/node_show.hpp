// SPDX-License-Identifier: Apache-2.0
#pragma once
// What an emulated node is at, in one line, for whoever stands beside it:
//
//   7a10-0000002f gain=6.00dB filter=0 centre=566.125000MHz power=on label="jetty" powered=yes …
//
// Gain and centre have the units of the knob (node_actions.hpp), and are taken there as shown here.

#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/result.hpp"
#include "drivers/node/emulated_node.hpp"

namespace catwalk::drivers {

std::string shown(const EmulatedNode& node, Moment now);

// The lines of the node with this uid, or of "all". Fails with a sentence if there is none.
Result<std::string, std::string> shown(const std::vector<EmulatedNode*>& nodes,
                                       std::string_view name, Moment now);

}  // namespace catwalk::drivers
