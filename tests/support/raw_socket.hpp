// SPDX-License-Identifier: Apache-2.0
#pragma once
// Plain sockets on the loopback, for saying what no well-behaved library would say. No library of
// the program's own takes part. Everything that waits has a deadline of ten seconds.

#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <thread>
#include <vector>

namespace catwalk::test {

// An open file descriptor.
class Handle {
 public:
  explicit Handle(int number) : number_{number} {}
  Handle(Handle&& other) noexcept : number_{other.number_} { other.number_ = -1; }
  Handle& operator=(Handle&&) = delete;
  ~Handle();
  int number() const { return number_; }

 private:
  int number_;
};

// What a server said to one HTTP request.
struct RawResponse {
  int status = 0;                                   // 0: nothing that could be read as HTTP
  std::multimap<std::string, std::string> headers;  // names in lower case
  std::string head;                                 // its bytes, status line and all
  std::string body;
  std::string header(const std::string& lower_case_name) const {
    const auto found = headers.find(lower_case_name);
    return found == headers.end() ? std::string{} : found->second;
  }
};

class TcpClient {
 public:
  // Connects to 127.0.0.1. Throws if nobody listens.
  explicit TcpClient(std::uint16_t port);
  // False: the other end is gone.
  bool say(std::string_view bytes);
  // One whole response, its body by Content-Length. `head`: there is no body whatever it says.
  RawResponse response(bool head = false);
  // True: the other end closes, and nothing comes before.
  bool ends();
  // Exactly so many bytes; fewer if the other end closes or takes too long.
  std::string take(std::size_t count);
  // How long it waits for more, ms.
  void has_patience(int patience) { patience_ms_ = patience; }

 private:
  bool read_more();
  Handle handle_;
  int patience_ms_ = 10'000;
  std::string waiting_;
};

// A request on a connection of its own.
RawResponse ask_http(std::uint16_t port, std::string_view bytes);

// A WebSocket (RFC 6455) as a client that may break every rule.
class RawWebSocket {
 public:
  enum Opcode : unsigned char { text = 1, binary = 2, close = 8, ping = 9, pong = 10 };
  struct Message {
    unsigned char opcode = 0;  // 0: none came
    std::string payload;
  };
  // The answer to the upgrade is in `upgraded`.
  RawWebSocket(std::uint16_t port, const std::string& target, const std::string& headers = {});
  bool send(unsigned char opcode, std::string_view payload, bool masked = true);
  // The next frame, control frames included.
  Message next();
  // The next text that is no change of the rack.
  std::string next_text();

  RawResponse upgraded;

 private:
  TcpClient client_;
  Message begun_;  // of a message that comes in several frames
};

// A UDP socket on 127.0.0.1.
class UdpClient {
 public:
  UdpClient();
  void send(std::uint16_t port, std::string_view bytes);
  // Nothing: none came in this time.
  std::optional<std::string> receive(int milliseconds);
  std::uint16_t port() const;

 private:
  Handle handle_;
};

// A server that reads one request after the other on one connection after the other, and answers
// each with what the test makes of its first line and body.
class ScriptedServer {
 public:
  struct Reply {
    int status = 200;
    std::string body;
    std::string headers;  // each with "\r\n"
  };
  using Answer =
      std::function<Reply(const std::string& method_and_target, const std::string& body)>;
  explicit ScriptedServer(Answer answer);
  ScriptedServer(const ScriptedServer&) = delete;
  ScriptedServer& operator=(const ScriptedServer&) = delete;
  ~ScriptedServer();
  std::uint16_t port() const { return port_; }

 private:
  void serve(int connection);
  Answer answer_;
  Handle listening_;
  std::uint16_t port_ = 0;
  std::thread thread_;
};

}  // namespace catwalk::test
