// SPDX-License-Identifier: Apache-2.0
#include "daemon/shell/doors.hpp"

#include <utility>

namespace catwalk::shell {

std::vector<web::Token> tokens_of(const config::RackFile& rack) {
  std::vector<web::Token> tokens;
  for (const auto& token : rack.tokens) tokens.push_back({token.name, token.role, token.sha256});
  return tokens;
}

std::vector<web::LocalUser> local_users_of(const config::RackFile& rack) {
  std::vector<web::LocalUser> users;
  for (const auto& user : rack.local_users) users.push_back({user.name, user.role});
  return users;
}

Result<std::shared_ptr<const web::Tls>, std::string> read_tls(const config::RackFile& rack) {
  const auto& files = rack.server.tls;
  if (!files) return std::shared_ptr<const web::Tls>{};
  return web::Tls::read({files->certificate.string(), files->private_key.string()});
}

web::ServerOptions server_options(const config::RackFile& rack, const Options& options,
                                  std::string login_key, std::shared_ptr<const web::Tls> tls) {
  web::ServerOptions server;
  server.host = rack.server.host;
  server.port = options.port.value_or(rack.server.port);
  server.socket = options.socket;
  const bool v6 = server.host.find(':') != std::string::npos;
  server.doors.hosts = {"localhost", "127.0.0.1", "[::1]",
                        v6 ? '[' + server.host + ']' : server.host};
  for (const auto& name : rack.server.allowed_hosts) server.doors.hosts.push_back(name);
  server.doors.tokens = tokens_of(rack);
  server.doors.local_users = local_users_of(rack);
  server.doors.secure = rack.server.tls || rack.server.behind_tls_proxy;
  server.doors.without_tls_because = rack.server.without_tls_because;
  server.tls = std::move(tls);
  server.login_lasts = rack.server.login_lasts;
  server.login_key = std::move(login_key);
  server.version = options.version;
  server.commit = options.commit;
  return server;
}

}  // namespace catwalk::shell
