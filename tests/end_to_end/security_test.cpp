// SPDX-License-Identifier: Apache-2.0
// What must not get in, tried at the real daemon: each is refused with the right answer, and the
// daemon serves on.
#include <doctest/doctest.h>
#include <sys/resource.h>

#include <filesystem>
#include <fstream>

#include "tests/end_to_end/guarded_rack.hpp"
#include "web/server/doors/login_route.hpp"

using namespace catwalk;
using namespace catwalk::test;

TEST_CASE("without a token, or with a wrong one, nothing is told and nothing done") {
  const GuardedRack rack;
  REQUIRE(rack.serves());  // so that its token may be shown again among many wrong ones
  const auto is_refused = [](const RawResponse& answer) {
    return answer.status == 401 || answer.status == 429;
  };
  for (const auto* target : {"/api/v1/rack", "/api/v1/nodes", "/api/v1/journal", "/metrics",
                             "/api/v1/openapi.json", "/api/v1/live", "/api/v1/nothing"}) {
    CAPTURE(target);
    const auto nobody = rack.ask("GET", target, "");
    CHECK(nobody.status == 401);
    CHECK(nobody.header("www-authenticate") == "Bearer realm=\"catwalk\"");
    CHECK(is_refused(rack.ask("GET", target, "Authorization: Bearer token of nobody\r\n")));
    CHECK(is_refused(rack.ask("GET", target, "Cookie: catwalk-login=1.2.3.4\r\n")));
  }
  CHECK(rack.ask("POST", "/api/v1/rack/lock", "", "{}").status == 401);
  CHECK(RawWebSocket{rack.port, "/api/v1/live"}.upgraded.status == 401);
  // That it lives, and the page that logs in, anybody may have.
  CHECK(rack.ask("GET", "/healthz", "").status == 200);
  CHECK(rack.ask("GET", "/", "").status == 200);
  CHECK(rack.serves());
}

TEST_CASE("a login does what its role may, and no more") {
  const GuardedRack rack;
  const auto watch = rack.log_in("watch");
  const auto operate = rack.log_in("operate");
  CHECK(rack.ask("GET", "/api/v1/rack", watch).status == 200);
  const auto refused = rack.ask("POST", "/api/v1/rack/lock", watch, "{}");
  CHECK(refused.status == 403);
  CHECK(detail(refused) == "This needs the role operate; watch-1 has watch.");
  CHECK(rack.ask("POST", "/api/v1/rack/lock", operate, "{}").status == 200);
  CHECK(rack.ask("POST", "/api/v1/rack/unlock", operate, "{}").status == 200);
  CHECK(rack.ask("POST", "/api/v1/rack/take-over", operate, "{}").status == 403);
  CHECK(rack.serves());
}

TEST_CASE("a page of another site gets nothing, whoever is logged in") {
  const GuardedRack rack;
  const auto engineer = rack.log_in("engineer");
  const std::string foreign = "Origin: http://evil.example\r\n";
  const std::string cross = "Sec-Fetch-Site: cross-site\r\nSec-Fetch-Mode: no-cors\r\n";
  for (const auto& page : {foreign, cross}) {
    CAPTURE(page);
    CHECK(rack.ask("POST", "/api/v1/rack/lock", engineer + page, "{}").status == 403);
    CHECK(rack.ask("POST", "/api/v1/session", page, R"({"token":"x"})").status == 403);
    CHECK(RawWebSocket{rack.port, "/api/v1/live", engineer + page}.upgraded.status == 403);
  }
  CHECK(rack.ask("GET", "/api/v1/rack", engineer + cross).status == 403);
  // What a form of another site can send is no JSON.
  CHECK(rack.ask("POST", "/api/v1/rack/lock", engineer + "Content-Type: text/plain\r\n", "{}")
            .status == 415);
  const auto answer = rack.ask("GET", "/api/v1/rack", engineer + foreign);
  CHECK(answer.header("access-control-allow-origin") == "");
  CHECK(answer.header("cross-origin-resource-policy") == "same-origin");
  CHECK(rack.serves());
}

TEST_CASE("a name that somebody made point here is not answered to") {
  const GuardedRack rack;
  const auto engineer = rack.log_in("engineer");
  for (const auto* host : {"evil.example", "evil.example:80", "127.0.0.1.evil.example"}) {
    CAPTURE(host);
    const auto named = "Host: " + std::string{host} + "\r\n";
    for (const auto* target : {"/", "/api/v1/rack", "/api/v1/session", "/healthz"})
      CHECK(rack.ask("GET", target, named + engineer).status == 421);
  }
  CHECK(rack.serves());
}

// RFC 9112, section 3.2.
TEST_CASE("a request with two hosts is refused, and its connection ended") {
  const GuardedRack rack;
  TcpClient client{rack.port};
  REQUIRE(client.say("GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nHost: evil.example\r\n\r\n"));
  const auto refused = client.response();
  CHECK(refused.status == 400);
  CHECK(detail(refused) == "The request has more than one Host header.");
  CHECK(client.ends());
}

TEST_CASE("a key of logins that others can read is not used") {
  GuardedRack rack;
  rack.rig.daemon->kill();
  std::filesystem::permissions(rack.rig.file("state") / "login.key", std::filesystem::perms{0644});
  Process daemon{CATWALKD, {rack.rig.file("rack.json").string()}, rack.rig.file("again.log")};
  CHECK(daemon.wait() != 0);
  CHECK(daemon.output().find("login.key is open to others; allowed is mode 0600, 0400 or 0440") !=
        std::string::npos);
}

TEST_CASE("a login that is over opens nothing, and one that is closed closes its feed") {
  const GuardedRack rack;
  std::ifstream file{rack.rig.file("state") / "login.key"};
  std::string key;
  REQUIRE((file >> key));
  const web::Logins logins{key, std::chrono::hours{16}};
  const web::Token token{"engineer-1", web::Role::engineer, GuardedRack::digest("engineer")};
  const auto now = std::chrono::floor<std::chrono::microseconds>(std::chrono::system_clock::now());
  const auto cookie = [&](std::chrono::hours ago) {
    return "Cookie: catwalk-login=" + logins.open(token, "0123456789abcdef", now - ago).cookie +
           "\r\n";
  };
  CHECK(rack.ask("GET", "/api/v1/rack", cookie(std::chrono::hours{15})).status == 200);
  const auto over = rack.ask("GET", "/api/v1/rack", cookie(std::chrono::hours{17}));
  CHECK(over.status == 401);
  CHECK(detail(over) == "This login is over. Log in again.");

  const auto watch = rack.log_in("watch");
  RawWebSocket panel{rack.port, "/api/v1/live", watch};
  REQUIRE(panel.upgraded.status == 101);
  REQUIRE(Json::parse(panel.next_text()).at("type") == "hello");
  CHECK(rack.ask("DELETE", "/api/v1/session", watch).status == 204);
  RawWebSocket::Message last;
  do last = panel.next();
  while (last.opcode == RawWebSocket::text);
  CHECK(last.opcode == RawWebSocket::close);
  // RFC 6455, section 5.5.1: two bytes of code, then words.
  CHECK(last.payload == "\x11\x31The login is over.");
  CHECK(rack.ask("GET", "/api/v1/rack", watch).status == 401);
  CHECK(rack.serves());
}

TEST_CASE("logins survive the daemon") {
  GuardedRack rack;
  const auto operate = rack.log_in("operate");
  rack.rig.daemon->kill();
  rack.rig.start_daemon(false);
  CHECK(rack.ask("GET", "/api/v1/rack", operate).status == 200);
}

TEST_CASE("bodies and headers beyond all measure are refused before they are read") {
  const GuardedRack rack;
  const auto operate = rack.log_in("operate");
  CHECK(rack.ask("POST", "/api/v1/rack/lock", operate, std::string(65'537, ' ')).status == 413);
  CHECK(rack.ask("POST", "/api/v1/session", "", std::string(65'537, ' ')).status == 413);
  CHECK(rack.ask("GET", "/api/v1/rack", "X: " + std::string(9'000, 'x') + "\r\n").status == 431);
  CHECK(rack.serves());
}

TEST_CASE("a thousand connections that never finish a request keep nobody out") {
  // Both ends of each are descriptors; those of this program are counted here.
  rlimit limit{};
  REQUIRE(getrlimit(RLIMIT_NOFILE, &limit) == 0);
  limit.rlim_cur = limit.rlim_max;
  REQUIRE(setrlimit(RLIMIT_NOFILE, &limit) == 0);
  const GuardedRack rack;
  std::vector<TcpClient> half;
  for (int i = 0; i < 1'200; ++i) {
    half.emplace_back(rack.port);
    if (i % 3 == 0) {
      REQUIRE(half.back().say("GET /api/v1/rack HTTP/1.1\r\nHost: 127.0"));
    }
  }
  CHECK(rack.serves());
  CHECK(rack.ask("POST", "/api/v1/rack/lock",
                 "Authorization: Bearer " + GuardedRack::token("operate") + "\r\n", "{}")
            .status == 200);
  CHECK(RawWebSocket{rack.port, "/api/v1/live",
                     "Authorization: Bearer " + GuardedRack::token("watch") + "\r\n"}
            .upgraded.status == 101);
}
