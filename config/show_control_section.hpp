// SPDX-License-Identifier: Apache-2.0
#pragma once
// The "show_control" of a rack file: who may trigger the running order over the network, and who is
// told. Without it no such door is open.

#include <optional>

#include "config/rack_file.hpp"
#include "config/reader.hpp"

namespace catwalk::config {

// Nothing if the member is absent. As far as it could be read; what is wrong has been reported.
std::optional<ShowControlSetup> read_show_control(const Cursor& at);

}  // namespace catwalk::config
