// SPDX-License-Identifier: Apache-2.0
#pragma once
// What is new of a node, so that a rack that nothing happens to is told in few bytes.

#include "daemon/rack/values/snapshot.hpp"
#include "web/server/documents/render.hpp"

namespace catwalk::web {

// Of two documents of the same node, as of the same moment: a JSON Merge Patch (RFC 7396) that
// makes the second of the first. It has the name, and age and quality of a reading, which are
// others each time, whether or not they differ.
Json node_patch(const Json& before, const Json& after);

// The same node, read once more, and nothing has changed that anybody would have to act on:
// voltages, temperature, detector, uptime, what a matrix measures at its inputs.
bool has_new_figures_only(const rack::NodeView& before, const rack::NodeView& after);

}  // namespace catwalk::web
