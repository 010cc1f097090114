// SPDX-License-Identifier: Apache-2.0
#pragma once
// From what the rack file says of lines to lines.

#include <vector>

#include "config/rack_file.hpp"
#include "daemon/shell/field.hpp"

namespace asio {
class io_context;
}

namespace catwalk::shell {

// Throws std::invalid_argument for what the rack file's checks do not know of: a script that the
// simulation cannot read, for example.
std::vector<NamedLine> make_lines(asio::io_context& io, const config::RackFile& rack,
                                  protocol::Epoch epoch);

}  // namespace catwalk::shell
