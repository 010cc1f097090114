// SPDX-License-Identifier: Apache-2.0
#pragma once
// What the system says of this process. Internal to the room.

#include <optional>

#include "web/server/documents/figures.hpp"

namespace catwalk::web {

// Nothing: it does not say.
std::optional<ProcessFigures> process_figures();

}  // namespace catwalk::web
