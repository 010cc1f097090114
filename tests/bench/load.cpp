// SPDX-License-Identifier: Apache-2.0
#include "tests/bench/load.hpp"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <sys/epoll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <stdexcept>

namespace catwalk::test {

Load::Load(std::uint16_t port, std::string request, int connections)
    : request_{std::move(request)},
      connections_(static_cast<std::size_t>(connections)),
      poller_{::epoll_create1(EPOLL_CLOEXEC)} {
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  address.sin_port = htons(port);
  for (std::size_t i = 0; i < connections_.size(); ++i) {
    const int handle = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    connections_[i].handle = handle;
    if (::connect(handle, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0)
      throw std::runtime_error{"nobody listens"};
    const int on = 1;
    ::setsockopt(handle, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
    epoll_event event{};
    event.events = EPOLLIN;
    event.data.u64 = i;
    ::epoll_ctl(poller_, EPOLL_CTL_ADD, handle, &event);
  }
}

Load::~Load() {
  for (const auto& connection : connections_) ::close(connection.handle);
  ::close(poller_);
}

// 1 if a whole answer has come, and takes it away.
std::size_t Load::take_answer(Connection& connection) {
  std::array<char, 16384> buffer;
  const auto count = ::recv(connection.handle, buffer.data(), buffer.size(), 0);
  if (count <= 0) throw std::runtime_error{"the server closed a connection"};
  auto& waiting = connection.waiting;
  waiting.append(buffer.data(), static_cast<std::size_t>(count));
  const auto end = waiting.find("\r\n\r\n");
  if (end == std::string::npos) return 0;
  if (!waiting.starts_with("HTTP/1.1 200")) throw std::runtime_error{waiting};
  const auto length_at = waiting.find("Content-Length: ");
  if (length_at > end) throw std::runtime_error{"no Content-Length"};
  if (waiting.size() < end + 4 + std::stoul(waiting.substr(length_at + 16, 10))) return 0;
  waiting.clear();
  return 1;
}

double Load::run(Seconds time) {
  const auto ask = [this](const Connection& connection) {
    if (::send(connection.handle, request_.data(), request_.size(), MSG_NOSIGNAL) !=
        static_cast<ssize_t>(request_.size()))
      throw std::runtime_error{"the server does not read"};
  };
  for (const auto& connection : connections_) ask(connection);
  std::size_t answers = 0;
  std::size_t under_way = connections_.size();
  std::array<epoll_event, 64> events;
  const auto begin = std::chrono::steady_clock::now();
  auto now = begin;
  while (under_way > 0) {
    const int ready = ::epoll_wait(poller_, events.data(), events.size(), 10'000);
    if (ready <= 0) throw std::runtime_error{"the server does not answer"};
    const bool over = std::chrono::steady_clock::now() - begin > time;
    for (int i = 0; i < ready; ++i) {
      auto& connection = connections_[events[static_cast<std::size_t>(i)].data.u64];
      if (take_answer(connection) == 0) continue;
      ++answers;
      if (over)
        --under_way;
      else
        ask(connection);
    }
    now = std::chrono::steady_clock::now();
  }
  return static_cast<double>(answers) / Seconds{now - begin}.count();
}

}  // namespace catwalk::test
