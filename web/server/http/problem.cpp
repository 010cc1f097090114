// SPDX-License-Identifier: Apache-2.0
#include "web/server/http/problem.hpp"

#include <nlohmann/json.hpp>

namespace catwalk::web {
namespace {

using Json = nlohmann::ordered_json;

std::string title_of(int status) {
  switch (status) {
    case 400:
      return "Bad request";
    case 401:
      return "A token is needed";
    case 403:
      return "Not allowed";
    case 404:
      return "Not found";
    case 405:
      return "Method not allowed";
    case 408:
      return "Too slow";
    case 409:
      return "Conflict";
    case 412:
      return "Somebody changed it in between";
    case 413:
      return "Too large";
    case 415:
      return "Only JSON is read";
    case 421:
      return "Wrong host";
    case 422:
      return "A value cannot be used";
    case 428:
      return "If-Match is needed";
    case 429:
      return "Too many";
    case 431:
      return "Too large";
    case 501:
      return "Not understood";
    case 502:
      return "The node refused";
    case 503:
      return "Not available now";
    case 504:
      return "The node does not answer";
    default:
      return "Error";
  }
}

Json head(int status, const std::string& type, const std::string& detail) {
  return {{"type", "/problems/" + type},
          {"title", title_of(status)},
          {"status", status},
          {"detail", detail}};
}

HttpResponse respond(int status, const std::string& detail, const Json& body) {
  // Input is echoed in errors, and may not be UTF-8.
  return {.status = status,
          .content_type = "application/problem+json",
          .body = body.dump(-1, ' ', false, Json::error_handler_t::replace),
          .headers = {},
          .detail = detail};
}

}  // namespace

HttpResponse problem(int status, const std::string& type, const std::string& detail) {
  return respond(status, detail, head(status, type, detail));
}

HttpResponse passing_problem(int status, const std::string& type, const std::string& detail,
                             std::chrono::seconds retry_after) {
  auto response = problem(status, type, detail);
  response.headers.emplace_back("Retry-After", std::to_string(retry_after.count()));
  return response;
}

HttpResponse problem_with(int status, const std::string& type, const std::string& detail,
                          const Json& members) {
  auto body = head(status, type, detail);
  body.update(members);
  return respond(status, detail, body);
}

HttpResponse bad_values(const std::vector<BadValue>& values, int status) {
  const auto& first = values.front();
  Json body = head(status, "bad-value", first.sentence);
  body["pointer"] = first.pointer;
  body["value"] = first.value;
  body["allowed"] = first.allowed;
  Json all = Json::array();
  for (const auto& value : values)
    all.push_back({{"pointer", value.pointer},
                   {"value", value.value},
                   {"allowed", value.allowed},
                   {"detail", value.sentence}});
  body["errors"] = std::move(all);
  return respond(status, first.sentence, body);
}

}  // namespace catwalk::web
