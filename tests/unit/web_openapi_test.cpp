// SPDX-License-Identifier: Apache-2.0
// The OpenAPI document against the API: the same routes, the same roles. That every answer is as
// described, the fixture holds at each call of the other tests.
#include <doctest/doctest.h>

#include <set>

#include "tests/support/json_schema.hpp"
#include "tests/support/paths.hpp"
#include "tests/support/web_fixture.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

// The feed is a WebSocket, and who logs in is nobody yet: both are answered before the API is
// asked.
bool stands_before(const std::string& path) { return path == "/live" || path == "/session"; }

std::string upper(std::string text) {
  for (auto& c : text)
    if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
  return text;
}

std::set<std::string> described_routes() {
  std::set<std::string> routes;
  for (const auto& [path, operations] : openapi().at("paths").items())
    for (const auto& [method, ignored] : operations.items())
      if (!stands_before(path)) routes.insert(upper(method) + ' ' + path);
  return routes;
}

// A path that exists, for a pattern.
std::string example(std::string pattern) {
  pattern = with_names(std::move(pattern), {{"node", "left"},
                                            {"matrix", "shore"},
                                            {"segment", "speeches"},
                                            {"line", "bus"},
                                            {"uid", "0000-0000004d"},
                                            {"alarm", "1"},
                                            {"change", "1"}});
  REQUIRE(pattern.find('{') == std::string::npos);
  return pattern;
}

}  // namespace

TEST_CASE("the document and the API have the same routes") {
  std::set<std::string> served;
  for (const auto& route : web::Api::route_names()) served.insert(route);
  CHECK(served == described_routes());
}

TEST_CASE("a method that is not described is 405, and told which are") {
  const auto not_possible = [](const std::string& method, const std::string& path,
                               const std::string& possible) {
    return method + " is not possible on /api/v1" + path + "; possible is " + possible + ".";
  };
  for (const auto& [pattern, operations] : openapi().at("paths").items()) {
    if (stands_before(pattern)) continue;
    std::set<std::string> allowed;
    for (const auto& [method, ignored] : operations.items()) allowed.insert(upper(method));
    if (allowed.contains("GET")) allowed.insert("HEAD");
    for (const std::string method : {"GET", "POST", "PUT", "PATCH", "DELETE", "HEAD", "OPTIONS"}) {
      if (allowed.contains(method)) continue;
      WebBench bench;
      const auto& the_pattern = pattern;
      CAPTURE(the_pattern);
      CAPTURE(method);
      const auto path = example(pattern);
      const auto refused = bench.call(method, path);
      CHECK(refused.status == 405);
      std::set<std::string> told;
      auto rest = refused.header("Allow");
      for (std::size_t comma = 0; comma != std::string::npos;) {
        comma = rest.find(", ");
        told.insert(rest.substr(0, comma));
        if (comma != std::string::npos) rest = rest.substr(comma + 2);
      }
      CHECK(told == allowed);
      CHECK(refused.text("detail") == not_possible(method, path, refused.header("Allow")));
    }
  }
}

TEST_CASE("every route asks for exactly the role that its description names") {
  const std::vector<web::Role> roles{web::Role::watch, web::Role::operate, web::Role::engineer};
  for (const auto& [pattern, operations] : openapi().at("paths").items()) {
    if (stands_before(pattern)) continue;
    for (const auto& [method, operation] : operations.items()) {
      const auto& the_pattern = pattern;
      CAPTURE(the_pattern);
      const auto& the_method = method;
      CAPTURE(the_method);
      bool enough = false;
      for (const auto role : roles) {
        enough = enough || plan::name_of(role) == operation.at("x-role");
        WebBench bench;
        // A body that is good nowhere, so that nothing but the role is tried.
        const auto answer =
            bench.call(upper(method), example(pattern), method == "get" ? "" : "[]", {}, role);
        CHECK((answer.status == 403) == !enough);
        if (!enough)
          CHECK(answer.text("detail") == "This needs the role " +
                                             operation.at("x-role").get<std::string>() +
                                             "; ana has " + std::string{plan::name_of(role)} + ".");
      }
      CHECK(enough);
    }
  }
}

TEST_CASE(
    "every reference in the document leads somewhere, and every write takes a described body") {
  const JsonSchema schema{openapi()};
  const std::function<void(const Json&)> follow = [&](const Json& value) {
    if (value.is_object() && value.contains("$ref")) CHECK(schema.resolved(value).is_object());
    if (value.is_structured())
      for (const auto& inner : value) follow(inner);
  };
  follow(openapi());
  for (const auto& [pattern, operations] : openapi().at("paths").items())
    for (const auto& [method, operation] : operations.items()) {
      const auto& the_pattern = pattern;
      CAPTURE(the_pattern);
      // What a DELETE carries has no meaning: RFC 9110, section 9.3.5.
      CHECK((method == "get" || method == "delete") != operation.contains("requestBody"));
    }
}

TEST_CASE("the document lists every rule and every kind of alarm that there is") {
  const auto& schemas = openapi().at("components").at("schemas");
  Json rules = Json::array();
  for (const auto& [word, rule] : words_of(rack::Rule{})) rules.push_back(word);
  CHECK(schemas.at("Rule").at("enum") == rules);
  Json kinds = Json::array();
  for (const auto& [word, kind] : words_of(rack::AlarmKind{})) kinds.push_back(word);
  CHECK(schemas.at("Alarm").at("properties").at("kind").at("enum") == kinds);
}

TEST_CASE("bodies that the API takes are those that the document describes") {
  WebBench bench;
  const JsonSchema schema{openapi()};
  const auto& patch = openapi().at("components").at("schemas").at("SettingsPatch");
  struct Row {
    const char* body;
    bool good;
  };
  for (const auto& [text, good] : std::vector<Row>{
           {R"({})", true},
           {R"({"gain_db":6,"filter":"slide","centre_mhz":518,"power":true,"label":"vox"})", true},
           {R"({"gain_db":-327.68,"why":"x","waiver":{"who":"Ana","reason":"so"}})", true},
           {R"({"gain_db":"6"})", false},
           {R"({"gain_db":327.68})", false},
           {R"({"centre_mhz":-1})", false},
           {R"({"centre_mhz":4294.967296})", false},
           {R"({"power":1})", false},
           {R"({"label":"seventeen letters"})", false},
           {R"({"label":null})", false},
           {R"({"waiver":{"who":"Ana"}})", false},
           {R"({"waiver":{"who":"Ana","reason":""}})", false},
           {R"({"zoom":1})", false},
           {R"([])", false}}) {
    const auto& the_text = text;
    CAPTURE(the_text);
    CHECK(schema.faults(patch, Json::parse(text)).empty() == good);
    const auto answer = bench.call("PATCH", "/nodes/left/settings?dry_run=true", text);
    CHECK((answer.status == 422) == !good);
  }
}

TEST_CASE("the validator itself finds what does not fit") {
  const Json document = {{"named", {{"type", "string"}, {"pattern", "^a"}}}};
  const JsonSchema schema{document};
  const Json object = {{"type", "object"},
                       {"properties",
                        {{"n", {{"type", "integer"}, {"minimum", 1}, {"maximum", 3}}},
                         {"s", {{"$ref", "#/named"}}},
                         {"l", {{"type", "array"}, {"items", {{"type", "boolean"}}}}},
                         {"e", {{"enum", {"x", "y"}}}},
                         {"t", {{"type", "string"}, {"format", "date-time"}}},
                         {"c", {{"anyOf", {{{"type", "null"}}, {{"type", "number"}}}}}}}},
                       {"required", {"n"}},
                       {"additionalProperties", false}};
  CHECK(schema
            .faults(object, Json::parse(R"({"n":2,"s":"ab","l":[true],"e":"x","c":null,
                                             "t":"2026-08-14T20:00:00.5Z"})"))
            .empty());
  for (const char* wrong :
       {"[]", "{}", R"({"n":0})", R"({"n":4})", R"({"n":1.5})", R"({"n":1,"s":"b"})",
        R"({"n":1,"l":[1]})", R"({"n":1,"e":"z"})", R"({"n":1,"c":"x"})", R"({"n":1,"more":1})",
        R"({"n":1,"t":"yesterday"})"}) {
    CAPTURE(wrong);
    CHECK_FALSE(schema.faults(object, Json::parse(wrong)).empty());
  }
  CHECK_THROWS(static_cast<void>(schema.faults({{"oneOf", Json::array()}}, Json{})));
}
