// SPDX-License-Identifier: Apache-2.0
// Sends every datagram back to where it came from.
#include <arpa/inet.h>
#include <netinet/in.h>
#include <sys/socket.h>

#include <array>
#include <iostream>

int main() {
  const int handle = ::socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC, 0);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  auto* plain = reinterpret_cast<sockaddr*>(&address);
  socklen_t size = sizeof address;
  if (::bind(handle, plain, size) != 0 || ::getsockname(handle, plain, &size) != 0) return 1;
  std::cout << "ready " << ntohs(address.sin_port) << std::endl;
  std::array<char, 2048> buffer;
  for (;;) {
    size = sizeof address;
    const auto count = ::recvfrom(handle, buffer.data(), buffer.size(), 0, plain, &size);
    if (count < 0) return 1;
    ::sendto(handle, buffer.data(), static_cast<std::size_t>(count), 0, plain, size);
  }
}
