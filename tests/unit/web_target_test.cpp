// SPDX-License-Identifier: Apache-2.0
// Targets after RFC 3986 (percent-encoding) and the usual form encoding of queries.
#include <doctest/doctest.h>

#include <chrono>

#include "web/server/http/http.hpp"

using namespace catwalk::web;
using namespace std::chrono_literals;

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

TEST_CASE("a target in absolute form is taken apart, and nothing else is") {
  using Absolute = AbsoluteTarget;
  CHECK(absolute_target("http://truss.lan:8470/healthz?x=1") ==
        Absolute{"truss.lan:8470", "/healthz?x=1"});
  CHECK(absolute_target("HTTPS://[::1]") == Absolute{"[::1]", "/"});
  CHECK(absolute_target("http://truss.lan?x=1") == Absolute{"truss.lan", "/?x=1"});
  for (const char* target : {"/", "/http://a/", "*", "http://", "http:///x", "ftp://a/", "a:80"}) {
    CAPTURE(target);
    CHECK_FALSE(absolute_target(target));
  }
}

TEST_CASE("a date is written as RFC 9110 has it") {
  using namespace std::chrono;
  // The example of section 5.6.7.
  CHECK(http_date(sys_days{1994y / November / 6} + 8h + 49min + 37s) ==
        "Sun, 06 Nov 1994 08:49:37 GMT");
  CHECK(http_date(sys_seconds{}) == "Thu, 01 Jan 1970 00:00:00 GMT");
  CHECK(http_date(sys_days{2028y / February / 29} + 23h + 59min + 59s) ==
        "Tue, 29 Feb 2028 23:59:59 GMT");
}
