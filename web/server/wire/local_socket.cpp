// SPDX-License-Identifier: Apache-2.0
#include "web/server/wire/local_socket.hpp"

#include <pwd.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <utility>
// Boost 1.74 needs <utility> first.
#include <boost/asio/io_context.hpp>
#include <boost/asio/local/stream_protocol.hpp>

namespace catwalk::web {
namespace {

std::string user_name(uid_t user) {
  std::array<char, 4'096> text{};
  passwd entry{};
  passwd* found = nullptr;
  getpwuid_r(user, &entry, text.data(), text.size(), &found);
  return found == nullptr ? "uid " + std::to_string(user) : std::string{found->pw_name};
}

bool somebody_listens(const std::filesystem::path& file) {
  boost::asio::io_context io;
  boost::asio::local::stream_protocol::socket probe{io};
  boost::system::error_code error;
  probe.connect({file.string()}, error);
  return !error;
}

}  // namespace

std::optional<std::string> make_way_for_socket(const std::filesystem::path& file) {
  std::error_code error;
  const auto status = std::filesystem::symlink_status(file, error);
  if (!std::filesystem::exists(status)) return std::nullopt;
  if (!std::filesystem::is_socket(status)) return file.string() + " is there, and is no socket";
  if (somebody_listens(file)) return "another program listens on " + file.string();
  std::filesystem::remove(file, error);
  if (error) return file.string() + " cannot be removed: " + error.message();
  return std::nullopt;
}

Peer peer_of(int socket) {
  ucred credentials{};
  socklen_t size = sizeof credentials;
  if (getsockopt(socket, SOL_SOCKET, SO_PEERCRED, &credentials, &size) != 0)
    return {"unknown", false};
  const auto user = credentials.uid;
  return {user_name(user), user == 0 || user == geteuid()};
}

}  // namespace catwalk::web
