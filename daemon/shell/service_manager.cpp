// SPDX-License-Identifier: Apache-2.0
#include "daemon/shell/service_manager.hpp"

#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <algorithm>
#include <charconv>
#include <cstddef>
#include <cstdlib>
#include <cstring>

namespace catwalk::shell {

void tell_service_manager(std::string_view state) {
  const char* name = std::getenv("NOTIFY_SOCKET");
  if (name == nullptr) return;
  const std::size_t length = std::strlen(name);
  sockaddr_un address{};
  if (length == 0 || length >= sizeof address.sun_path) return;
  address.sun_family = AF_UNIX;
  std::copy_n(name, length, address.sun_path);
  if (address.sun_path[0] == '@') address.sun_path[0] = '\0';  // an abstract socket
  const int handle = ::socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0);
  if (handle < 0) return;
  const auto size = static_cast<socklen_t>(offsetof(sockaddr_un, sun_path) + length);
  // Nobody to tell of a failure: the service manager acts by itself when it hears nothing.
  (void)::sendto(handle, state.data(), state.size(), MSG_NOSIGNAL,
                 reinterpret_cast<const sockaddr*>(&address), size);
  ::close(handle);
}

std::optional<std::chrono::microseconds> watchdog_interval() {
  const char* text = std::getenv("WATCHDOG_USEC");
  if (text == nullptr) return std::nullopt;
  std::int64_t micros = 0;
  const auto [end, error] = std::from_chars(text, text + std::strlen(text), micros);
  if (error != std::errc{} || *end != '\0' || micros <= 0) return std::nullopt;
  return std::chrono::microseconds{micros / 2};
}

}  // namespace catwalk::shell
