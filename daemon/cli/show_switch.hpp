// SPDX-License-Identifier: Apache-2.0
#pragma once
// The running order, previews and switches as people read them.

#include <string>

#include "daemon/cli/wording.hpp"

namespace catwalk::cli {

std::string show_order(const Json& order);
// An armed cue with what it would come to.
std::string show_armed(const Json& armed);
std::string show_preview(const Json& preview);
// Whom it moved, and whoever is not where it should be with what to do.
std::string show_switch(const Json& switched);
// "switch 41: arrival → finale, applying, step 1 of 2"
std::string switch_words(const Json& switched);
// "running order: at doors, next finale at 2026-08-14 18:00:00Z; finale is armed by Ana until …"
std::string order_words(const Json& order);

}  // namespace catwalk::cli
