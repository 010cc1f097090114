// SPDX-License-Identifier: Apache-2.0
#pragma once
// The files are read again: all of what they say is in force then, or nothing of it.

#include <asio.hpp>
#include <string>
#include <vector>

#include "config/rack_file.hpp"
#include "daemon/shell/certificate.hpp"
#include "daemon/shell/field.hpp"
#include "daemon/shell/options.hpp"
#include "web/server/wire/server.hpp"

namespace catwalk::shell {

// What takes part in it.
struct Running {
  asio::io_context& io;
  const Options& options;
  config::RackFile& rack;
  Field& field;
  web::Server& server;
  Certificate& certificate;
};

// Nothing: the files are in force. Else why they were not taken, and the old ones stay, all of
// them.
web::NotTaken reload(const Running& running, const std::string& who);

}  // namespace catwalk::shell
