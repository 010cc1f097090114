// SPDX-License-Identifier: Apache-2.0
#include "tests/hostile/exchange.hpp"

#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <charconv>
#include <optional>
#include <stdexcept>

#include "tests/support/raw_socket.hpp"

namespace catwalk::test {
namespace {

constexpr int patience_ms = 10'000;

Handle connected(std::uint16_t port) {
  Handle handle{::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0)};
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  address.sin_port = htons(port);
  if (::connect(handle.number(), reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0)
    throw std::runtime_error{"nobody listens on port " + std::to_string(port)};
  ::fcntl(handle.number(), F_SETFL, O_NONBLOCK);
  return handle;
}

bool would_block() { return errno == EAGAIN || errno == EWOULDBLOCK || errno == EINTR; }

bool is_of_token(char c) {
  constexpr std::string_view others = "!#$%&'*+-.^_`|~";
  return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
         others.find(c) != std::string_view::npos;
}

bool is_of_value(char c) {
  const auto byte = static_cast<unsigned char>(c);
  return byte == '\t' || (byte >= 0x20 && byte != 0x7F);
}

std::optional<std::size_t> number_in(std::string_view text) {
  std::size_t number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error != std::errc{} || end != text.data() + text.size()) return std::nullopt;
  return number;
}

// One answer at the front of `rest`, which is taken off it. A sentence if it is none.
std::string take_answer(std::string_view& rest, Answers& answers) {
  const auto end = rest.find("\r\n\r\n");
  if (end == std::string_view::npos) return "no end of a header";
  auto head = rest.substr(0, end + 2);
  rest.remove_prefix(end + 4);
  const auto line_end = head.find("\r\n");
  if (!head.starts_with("HTTP/1.1 ")) return "no status line: " + std::string{head.substr(0, 40)};
  const auto status = number_in(head.substr(9, 3));
  if (!status || *status < 100 || *status > 599 || line_end < 13 || head[12] != ' ')
    return "no status line: " + std::string{head.substr(0, 40)};
  head.remove_prefix(line_end + 2);
  Answers::One one{static_cast<int>(*status), {}, {}};
  std::optional<std::size_t> length;
  while (!head.empty()) {
    const auto line = head.substr(0, head.find("\r\n"));
    head.remove_prefix(line.size() + 2);
    const auto colon = line.find(": ");
    if (colon == 0 || colon == std::string_view::npos ||
        !std::ranges::all_of(line.substr(0, colon), is_of_token) ||
        !std::ranges::all_of(line.substr(colon + 2), is_of_value))
      return "no header field: " + std::string{line.substr(0, 80)};
    const auto value = line.substr(colon + 2);
    if (line.starts_with("Content-Type:")) one.type = value;
    if (!line.starts_with("Content-Length:")) continue;
    if (length) return "two lengths";
    length = number_in(value);
    if (!length) return "no length: " + std::string{value};
  }
  const bool has_none = *status == 204 || *status == 304 || *status < 200;
  if (has_none == length.has_value()) return "a length where there is none, or none where one is";
  // After HEAD there is no body, whatever the length says; no body of ours begins like an answer.
  if (length && !rest.empty() && !rest.starts_with("HTTP/1.1 ")) {
    if (rest.size() < *length) return "half a body";
    one.body = rest.substr(0, *length);
    rest.remove_prefix(*length);
  }
  answers.all.push_back(one);
  return {};
}

}  // namespace

Exchange converse(std::uint16_t port, std::string_view bytes) {
  const auto handle = connected(port);
  Exchange result;
  std::array<char, 65'536> buffer;
  bool said_all = false;
  for (;;) {
    if (bytes.empty() && !said_all) {
      said_all = true;
      ::shutdown(handle.number(), SHUT_WR);
    }
    pollfd one{handle.number(), static_cast<short>(POLLIN | (bytes.empty() ? 0 : POLLOUT)), 0};
    if (::poll(&one, 1, patience_ms) != 1) return result;
    if ((one.revents & POLLOUT) != 0) {
      const auto sent = ::send(handle.number(), bytes.data(), bytes.size(), MSG_NOSIGNAL);
      if (sent > 0) bytes.remove_prefix(static_cast<std::size_t>(sent));
      // Whoever does not listen any more may have answered still.
      if (sent < 0 && !would_block()) bytes = {};
    }
    if ((one.revents & (POLLIN | POLLHUP | POLLERR)) == 0) continue;
    const auto got = ::recv(handle.number(), buffer.data(), buffer.size(), 0);
    if (got < 0 && would_block()) continue;
    if (got <= 0) {
      result.ended = got == 0;
      return result;
    }
    result.bytes.append(buffer.data(), static_cast<std::size_t>(got));
  }
}

Answers read_answers(std::string_view bytes) {
  Answers answers;
  while (!bytes.empty()) {
    answers.fault = take_answer(bytes, answers);
    if (!answers.fault.empty() || answers.all.back().status == 101) break;
  }
  return answers;
}

}  // namespace catwalk::test
