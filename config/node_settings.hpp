// SPDX-License-Identifier: Apache-2.0
#pragma once
// The settings that a segment wants of one node, held against the node's datasheet and limits: a
// show that could never be switched to is refused when it is read, not when it is needed.

#include "config/reader.hpp"
#include "config/show_file.hpp"
#include "daemon/plan/settings.hpp"

namespace catwalk::config {

// What could be read; what is wrong with the rest has been reported.
plan::SettingsPatch read_settings_patch(const Cursor& at, const NodeFacts& node);

}  // namespace catwalk::config
