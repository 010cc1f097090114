// SPDX-License-Identifier: Apache-2.0
// Requests that one reader understands otherwise than another: each is refused, or read as the
// standards say.
#include <doctest/doctest.h>

#include <array>
#include <charconv>

#include "tests/end_to_end/guarded_rack.hpp"

using namespace catwalk::test;

namespace {

std::string chunked(const std::string& headers, const std::string& body,
                    const std::string& trailer = {}) {
  std::string bytes = "POST /api/v1/rack/lock HTTP/1.1\r\n" + headers +
                      "Content-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\n";
  if (!body.empty()) {
    std::array<char, 16> size{};
    const auto end = std::to_chars(size.begin(), size.end(), body.size(), 16).ptr;
    bytes.append(size.begin(), end).append("\r\n").append(body).append("\r\n");
  }
  return bytes + "0\r\n" + trailer + "\r\n";
}

bool locked(const GuardedRack& rack) {
  const auto answer = rack.ask("GET", "/api/v1/rack", GuardedRack::bearer("watch"));
  return Json::parse(answer.body).at("locked").get<bool>();
}

const std::string host = "Host: 127.0.0.1\r\n";

}  // namespace

// RFC 9110, section 6.5.1: a trailer must not be taken for the header.
TEST_CASE("what stands in a trailer names no host and no person") {
  const GuardedRack rack;
  const auto operate = GuardedRack::bearer("operate");
  for (const auto& [headers, trailer] : std::vector<std::pair<std::string, std::string>>{
           {host, operate},
           {operate, host},
           {host + operate, "X-Note: harmless\r\n"},
           {host + operate, "Host: evil.example\r\n"},
           {host + operate, "Content-Type: application/json\r\n"}}) {
    CAPTURE(headers);
    CAPTURE(trailer);
    TcpClient client{rack.port};
    REQUIRE(client.say(chunked(headers, R"({"why":"x"})", trailer)));
    const auto answer = client.response();
    CHECK(answer.status == 400);
    CHECK(detail(answer) == "The request has a trailer; allowed is none.");
    CHECK(client.ends());
  }
  CHECK_FALSE(locked(rack));
  CHECK(ask_http(rack.port, chunked(host + operate, R"({"why":"x"})")).status == 200);
}

// RFC 9112, section 6.1: 501 for a coding that is not known, 400 where the end of the body cannot
// be known; section 6.3: Transfer-Encoding and Content-Length together ought to be an error.
TEST_CASE("a body whose end is not plain is refused, and its connection ended") {
  const GuardedRack rack;
  const auto operate = GuardedRack::bearer("operate");
  const auto post = [&](const std::string& framing, const std::string& version = "1.1") {
    return "POST /api/v1/rack/lock HTTP/" + version + "\r\n" + host + operate +
           "Content-Type: application/json\r\n" + framing + "\r\n0\r\n\r\n";
  };
  struct Case {
    std::string bytes;
    int status;
  };
  for (const auto& one : std::vector<Case>{
           {post("Transfer-Encoding: xchunked\r\n"), 400},
           {post("Transfer-Encoding: chunked, xchunked\r\n"), 400},
           {post("Transfer-Encoding: chunked, chunked\r\n"), 400},
           {post("Transfer-Encoding: chunked;q=1\r\n"), 400},
           {post("Transfer-Encoding: \"chunked\"\r\n"), 400},
           {post("Transfer-Encoding: identity\r\n"), 400},
           {post("Transfer-Encoding:\r\n"), 400},
           {post("Transfer-Encoding: gzip, chunked\r\n"), 501},
           {post("Transfer-Encoding: chunked\r\nTransfer-Encoding: chunked\r\n"), 400},
           {post("Transfer-Encoding: chunked\r\nTransfer-Encoding: identity\r\n"), 400},
           {post("Transfer-Encoding: chunked\r\nContent-Length: 5\r\n"), 400},
           {post("Content-Length: 5\r\nTransfer-Encoding: chunked\r\n"), 400},
           {post("Content-Length: 5\r\nContent-Length: 5\r\n"), 400},
           {post("Transfer-Encoding: chunked\r\n", "1.0"), 400}}) {
    CAPTURE(one.bytes);
    TcpClient client{rack.port};
    // What follows would be a request of its own to whoever saw no body.
    REQUIRE(client.say(one.bytes + http_bytes("GET", "/api/v1/rack", operate)));
    const auto answer = client.response();
    CHECK(answer.status == one.status);
    CHECK(answer.header("connection") == "close");
    CHECK(client.ends());
  }
  CHECK_FALSE(locked(rack));
  CHECK(ask_http(rack.port, chunked(host + operate, "{}")).status == 200);
}

// RFC 8259, section 7: control characters are escaped in texts, and stand nowhere else.
TEST_CASE("what follows a NUL in a body or a message is not left unread") {
  using namespace std::string_literals;
  const GuardedRack rack;
  const auto operate = GuardedRack::bearer("operate");
  for (const auto& body : {"{}\0"s, "{}\0{\"why\":7}"s, "{\"why\":\"a\0b\"}"s, "\0"s}) {
    CAPTURE(body.size());
    const auto answer = rack.ask("POST", "/api/v1/rack/lock", operate, body);
    CHECK(answer.status == 422);
    CHECK(detail(answer) == "The body is not JSON: there is a NUL at byte " +
                                std::to_string(body.find('\0') + 1) + ".");
    CHECK(rack.ask("POST", "/api/v1/session", "", "{\"token\":\"x\"}\0"s).status == 422);
  }
  CHECK_FALSE(locked(rack));
  RawWebSocket panel{rack.port, "/api/v1/live", operate};
  REQUIRE(panel.upgraded.status == 101);
  REQUIRE(Json::parse(panel.next_text()).at("type") == "hello");
  REQUIRE(Json::parse(panel.next_text()).at("type") == "snapshot");
  REQUIRE(panel.send(RawWebSocket::text, "{\"type\":\"snapshot\"}\0more"s));
  CHECK(Json::parse(panel.next_text()).at("detail") == "The message is not JSON.");
}

// RFC 9112, section 3.2: 400 for a Host that is malformed.
TEST_CASE("a host that is no host is refused, whatever it begins with") {
  const GuardedRack rack;
  const auto operate = GuardedRack::bearer("operate");
  for (const auto* name : {"[::1]evil.example", "[::1]:8470evil", "[::1", "[localhost]",
                           "[::1%25lo]", "127.0.0.1:", "127.0.0.1:port", "127.0.0.1:123456",
                           "127.0.0.1@evil.example", "127.0.0.1/evil", "127.0.0.1 evil.example",
                           "127.0.0.1,evil.example", "::1", "localhost:80:80"}) {
    CAPTURE(name);
    const auto answer =
        rack.ask("GET", "/api/v1/rack", "Host: " + std::string{name} + "\r\n" + operate);
    const bool open_end = std::string{name} == "127.0.0.1:";  // RFC 3986 lets a port be empty
    CHECK(answer.status == (open_end ? 200 : 400));
  }
  for (const auto* name : {"[::1]", "[::1]:8470", "LOCALHOST", "127.0.0.1:1"})
    CHECK(rack.ask("GET", "/api/v1/rack", "Host: " + std::string{name} + "\r\n" + operate).status ==
          200);
}
