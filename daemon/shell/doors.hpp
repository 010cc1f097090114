// SPDX-License-Identifier: Apache-2.0
#pragma once
// What the rack file says of the panel side's doors, as the panel side is told it.

#include <memory>
#include <string>
#include <vector>

#include "config/rack_file.hpp"
#include "daemon/base/result.hpp"
#include "daemon/shell/options.hpp"
#include "web/server/wire/server.hpp"

namespace catwalk::shell {

std::vector<web::Token> tokens_of(const config::RackFile& rack);
std::vector<web::LocalUser> local_users_of(const config::RackFile& rack);
// Null: the rack file has none.
Result<std::shared_ptr<const web::Tls>, std::string> read_tls(const config::RackFile& rack);
web::ServerOptions server_options(const config::RackFile& rack, const Options& options,
                                  std::string login_key, std::shared_ptr<const web::Tls> tls);

}  // namespace catwalk::shell
