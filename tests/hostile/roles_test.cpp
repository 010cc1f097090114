// SPDX-License-Identifier: Apache-2.0
// Every route of the API document with every method and every role: what each is answered, and that
// nothing acts for whoever may not.
#include <doctest/doctest.h>

#include <algorithm>
#include <cctype>

#include "tests/end_to_end/guarded_rack.hpp"
#include "tests/support/paths.hpp"

using namespace catwalk::test;

namespace {

const std::vector<std::string> methods{"GET",   "HEAD",   "POST",    "PUT",
                                       "PATCH", "DELETE", "OPTIONS", "PURGE"};
// In order; each may do what those before may.
const std::vector<std::string> roles{"watch", "operate", "engineer"};

struct Route {
  std::string method;
  std::string path;  // with names in the place of {…}
  std::string role;  // the least; empty: anybody's
};

std::string lower(std::string text) {
  for (auto& c : text) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return text;
}

const std::map<std::string, std::string> names_here{
    {"node", "net-1"}, {"matrix", "shore"},      {"segment", "finale"}, {"line", "bus"},
    {"alarm", "1"},    {"uid", "7a10-00000209"}, {"change", "1"}};

Json document_of(const GuardedRack& rack) {
  return Json::parse(rack.ask("GET", "/api/v1/openapi.json", GuardedRack::bearer("watch")).body);
}

// Every path with every method; `role` is "-" where the document has no such method.
std::vector<Route> combinations(const Json& document) {
  std::vector<Route> all;
  for (const auto& [path, operations] : document.at("paths").items())
    for (const auto& method : methods) {
      // Whoever may GET may HEAD.
      const auto found = operations.find(method == "HEAD" ? "get" : lower(method));
      all.push_back({method, "/api/v1" + with_names(path, names_here),
                     found == operations.end() ? "-" : found->value("x-role", "")});
    }
  return all;
}

// Would act, from whoever may: on the way there nothing is wrong with it.
std::string body_for(const Route& route) {
  if (route.method == "GET" || route.method == "HEAD") return {};
  if (route.path.ends_with("/settings")) return R"({"gain_db":9,"why":"to see"})";
  if (route.path.ends_with("/segment")) return R"({"segment":"finale","why":"to see"})";
  if (route.path.ends_with("/switch")) return R"({"segment":"finale"})";
  if (route.path.ends_with("/locate")) return R"({"seconds":1})";
  if (route.path.ends_with("/shelve")) return R"({"for_s":60,"why":"to see"})";
  if (route.path.ends_with("/message")) return R"({"text":"go"})";
  return "{}";
}

RawResponse ask(const GuardedRack& rack, const Route& route, const std::string& headers) {
  TcpClient client{rack.port};
  // Recommendations are made at leisure: slowly by an instrumented daemon on a busy machine.
  client.has_patience(60'000);
  client.say(
      http_bytes(route.method, route.path, headers + "If-Match: \"1\"\r\n", body_for(route)));
  return client.response(route.method == "HEAD");
}

bool is_session(const Route& route) { return route.path == "/api/v1/session"; }

std::size_t rank(const std::string& role) {
  return static_cast<std::size_t>(std::ranges::find(roles, role) - roles.begin());
}

}  // namespace

TEST_CASE("every route with every method answers each role as the document says") {
  GuardedRack rack;
  // Whoever is known at an address is not held up by the wrong tokens that come from there.
  for (const auto& role : roles)
    REQUIRE(rack.ask("GET", "/api/v1/rack", GuardedRack::bearer(role)).status == 200);
  REQUIRE(rack.has_met_all());
  const auto all = combinations(document_of(rack));
  REQUIRE(all.size() > 200);
  std::size_t tried = 0;
  const auto before = rack.state();

  // Nobody, somebody with a wrong token or a forged login, and all who may not.
  for (const auto& route : all) {
    CAPTURE(route.method);
    CAPTURE(route.path);
    if (is_session(route)) continue;
    for (const auto* who :
         {"", "Authorization: Bearer token of nobody\r\n", "Cookie: catwalk-login=1.2.3.4\r\n"}) {
      const auto status = ask(rack, route, who).status;
      CHECK((status == 401 || (*who != '\0' && status == 429)));
      ++tried;
    }
    for (const auto& role : roles) {
      if (route.role != "-" && rank(role) >= rank(route.role)) continue;
      CAPTURE(role);
      const auto status = ask(rack, route, GuardedRack::bearer(role)).status;
      if (route.path.ends_with("/live") && route.role == "-")
        CHECK(status == 426);
      else
        CHECK(status == (route.role == "-" ? 405 : 403));
      ++tried;
    }
  }
  CHECK(rack.state() == before);

  // All who may. What it comes to depends on the rack; that it is no fault does not.
  for (const auto& route : all) {
    if (route.role == "-" || is_session(route)) continue;
    for (const auto& role : roles) {
      if (rank(role) < rank(route.role)) continue;
      CAPTURE(route.method);
      CAPTURE(route.path);
      CAPTURE(role);
      const auto status = ask(rack, route, GuardedRack::bearer(role)).status;
      CHECK(status != 0);
      CHECK(status != 401);
      CHECK(status != 403);
      CHECK(status != 405);
      CHECK(status != 500);
      ++tried;
    }
  }
  MESSAGE(tried << " combinations of route, method and role");
  CHECK(rack.rig.daemon->running());
}
