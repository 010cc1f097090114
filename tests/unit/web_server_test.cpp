// SPDX-License-Identifier: Apache-2.0
// The server on the loopback, with a gate that says nothing new: what becomes of clients that are
// slow, silent or many.
#include "web/server/wire/server.hpp"

#include <doctest/doctest.h>

#include <future>

#include "tests/support/raw_socket.hpp"
#include "tests/support/web_fixture.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

// Where a mistake of ours would be.
class FaultyGate final : public FakeGate {
 public:
  void reload(std::string, Reloaded) override {
    throw std::runtime_error{"nobody thought of that"};
  }
};

template <class Gate = FakeGate>
struct Served {
  Gate gate;
  web::PanelLoop loop;
  std::unique_ptr<web::Server> server;

  explicit Served(std::chrono::milliseconds idle, web::SeatLimits seats = {}) {
    web::ServerOptions options;
    options.doors.hosts = {"127.0.0.1"};
    options.idle = idle;
    options.seats = seats;
    auto opened = web::Server::open(loop, gate, std::move(options));
    REQUIRE(opened);
    server = std::move(opened).value();
    loop.start();
  }
  ~Served() { loop.stop(); }
  std::uint16_t port() const { return server->port(); }
};

const std::string whole = "GET /api/v1/rack HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n";
const std::string half = "GET /api/v1/rack HTTP/1.1\r\nHost: 12";

}  // namespace

TEST_CASE("who takes too long over a request is told so, and who says nothing is let go") {
  const Served<> served{std::chrono::milliseconds{150}};
  TcpClient slow{served.port()};
  TcpClient silent{served.port()};
  REQUIRE(slow.say(half));
  const auto told = slow.response();
  CHECK(told.status == 408);
  CHECK(told.header("connection") == "close");
  CHECK(Json::parse(told.body).at("detail") == "The request was not whole after 150 ms.");
  CHECK(slow.ends());
  CHECK(silent.ends());
}

TEST_CASE("a task of the panel's loop that throws ends by itself, and is told") {
  std::promise<std::string> told;
  std::promise<void> goes_on;
  web::PanelLoop loop{[&](const std::string& what) { told.set_value(what); }};
  loop.post([] { throw std::runtime_error{"nobody thought of that"}; });
  loop.post([&] { goes_on.set_value(); });
  loop.start();
  CHECK(told.get_future().get() == "nobody thought of that");
  goes_on.get_future().get();
}

TEST_CASE("answers are compressed for each request that takes it, on one connection") {
  const Served<> served{std::chrono::seconds{20}};
  TcpClient client{served.port()};
  const auto ask = [&](const std::string& method, const std::string& takes) {
    REQUIRE(client.say(method + " /api/v1/openapi.json HTTP/1.1\r\nHost: 127.0.0.1\r\n" + takes +
                       "\r\n"));
    return client.response(method == "HEAD");
  };
  const auto plain = ask("GET", "");
  const auto coded = ask("GET", "Accept-Encoding: br\r\nAccept-Encoding: gzip\r\n");
  CHECK(plain.header("content-encoding").empty());
  CHECK(plain.header("vary") == "Accept-Encoding");
  CHECK(Json::parse(plain.body).at("openapi") == "3.1.0");
  CHECK(coded.header("content-encoding") == "gzip");
  CHECK(coded.body.size() * 5 < plain.body.size());
  CHECK(ask("HEAD", "Accept-Encoding: gzip\r\n").header("content-length") ==
        std::to_string(coded.body.size()));
  CHECK(ask("GET", "").body == plain.body);
}

TEST_CASE("a body that comes too slowly is too slow as well") {
  const Served<> served{std::chrono::milliseconds{150}};
  TcpClient client{served.port()};
  REQUIRE(
      client.say("POST /api/v1/rack/lock HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 20\r\n"
                 "Content-Type: application/json\r\n\r\n{\"why\":"));
  CHECK(client.response().status == 408);
  CHECK(client.ends());
}

TEST_CASE("time that passes between requests is not held against the next one") {
  const Served<> served{std::chrono::milliseconds{400}};
  TcpClient client{served.port()};
  // Each waits for the one before: together they last longer than one may wait.
  const auto end = std::chrono::steady_clock::now() + std::chrono::milliseconds{1200};
  int answered = 0;
  while (std::chrono::steady_clock::now() < end) {
    REQUIRE(client.say(whole));
    REQUIRE(client.response().status == 200);
    ++answered;
  }
  CHECK(answered > 1);
}

TEST_CASE("connections that say nothing give way to those that ask, the longest first") {
  web::SeatLimits seats;
  seats.strangers = {8, 8};
  const Served<> served{std::chrono::seconds{20}, seats};
  std::vector<TcpClient> silent;
  for (int i = 0; i < 20; ++i) {
    silent.emplace_back(served.port());
    if (i % 2 == 0) {
      REQUIRE(silent.back().say(half));
    }
    CHECK(ask_http(served.port(), whole).status == 200);
  }
  CHECK(silent.front().ends());
  // The last has its seat still, and can make its request whole.
  REQUIRE(silent[18].say("7.0.0.1\r\n\r\n"));
  CHECK(silent[18].response().status == 200);
}

TEST_CASE("when all places of panels are taken, one too many is told to come back") {
  web::SeatLimits seats;
  seats.panels = {3, 3};
  const Served<> served{std::chrono::seconds{20}, seats};
  std::vector<RawWebSocket> panels;
  for (int i = 0; i < 3; ++i) {
    panels.emplace_back(served.port(), "/api/v1/live");
    REQUIRE(panels.back().upgraded.status == 101);
    REQUIRE(Json::parse(panels.back().next_text()).at("type") == "hello");
  }
  const RawWebSocket late{served.port(), "/api/v1/live"};
  CHECK(late.upgraded.status == 503);
  CHECK(late.upgraded.header("retry-after") == "5");
  CHECK(Json::parse(late.upgraded.body).at("detail") ==
        "Too many panels are open for the role engineer: 3.");
  CHECK(ask_http(served.port(), whole).status == 200);
}

TEST_CASE(
    "a fault of this program is told as one, and ends neither the connection nor the daemon") {
  const Served<FaultyGate> served{std::chrono::seconds{20}};
  TcpClient client{served.port()};
  REQUIRE(client.say("POST /api/v1/rack/reload HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n"));
  const auto told = client.response();
  CHECK(told.status == 500);
  CHECK(told.header("content-type") == "application/problem+json");
  const auto problem = Json::parse(told.body);
  CHECK(problem.at("type") == "/problems/fault");
  CHECK(problem.at("detail") == "A fault of this program: nobody thought of that");
  REQUIRE(client.say(whole));
  CHECK(client.response().status == 200);
}

TEST_CASE("one that does not read holds the end of the daemon up no longer than it may") {
  Served<> served{std::chrono::seconds{20}};
  RawWebSocket silent{served.port(), "/api/v1/live"};
  served.server->take_leave(std::chrono::milliseconds{50});
  CHECK_THROWS(TcpClient{served.port()});
}
