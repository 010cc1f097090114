// SPDX-License-Identifier: Apache-2.0
#include "web/server/doors/login_route.hpp"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

#include "daemon/base/sha256.hpp"

using namespace catwalk;
using namespace catwalk::web;
using namespace std::chrono_literals;
using Json = nlohmann::json;

namespace {

constexpr std::chrono::sys_seconds start{1'790'000'000s};
const std::string key = "thirty-two bytes, more or less …";

Token token(const std::string& name, Role role) {
  return {name, role, catwalk::sha256_hex("token of " + name)};
}

// A door with a page before it, which keeps its cookie as a browser does.
struct Page {
  Doors doors{{"127.0.0.1"}, {token("Ana", Role::operate), token("screen", Role::watch)}};
  Logins logins{key, 16h};
  catwalk::rack::TimePoint now = start;
  std::string cookie = {};
  int made = 0;

  LoginAnswer ask(const std::string& method, const std::string& body = {}) {
    HttpRequest request{method, std::string{session_path}, {}, {}, body};
    if (!cookie.empty()) request.headers["cookie"] = "other=1; " + cookie + "; more=2";
    auto answer = answer_session(request, doors, logins, now,
                                 [this] { return "00000000000000" + std::to_string(10 + made++); });
    for (const auto& [name, value] : answer.response.headers)
      if (name == "Set-Cookie") cookie = value.substr(0, value.find(';'));
    return answer;
  }
  LoginAnswer log_in(const std::string& name) {
    return ask("POST", Json{{"token", "token of " + name}}.dump());
  }
};

std::string header(const HttpResponse& response, const std::string& name) {
  for (const auto& [one, value] : response.headers)
    if (one == name) return value;
  return {};
}

}  // namespace

TEST_CASE(
    "a login that was closed stays closed, however many were closed after it, and others open") {
  const auto ana = token("Ana", Role::operate);
  const auto screen = token("screen", Role::watch);
  const std::vector<Token> tokens{ana, screen};
  Logins logins{key, 16h};
  const auto id_of = [](int number) {
    char id[17];
    std::snprintf(id, sizeof id, "%016x", number);
    return std::string{id};
  };
  const auto first = logins.open(ana, id_of(0), start);
  const auto other = logins.open(screen, id_of(1), start);
  logins.close(first.login, start);
  for (int i = 2; i < 10'000; ++i) {
    const auto now = start + i * 1s;
    logins.close(logins.open(ana, id_of(i), now).login, now);
    if (i % 500 == 0) CHECK_FALSE(logins.check(first.cookie, tokens, now));
  }
  const auto now = start + 10'000s;
  CHECK_FALSE(logins.check(first.cookie, tokens, now));
  CHECK(logins.check(other.cookie, tokens, now));
  const auto later = logins.open(ana, id_of(20'000), now);
  CHECK(logins.check(later.cookie, tokens, now));
}

TEST_CASE("a bad cookie says of which token it is, if it says one that is known") {
  const auto ana = token("Ana", Role::operate);
  const std::vector<Token> tokens{ana};
  const auto forged = "1.2." + ana.sha256.substr(0, 16) + ".9";
  REQUIRE(Logins::token_of(forged, tokens) != nullptr);
  CHECK(Logins::token_of(forged, tokens)->name == "Ana");
  for (const auto* cookie : {"", "...", "1.2.3.4", "1.2.0123456789abcdef.4"})
    CHECK(Logins::token_of(cookie, tokens) == nullptr);
}

TEST_CASE("a token is traded for a cookie that says who comes, out of reach of scripts") {
  Page page;
  CHECK(page.ask("GET").response.status == 401);
  const auto answer = page.log_in("Ana");
  CHECK(answer.response.status == 200);
  CHECK(Json::parse(answer.response.body) ==
        Json{{"name", "Ana"},
             {"role", "operate"},
             {"tokens", true},
             {"secure", false},
             {"expires_at", "2026-09-22T06:13:20.000000Z"}});  // date -u -d @1790057600
  // RFC 6265bis, sections 4.1.2 and 5.6.7.
  const auto set = header(answer.response, "Set-Cookie");
  CHECK(set.starts_with("catwalk-login="));
  CHECK(set.ends_with("; Path=/; HttpOnly; SameSite=Strict; Max-Age=57600"));
  CHECK(Json::parse(page.ask("GET").response.body).at("name") == "Ana");
}

TEST_CASE("over TLS the cookie is bound to it, and to this host") {
  Page page;
  page.doors.secure = true;
  const auto answer = page.log_in("screen");
  const auto set = header(answer.response, "Set-Cookie");
  CHECK(set.starts_with("__Host-catwalk-login="));
  CHECK(set.ends_with("; Secure"));
  CHECK(Json::parse(page.ask("GET").response.body).at("role") == "watch");
  // Under the name without TLS it is not looked at.
  page.cookie.erase(0, std::string{"__Host-"}.size());
  CHECK(page.ask("GET").response.status == 401);
}

TEST_CASE("who has no token gets no cookie, and is told what is wrong") {
  Page page;
  const auto refused = page.log_in("Bo");
  CHECK(refused.response.status == 401);
  CHECK(Json::parse(refused.response.body).at("detail") == "This token is not known here.");
  CHECK(header(refused.response, "Set-Cookie").empty());
  const auto empty = page.ask("POST", "{}");
  CHECK(empty.response.status == 422);
  CHECK(Json::parse(empty.response.body).at("pointer") == "/token");
  const auto more = page.ask("POST", R"({"token":"x","role":"engineer"})");
  CHECK(more.response.status == 422);
  CHECK(Json::parse(more.response.body).at("pointer") == "/role");
  CHECK(page.ask("POST", "{").response.status == 422);
  CHECK(page.ask("PUT", "{}").response.status == 405);
}

TEST_CASE("a login ends at its time, not before") {
  Page page;
  page.log_in("Ana");
  page.now = start + 16h - 1us;
  CHECK(page.ask("GET").response.status == 200);
  page.now = start + 16h;
  const auto over = page.ask("GET");
  CHECK(over.response.status == 401);
  CHECK(Json::parse(over.response.body).at("detail") == "This login is over. Log in again.");
}

TEST_CASE("who logs out is out, and only that one") {
  Page ana;
  ana.log_in("Ana");
  const auto first = ana.cookie;
  ana.log_in("Ana");
  const auto second = ana.cookie;
  REQUIRE(first != second);
  const auto out = ana.ask("DELETE");
  CHECK(out.response.status == 204);
  REQUIRE(out.closed);
  CHECK(out.closed->id == "0000000000000011");
  ana.cookie = second;
  CHECK(ana.ask("GET").response.status == 401);
  ana.cookie = first;
  CHECK(ana.ask("GET").response.status == 200);
  // Nobody needs to be logged in to log out.
  ana.cookie = "catwalk-login=nonsense";
  const auto again = ana.ask("DELETE");
  CHECK(again.response.status == 204);
  CHECK_FALSE(again.closed);
}

TEST_CASE("a login outlives the daemon, but neither its key nor its token") {
  Page page;
  page.log_in("Ana");
  const auto cookie = page.cookie;
  page.logins = Logins{key, 1h};
  CHECK(page.ask("GET").response.status == 200);
  page.logins = Logins{"another key of thirty-two bytes …", 16h};
  CHECK(page.ask("GET").response.status == 401);
  page.logins = Logins{key, 16h};
  page.doors.tokens.erase(page.doors.tokens.begin());
  page.cookie = cookie;
  CHECK(page.ask("GET").response.status == 401);
}

TEST_CASE("no part of a cookie can be changed, cut or made longer") {
  const Logins logins{key, 16h};
  const std::vector<Token> tokens{token("Ana", Role::operate), token("screen", Role::watch)};
  const auto good = logins.open(tokens[0], "0123456789abcdef", start).cookie;
  REQUIRE(logins.check(good, tokens, start));
  CHECK(logins.check(good, tokens, start)->token == &tokens[0]);
  for (std::size_t i = 0; i < good.size(); ++i) {
    CAPTURE(i);
    auto changed = good;
    changed[i] = changed[i] == '1' ? '2' : '1';
    CHECK_FALSE(logins.check(changed, tokens, start));
    CHECK_FALSE(logins.check(good.substr(0, i), tokens, start));
    CHECK_FALSE(logins.check(good.substr(i + 1), tokens, start));
  }
  for (const char* more : {"0", ".", " ", "."})
    CHECK_FALSE(logins.check(good + more, tokens, start));
  for (const char* bad : {"", ".", "...", "....", "-1.a.b.c", "99999999999999999999.a.b.c"})
    CHECK_FALSE(logins.check(bad, tokens, start));
}

TEST_CASE("without tokens there is nothing to log in to, and the page is told so") {
  Page page;
  page.doors.tokens.clear();
  for (const auto* method : {"GET", "POST"}) {
    const auto answer = page.ask(method, "");
    CHECK(answer.response.status == 200);
    CHECK(Json::parse(answer.response.body) ==
          Json{{"name", "local"}, {"role", "engineer"}, {"tokens", false}, {"secure", false}});
    CHECK(header(answer.response, "Set-Cookie").empty());
  }
}
