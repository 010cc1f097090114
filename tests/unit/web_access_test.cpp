// SPDX-License-Identifier: Apache-2.0
#include "web/server/doors/access.hpp"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

#include "daemon/base/sha256.hpp"

using namespace catwalk;
using namespace catwalk::web;

namespace {

HttpRequest request(const std::string& method, std::map<std::string, std::string> headers,
                    std::string body = {}) {
  HttpRequest made;
  made.method = method;
  made.path = "/api/v1/rack";
  made.headers = std::move(headers);
  made.headers.emplace("host", "127.0.0.1:8470");
  made.body = std::move(body);
  return made;
}

Doors open_doors() { return {{"localhost", "127.0.0.1", "[::1]", "rack.example"}, {}}; }
Doors guarded_doors() {
  auto doors = open_doors();
  doors.tokens = {{"Ana", Role::engineer, catwalk::sha256_hex("token of Ana")},
                  {"screen", Role::watch, catwalk::sha256_hex("token of the screen")}};
  return doors;
}

HttpRequest of_root() {
  auto made = request("GET", {});
  made.peer = Peer{"root", true};
  return made;
}

const catwalk::rack::TimePoint now{std::chrono::seconds{1'790'000'000}};

Logins some_logins() { return {"a key of thirty-two bytes, or more", std::chrono::hours{16}}; }

Admission admit(const HttpRequest& from, const Doors& doors, bool upgrade) {
  if (auto refusal = turned_away(from, doors, upgrade)) return {{}, {}, std::move(*refusal)};
  return identify(from, doors, some_logins(), now);
}

struct Refusal {
  int status = 0;
  std::string type;
  std::string detail;
  friend bool operator==(const Refusal&, const Refusal&) = default;
};
// How a request is turned away; status 0: it is let in.
Refusal refusal(const HttpRequest& from, const Doors& doors = open_doors(), bool upgrade = false) {
  const auto admission = admit(from, doors, upgrade);
  if (admission.caller) return {};
  const auto body = nlohmann::json::parse(admission.refusal.body);
  CHECK(admission.refusal.content_type == "application/problem+json");
  CHECK(body.at("status") == admission.refusal.status);
  return {admission.refusal.status, body.at("type"), body.at("detail")};
}
const Refusal none{};

const Refusal foreign{403, "/problems/origin",
                      "Requests from the pages of another site are refused."};

}  // namespace

TEST_CASE("who asks for a WebSocket without saying so rightly is told what is wrong") {
  const auto asked = [](const std::string& version, const std::string& key) {
    const auto refused = bad_handshake(
        request("GET", {{"sec-websocket-version", version}, {"sec-websocket-key", key}}));
    return refused ? refused->status : 0;
  };
  const std::string key = "dGhlIHNhbXBsZSBub25jZQ==";  // RFC 6455, section 1.3
  CHECK(asked("13", key) == 0);
  CHECK(asked("12", key) == 426);
  CHECK(asked("", key) == 426);
  CHECK(asked("13", "") == 400);
  CHECK(asked("13", key.substr(1)) == 400);
  CHECK(asked("13", key + key) == 400);
}

TEST_CASE("a request must say whom it is for, and we answer to our own names only") {
  auto without = request("GET", {});
  without.headers.erase("host");
  CHECK(refusal(without) == Refusal{400, "/problems/host", "The request has no Host header."});

  for (const char* host : {"127.0.0.1", "127.0.0.1:8470", "LOCALHOST:1", "[::1]:8470", "[::1]",
                           "rack.example", "Rack.Example:443"}) {
    CAPTURE(host);
    CHECK(refusal(request("GET", {{"host", host}})) == none);
  }
  for (const auto& [host, told] : std::vector<std::pair<std::string, std::string>>{
           {"evil.example", "evil.example"},
           {"evil.example:8470", "evil.example"},
           {"127.0.0.1.evil.example", "127.0.0.1.evil.example"},
           {"192.0.2.7", "192.0.2.7"},
           {"[::2]", "[::2]"},
           {"", ""}}) {
    const auto& the_host = host;
    CAPTURE(the_host);
    CHECK(refusal(request("GET", {{"host", host}})) ==
          Refusal{421, "/problems/host",
                  "This rack does not answer to the name \"" + told +
                      "\". Names are added under server.allowed_hosts."});
  }
}

TEST_CASE("pages of other sites can read nothing they should not, and write nothing") {
  struct Row {
    std::string method, origin, site;
    bool upgrade;
    Refusal expected;
  };
  const std::string own = "http://127.0.0.1:8470";
  const std::vector<Row> rows{
      {"POST", own, "same-origin", false, none},
      {"POST", "HTTP://127.0.0.1:8470", "", false, none},
      {"POST", "https://127.0.0.1:8470", "", false, none},
      {"POST", "", "", false, none},  // no browser
      {"POST", "", "none", false, none},
      {"POST", own, "same-site", false, foreign},
      {"POST", own, "cross-site", false, foreign},
      {"POST", "http://evil.example", "", false, foreign},
      {"PATCH", "http://127.0.0.1:8471", "", false, foreign},  // another port is another origin
      {"DELETE", "null", "", false, foreign},
      {"GET", "http://evil.example", "", false, none},  // it cannot see the answer
      {"GET", "http://evil.example", "", true, foreign},
      {"GET", "", "cross-site", true, foreign},
      {"GET", own, "same-origin", true, none},
      {"GET", "", "", true, none},
  };
  // Another site's page cannot even have the answer loaded; a person may follow its link.
  for (const std::string mode : {"no-cors", "cors"})
    CHECK(refusal(request("GET", {{"sec-fetch-site", "cross-site"}, {"sec-fetch-mode", mode}})) ==
          foreign);
  CHECK(refusal(request("GET", {{"sec-fetch-site", "cross-site"},
                                {"sec-fetch-mode", "navigate"},
                                {"sec-fetch-dest", "document"}})) == none);
  CHECK(refusal(request("GET", {{"sec-fetch-site", "cross-site"},
                                {"sec-fetch-mode", "navigate"},
                                {"sec-fetch-dest", "iframe"}})) == foreign);
  for (const auto& [method, origin, site, upgrade, expected] : rows) {
    const auto& the_method = method;
    CAPTURE(the_method);
    const auto& the_origin = origin;
    CAPTURE(the_origin);
    const auto& the_site = site;
    CAPTURE(the_site);
    const auto& the_upgrade = upgrade;
    CAPTURE(the_upgrade);
    std::map<std::string, std::string> headers;
    if (!origin.empty()) headers["origin"] = origin;
    if (!site.empty()) headers["sec-fetch-site"] = site;
    CHECK(refusal(request(method, headers), open_doors(), upgrade) == expected);
  }
}

TEST_CASE("only JSON bodies are read") {
  for (const char* type : {"application/json", "Application/JSON",
                           "application/json; charset=utf-8", "application/merge-patch+json"}) {
    CAPTURE(type);
    CHECK(refusal(request("PATCH", {{"content-type", type}}, "{}")) == none);
  }
  CHECK(refusal(request("POST", {{"content-type", "text/plain"}})) == none);  // nothing to read
  for (const auto& type :
       std::vector<std::string>{"text/plain", "", "application/x-www-form-urlencoded",
                                "multipart/form-data; boundary=x", "application/jsonp"}) {
    CAPTURE(type);
    const auto refused = refusal(request("PATCH", {{"content-type", type}}, "{}"));
    CHECK(refused.status == 415);
    CHECK(refused.type == "/problems/content-type");
    CHECK(refused.detail == "The body has Content-Type \"" + type +
                                "\"; allowed is application/json or application/merge-patch+json.");
  }
}

TEST_CASE("without tokens everybody is an engineer, by the name they give") {
  const auto nameless = admit(request("POST", {}), open_doors(), false);
  REQUIRE(nameless.caller);
  CHECK(nameless.caller->name == "local");
  CHECK(nameless.caller->role == Role::engineer);
  CHECK(admit(request("POST", {{"catwalk-user", "Ana P."}}), open_doors(), false).caller->name ==
        "Ana P.");
  // As a command line sends it, and as a browser does.
  for (const char* said : {"Zo\xC3\xAB", "Zo%C3%AB"}) {
    CAPTURE(said);
    const auto zoe = admit(request("POST", {{"catwalk-user", said}}), open_doors(), false);
    REQUIRE(zoe.caller);
    CHECK(zoe.caller->name == "Zo\xC3\xAB");
  }
  CHECK(admit(request("POST", {{"catwalk-user", "100%"}}), open_doors(), false).caller->name ==
        "100%");
  for (const auto& name :
       {std::string{}, std::string(65, 'x'), std::string{"a\nb"}, std::string{"\xEB"},
        std::string{"a\x7F"}, std::string{"a%0Ab"}, std::string{"%E2%80%AE"}, std::string{"%20"}}) {
    CHECK(
        refusal(request("POST", {{"catwalk-user", name}})) ==
        Refusal{422, "/problems/bad-value",
                "Catwalk-User is not a name; allowed is 1 to 64 bytes of UTF-8 without control or "
                "format characters."});
  }
}

TEST_CASE("with tokens a caller is who the token says, whatever else it claims") {
  const auto ana =
      admit(request("POST", {{"authorization", "Bearer token of Ana"}, {"catwalk-user", "Bo"}}),
            guarded_doors(), false);
  REQUIRE(ana.caller);
  CHECK(ana.caller->name == "Ana");
  CHECK(ana.caller->role == Role::engineer);
  const auto screen = admit(request("GET", {{"authorization", "bearer token of the screen"}}),
                            guarded_doors(), false);
  REQUIRE(screen.caller);
  CHECK(screen.caller->role == Role::watch);
}

TEST_CASE("with tokens nobody comes in without one, and is told how to ask") {
  const auto missing = admit(request("GET", {}), guarded_doors(), false);
  REQUIRE_FALSE(missing.caller);
  CHECK(missing.refusal.headers == std::vector<std::pair<std::string, std::string>>{
                                       {"WWW-Authenticate", "Bearer realm=\"catwalk\""}});
  CHECK(refusal(request("GET", {}), guarded_doors()) ==
        Refusal{401, "/problems/token", "A bearer token is needed."});
  for (const char* given : {"Bearer ", "Bearer token of Bo", "Basic YW5hOmFuYQ==", "token of Ana",
                            "Bearer  token of Ana"}) {
    CAPTURE(given);
    CHECK(refusal(request("GET", {{"authorization", given}}), guarded_doors()) ==
          Refusal{401, "/problems/token", "This token is not known here."});
  }
}

// unix(7): the system says who is at the other end.
TEST_CASE("on the Unix socket a user of this machine needs no token") {
  auto doors = guarded_doors();
  doors.local_users = {{"kim", Role::operate}};
  const auto from = [](const Peer& peer, std::map<std::string, std::string> headers = {}) {
    auto made = request("GET", std::move(headers));
    made.peer = peer;
    return made;
  };
  const auto caller = [&](const HttpRequest& asked, const Doors& the_doors) {
    const auto admission = admit(asked, the_doors, false);
    REQUIRE(admission.caller);
    return std::pair{admission.caller->name, admission.caller->role};
  };
  using Who = std::pair<std::string, Role>;
  CHECK(caller(from({"kim", false}), doors) == Who{"kim", Role::operate});
  CHECK(caller(from({"root", true}), doors) == Who{"root", Role::engineer});
  CHECK(refusal(from({"lee", false}), doors) ==
        Refusal{
            401, "/problems/token",
            "The user \"lee\" is not among the local_users of this rack, and has sent no token."});
  // Who sends a token is whom it belongs to, whoever sends it.
  CHECK(caller(from({"lee", false}, {{"authorization", "Bearer token of the screen"}}), doors) ==
        Who{"screen", Role::watch});
  CHECK(refusal(from({"root", true}, {{"authorization", "Bearer wrong"}}), doors).status == 401);
  // Where everyone is an engineer, it is still known who it was, whatever the client says.
  CHECK(caller(from({"lee", false}, {{"catwalk-user", "Ana"}}), open_doors()) ==
        Who{"lee", Role::engineer});
  // Over the network there is no such word, and a name in the list opens nothing.
  CHECK(refusal(request("GET", {{"catwalk-user", "kim"}}), doors).status == 401);
}

TEST_CASE("who is trusted stays when the first tokens come, and when the last are gone") {
  for (const auto& [before, after] :
       {std::pair{open_doors(), guarded_doors()}, std::pair{guarded_doors(), open_doors()}}) {
    const auto root = admit(of_root(), before, false);
    REQUIRE(root.caller);
    CHECK(credentials_of(after).contains(root.credential));
  }
  const auto anybody = admit(request("GET", {}), open_doors(), false);
  REQUIRE(anybody.caller);
  CHECK_FALSE(credentials_of(guarded_doors()).contains(anybody.credential));
}
