// SPDX-License-Identifier: Apache-2.0
#pragma once
// The settings that a segment wants of one node, held against the node's datasheet and limits: a
// show that could never be switched to is refused when it is read, not when it is needed.

#include "config/rack_facts.hpp"
#include "config/reader.hpp"
#include "daemon/plan/settings.hpp"

namespace catwalk::config {

// What is written over the settings `before` it: members that are given win, the others stay. A
// filter without tuning takes no centre over. What could be read; what is wrong with the rest has
// been reported. If `before` is known to be incomplete, what it lacks is not reported.
plan::SettingsPatch read_settings_patch(const Cursor& at, const NodeFacts& node,
                                        const plan::SettingsPatch& before = {},
                                        bool incomplete = false);

}  // namespace catwalk::config
