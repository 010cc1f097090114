// SPDX-License-Identifier: Apache-2.0
#pragma once
// From what the rack file says of lines to lines.

#include <vector>

#include "config/rack_file.hpp"
#include "daemon/rack/core/core.hpp"
#include "daemon/shell/field.hpp"

namespace asio {
class io_context;
}

namespace catwalk::shell {

// Under which epochs a line speaks. It asks first whom its nodes obey.
struct Voice {
  protocol::Epoch epoch;
  protocol::OurEpochs before;  // of ours
  bool speaks = false;         // where nobody else does; else not before Line::speak_as()
};

// Those that ask, and how long they may take for it: nobody else can be on a simulated one.
rack::AskFirst lines_that_ask(const config::RackFile& rack);

// Throws std::invalid_argument for what the rack file's checks do not know of: a script that the
// simulation cannot read, for example.
std::vector<NamedLine> make_lines(asio::io_context& io, const config::RackFile& rack, Voice voice);

// One of them. Precondition: the rack file has it.
NamedLine make_line(asio::io_context& io, const config::RackFile& rack, const plan::LineName& name,
                    Voice voice);

}  // namespace catwalk::shell
