// SPDX-License-Identifier: Apache-2.0
#include "tests/support/raw_socket.hpp"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <stdexcept>
#include <utility>

namespace catwalk::test {
namespace {

constexpr int patience_ms = 10'000;

sockaddr_in loopback(std::uint16_t port) {
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  address.sin_port = htons(port);
  return address;
}

const sockaddr* plain(const sockaddr_in& address) {
  return reinterpret_cast<const sockaddr*>(&address);
}

std::uint16_t port_of(int handle) {
  sockaddr_in address{};
  socklen_t size = sizeof address;
  ::getsockname(handle, reinterpret_cast<sockaddr*>(&address), &size);
  return ntohs(address.sin_port);
}

int opened(int type) {
  const int handle = ::socket(AF_INET, type | SOCK_CLOEXEC, 0);
  if (handle < 0) throw std::runtime_error{"no socket"};
  return handle;
}

bool readable(int handle, int milliseconds) {
  pollfd one{handle, POLLIN, 0};
  return ::poll(&one, 1, milliseconds) == 1;
}

bool write_all(int handle, std::string_view bytes) {
  while (!bytes.empty()) {
    const auto sent = ::send(handle, bytes.data(), bytes.size(), MSG_NOSIGNAL);
    if (sent <= 0) return false;
    bytes.remove_prefix(static_cast<std::size_t>(sent));
  }
  return true;
}

std::string lower_case(std::string text) {
  for (auto& c : text)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return text;
}

std::size_t content_length(const std::string& head) {
  const auto at = lower_case(head).find("\r\ncontent-length:");
  return at == std::string::npos ? 0 : std::stoul(head.substr(at + 17));
}

}  // namespace

Handle::~Handle() {
  if (number_ >= 0) ::close(number_);
}

TcpClient::TcpClient(std::uint16_t port) : handle_{opened(SOCK_STREAM)} {
  const auto address = loopback(port);
  if (::connect(handle_.number(), plain(address), sizeof address) != 0)
    throw std::runtime_error{"nobody listens on port " + std::to_string(port)};
}

bool TcpClient::say(std::string_view bytes) { return write_all(handle_.number(), bytes); }

bool TcpClient::read_more() {
  std::array<char, 65536> buffer;
  if (!readable(handle_.number(), patience_ms_)) return false;
  const auto count = ::recv(handle_.number(), buffer.data(), buffer.size(), 0);
  if (count <= 0) return false;
  waiting_.append(buffer.data(), static_cast<std::size_t>(count));
  return true;
}

std::string TcpClient::take(std::size_t count) {
  while (waiting_.size() < count && read_more()) {
  }
  auto taken = waiting_.substr(0, count);
  waiting_.erase(0, count);
  return taken;
}

RawResponse TcpClient::response(bool head_only) {
  RawResponse response;
  std::size_t end = 0;
  while ((end = waiting_.find("\r\n\r\n")) == std::string::npos)
    if (!read_more()) return response;
  const auto head = take(end + 4);
  if (!head.starts_with("HTTP/1.1 ")) return response;
  response.status = std::stoi(head.substr(9, 3));
  response.head = head;
  for (std::size_t at = head.find("\r\n") + 2; at < end;) {
    const auto line_end = head.find("\r\n", at);
    const auto colon = head.find(':', at);
    auto value = head.substr(colon + 1, line_end - colon - 1);
    value.erase(0, value.find_first_not_of(' '));
    response.headers.emplace(lower_case(head.substr(at, colon - at)), value);
    at = line_end + 2;
  }
  if (!head_only) response.body = take(content_length(head));
  return response;
}

bool TcpClient::ends() {
  if (!waiting_.empty()) return false;
  return !read_more() && readable(handle_.number(), 0);
}

RawResponse ask_http(std::uint16_t port, std::string_view bytes) {
  TcpClient client{port};
  client.say(bytes);
  return client.response();
}

RawWebSocket::RawWebSocket(std::uint16_t port, const std::string& target,
                           const std::string& headers)
    : client_{port} {
  client_.say("GET " + target +
              " HTTP/1.1\r\nHost: 127.0.0.1\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n"
              "Sec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n" +
              headers + "\r\n");
  upgraded = client_.response();
}

bool RawWebSocket::send(unsigned char opcode, std::string_view payload, bool masked) {
  const std::array<unsigned char, 4> mask{0x37, 0xFA, 0x21, 0x3D};
  std::string frame;
  const auto byte = [&frame](std::size_t value) { frame += static_cast<char>(value & 0xFF); };
  byte(0x80U | opcode);
  const std::size_t mask_bit = masked ? 0x80 : 0;
  if (payload.size() < 126) {
    byte(mask_bit | payload.size());
  } else if (payload.size() < 65536) {
    byte(mask_bit | 126);
    byte(payload.size() >> 8);
    byte(payload.size());
  } else {
    byte(mask_bit | 127);
    for (int shift = 56; shift >= 0; shift -= 8) byte(payload.size() >> shift);
  }
  if (masked) frame.append(mask.begin(), mask.end());
  for (std::size_t i = 0; i < payload.size(); ++i)
    frame += masked ? static_cast<char>(static_cast<unsigned char>(payload[i]) ^ mask[i % 4])
                    : payload[i];
  return client_.say(frame);
}

// A long message comes in several frames, all but the first of opcode 0, and between them may stand
// one that controls (RFC 6455, section 5.4).
RawWebSocket::Message RawWebSocket::next() {
  for (;;) {
    const auto head = client_.take(2);
    if (head.size() < 2) return {};
    const auto first = static_cast<unsigned char>(head[0]);
    const auto opcode = static_cast<unsigned char>(first & 0x0FU);
    std::size_t length = static_cast<unsigned char>(head[1]) & 0x7F;
    const auto longer = length == 126 ? client_.take(2) : length == 127 ? client_.take(8) : "";
    if (!longer.empty()) length = 0;
    for (const char c : longer) length = length << 8 | static_cast<unsigned char>(c);
    auto payload = client_.take(length);
    if (opcode >= close) return {opcode, std::move(payload)};
    if (opcode != 0) begun_ = {opcode, {}};
    begun_.payload += payload;
    if ((first & 0x80U) != 0) return std::exchange(begun_, {});
  }
}

std::string RawWebSocket::next_text() {
  for (;;) {
    auto message = next();
    if (message.opcode == 0 || message.opcode == close) return {};
    if (message.opcode == text && !message.payload.starts_with(R"({"type":"change")"))
      return message.payload;
  }
}

UdpClient::UdpClient() : handle_{opened(SOCK_DGRAM)} {
  const auto address = loopback(0);
  if (::bind(handle_.number(), plain(address), sizeof address) != 0)
    throw std::runtime_error{"cannot bind"};
}

void UdpClient::send(std::uint16_t port, std::string_view bytes) {
  const auto address = loopback(port);
  if (::sendto(handle_.number(), bytes.data(), bytes.size(), 0, plain(address), sizeof address) < 0)
    throw std::runtime_error{"cannot send"};
}

std::optional<std::string> UdpClient::receive(int milliseconds) {
  if (!readable(handle_.number(), milliseconds)) return std::nullopt;
  std::array<char, 2048> buffer;
  const auto count = ::recv(handle_.number(), buffer.data(), buffer.size(), 0);
  if (count < 0) return std::nullopt;
  return std::string(buffer.data(), static_cast<std::size_t>(count));
}

std::uint16_t UdpClient::port() const { return port_of(handle_.number()); }

ScriptedServer::ScriptedServer(Answer answer)
    : answer_{std::move(answer)}, listening_{opened(SOCK_STREAM)} {
  const auto address = loopback(0);
  if (::bind(listening_.number(), plain(address), sizeof address) != 0 ||
      ::listen(listening_.number(), 8) != 0)
    throw std::runtime_error{"cannot listen"};
  port_ = port_of(listening_.number());
  thread_ = std::thread{[this] {
    for (;;) {
      const int connection = ::accept(listening_.number(), nullptr, nullptr);
      if (connection < 0) return;
      serve(connection);
      ::close(connection);
    }
  }};
}

ScriptedServer::~ScriptedServer() {
  ::shutdown(listening_.number(), SHUT_RDWR);  // wakes accept()
  thread_.join();
}

void ScriptedServer::serve(int connection) {
  std::string bytes;
  std::array<char, 65536> buffer;
  for (;;) {
    const auto end = bytes.find("\r\n\r\n");
    const auto whole =
        end == std::string::npos ? 0 : end + 4 + content_length(bytes.substr(0, end));
    if (whole == 0 || bytes.size() < whole) {
      if (!readable(connection, patience_ms)) return;
      const auto count = ::recv(connection, buffer.data(), buffer.size(), 0);
      if (count <= 0) return;
      bytes.append(buffer.data(), static_cast<std::size_t>(count));
      continue;
    }
    const auto first_line = bytes.substr(0, bytes.find(" HTTP/1.1"));
    const auto reply = answer_(first_line, bytes.substr(end + 4, whole - end - 4));
    bytes.erase(0, whole);
    write_all(connection, "HTTP/1.1 " + std::to_string(reply.status) +
                              " X\r\nContent-Length: " + std::to_string(reply.body.size()) +
                              "\r\n" + reply.headers + "\r\n" + reply.body);
  }
}

}  // namespace catwalk::test
