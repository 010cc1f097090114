// SPDX-License-Identifier: Apache-2.0
// The protocol of sd_notify(3): a datagram to the socket that $NOTIFY_SOCKET names, and the period
// of $WATCHDOG_USEC.
#include "daemon/shell/service_manager.hpp"

#include <doctest/doctest.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <cstddef>
#include <cstdlib>
#include <cstring>
#include <string>

using namespace catwalk::shell;

namespace {

// A service manager's socket in the abstract namespace of Linux: nothing to clean up.
class Manager {
 public:
  Manager() : handle_{::socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0)} {
    const auto name = "catwalk-test-" + std::to_string(::getpid());
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    std::memcpy(address.sun_path + 1, name.data(), name.size());
    const auto size = static_cast<socklen_t>(offsetof(sockaddr_un, sun_path) + 1 + name.size());
    REQUIRE(::bind(handle_, reinterpret_cast<const sockaddr*>(&address), size) == 0);
    ::setenv("NOTIFY_SOCKET", ('@' + name).c_str(), 1);
  }
  Manager(const Manager&) = delete;
  Manager& operator=(const Manager&) = delete;
  ~Manager() {
    ::unsetenv("NOTIFY_SOCKET");
    ::close(handle_);
  }
  std::string heard() const {
    char text[64];
    const auto size = ::recv(handle_, text, sizeof text, MSG_DONTWAIT);
    return size < 0 ? std::string{"nothing"} : std::string(text, static_cast<std::size_t>(size));
  }

 private:
  int handle_;
};

}  // namespace

TEST_CASE("the service manager hears what it is told, word for word") {
  const Manager manager;
  tell_service_manager("READY=1");
  tell_service_manager("WATCHDOG=1");
  CHECK(manager.heard() == "READY=1");
  CHECK(manager.heard() == "WATCHDOG=1");
  CHECK(manager.heard() == "nothing");
}

TEST_CASE("without a service manager, or with one whose socket is gone, nothing happens") {
  ::unsetenv("NOTIFY_SOCKET");
  tell_service_manager("READY=1");
  const Manager manager;
  ::setenv("NOTIFY_SOCKET", "", 1);
  tell_service_manager("READY=1");
  ::setenv("NOTIFY_SOCKET", "/no/such/socket", 1);
  tell_service_manager("READY=1");
  ::setenv("NOTIFY_SOCKET", std::string(200, 'x').c_str(), 1);
  tell_service_manager("READY=1");
  CHECK(manager.heard() == "nothing");
}

TEST_CASE("the watchdog is fed at half its period, and not at all if there is none") {
  ::unsetenv("WATCHDOG_USEC");
  CHECK_FALSE(watchdog_interval());
  ::setenv("WATCHDOG_USEC", "30000000", 1);
  CHECK(watchdog_interval() == std::chrono::seconds{15});
  for (const char* bad : {"", "0", "-5", "soon", "30s"}) {
    CAPTURE(bad);
    ::setenv("WATCHDOG_USEC", bad, 1);
    CHECK_FALSE(watchdog_interval());
  }
  ::unsetenv("WATCHDOG_USEC");
}
