// SPDX-License-Identifier: Apache-2.0
#pragma once
// What is particular to the Unix socket: its file, and that the system knows who is at the other
// end. Internal to the room.

#include <filesystem>
#include <optional>
#include <string>

#include "web/server/http/http.hpp"

namespace catwalk::web {

// Takes away the socket that a daemon left when it was killed, so that another can stand in its
// place. Else a sentence: somebody listens there, or something else has that name.
std::optional<std::string> make_way_for_socket(const std::filesystem::path& file);

// unix(7), SO_PEERCRED. `socket`: the descriptor of a connected Unix socket.
Peer peer_of(int socket);

}  // namespace catwalk::web
