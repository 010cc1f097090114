// SPDX-License-Identifier: Apache-2.0
// Targets after RFC 3986 (percent-encoding) and the usual form encoding of queries.
#include <doctest/doctest.h>

#include "web/server/http/http.hpp"

using namespace catwalk::web;

TEST_CASE("a target is split and decoded") {
  const auto target = parse_target("/api/v1/nodes/truss%20left?dry_run=true&why=long+cable%21&x");
  REQUIRE(target);
  CHECK(target->path == "/api/v1/nodes/truss left");
  CHECK(target->query ==
        std::map<std::string, std::string>{{"dry_run", "true"}, {"why", "long cable!"}, {"x", ""}});
}

TEST_CASE("a plus is a space in a query, and itself in a path") {
  CHECK(parse_target("/a+b")->path == "/a+b");
  CHECK(parse_target("/?q=a+b")->query.at("q") == "a b");
}

TEST_CASE("an escaped slash is part of a name and separates nothing") {
  CHECK(path_parts(parse_target("/nodes/a%2Fb%2fc")->path) ==
        std::vector<std::string>{"nodes", "a%2Fb%2Fc"});
  CHECK(parse_target("/?node=a%2Fb")->query.at("node") == "a/b");
}

TEST_CASE("a malformed escape is refused wherever it stands") {
  for (const char* target : {"/%", "/%4", "/%zz", "/a%2", "/?x=%g0", "/?%=1", "/?x=1&y=%f"}) {
    CAPTURE(target);
    CHECK_FALSE(parse_target(target));
  }
}

TEST_CASE("empty parts of a path and of a query are nothing") {
  CHECK(path_parts("//api/v1//nodes/") == std::vector<std::string>{"api", "v1", "nodes"});
  CHECK(path_parts("").empty());
  CHECK(parse_target("/?&&=5")->query.empty());
}
