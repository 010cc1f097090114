// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/run.hpp"

#include "daemon/base/text.hpp"
#include "daemon/cli/printed_json.hpp"
#include "daemon/cli/show.hpp"
#include "daemon/cli/show_matrix.hpp"
#include "daemon/cli/show_switch.hpp"

namespace catwalk::cli {
namespace {

// What it came to decides, where the daemon says so; else the status of HTTP does.
int status_of(int http, const Json& body) {
  if (http < 300) return exit_done;
  const auto outcome = text_of(body, "outcome");
  if (outcome == "busy") return exit_overtaken;
  if (outcome == "refused" || outcome == "needs-waiver") return exit_refused;
  switch (http) {
    case 401:
    case 403:
    case 409:
      return exit_refused;
    case 412:
    case 428:
      return exit_overtaken;
    case 424:
    case 502:
      return exit_failed;
    case 504:
      return exit_unreachable;
    case 400:
    case 404:
    case 413:
    case 415:
    case 422:
      return exit_usage;
    default:
      return exit_no_daemon;
  }
}

}  // namespace

// The parser takes a NUL for the end of the text.
Json parsed(const std::string& text) {
  if (text.find('\0') != std::string::npos) return Json(Json::value_t::discarded);
  return Json::parse(text, nullptr, false);
}

Json Run::with_why(Json body) const {
  if (has("--why")) body["why"] = value("--why");
  if (has("--waive")) body["waiver"] = {{"who", value("--by")}, {"reason", value("--waive")}};
  return body;
}

Headers Run::without_waiting() const {
  return has("--no-wait") ? Headers{{"Prefer", "respond-async"}} : Headers{};
}

std::string Run::query(std::initializer_list<const char*> names) const {
  std::string query;
  for (const char* name : names) {
    const auto option = "--" + std::string{name};
    if (has(option))
      query += (query.empty() ? "?" : "&") + std::string{name} + '=' + escaped(value(option));
  }
  return query;
}

Result<Reply, int> Run::ask_anything(const std::string& method, const std::string& path,
                                     const std::string& body, const Headers& headers) {
  const auto answer = client_.request(method, "/api/v1" + path, body, headers);
  if (!answer) return Failure<int>{complain(exit_no_daemon, answer.error())};
  if (const auto zone = answer->headers.find("catwalk-zone"); zone != answer->headers.end())
    tell_times_in(zone->second);
  auto json = parsed(answer->body);
  if (json.is_discarded())
    return Failure<int>{
        complain(exit_no_daemon, "the answer is not JSON; is this a Catwalk daemon?")};
  Reply reply{answer->status, made_plain(json), json, {}};
  if (const auto found = answer->headers.find("etag"); found != answer->headers.end())
    reply.etag = found->second;
  return reply;
}

Result<Reply, int> Run::ask(const std::string& method, const std::string& path,
                            const std::string& body, const Headers& headers) {
  auto reply = ask_anything(method, path, body, headers);
  if (reply && reply->http >= 300) return Failure<int>{refused(*reply)};
  return reply;
}

void Run::print_json(const Reply& reply) { screen_.out << printed(reply.whole) << '\n'; }

int Run::complain(int status, const std::string& sentence) {
  screen_.err << "catwalk: " << with_escapes(sentence) << '\n';
  return status;
}

int Run::refused(const Reply& reply) {
  const auto detail = text_of(reply.body, "detail");
  if (as_json()) print_json(reply);
  screen_.err << "catwalk: " << detail << '\n';
  if (!as_json() && reply.body.contains("errors"))
    for (const auto& error : reply.body.at("errors"))
      if (text_of(error, "detail") != detail)
        screen_.err << "  " << text_of(error, "detail") << '\n';
  if (!as_json() && reply.body.contains("problems"))
    for (const auto& problem : reply.body.at("problems"))
      screen_.err << "  " << problem.get<std::string>() << '\n';
  if (!as_json() && reply.body.contains("findings"))
    screen_.err << show_findings(reply.body.at("findings"), "  ");
  if (text_of(reply.body, "outcome") == "needs-waiver")
    screen_.err << "  to go on: --waive REASON --by NAME\n";
  return status_of(reply.http, reply.body);
}

namespace {

// "done: Every node …"
std::string outcome_words(const Json& answer) {
  const auto detail = text_of(answer, "detail");
  return text_of(answer, "outcome") + (detail.empty() ? "" : ": " + detail) + '\n';
}

}  // namespace

int Run::act(const std::string& path, const Json& body) {
  const auto reply = ask("POST", path, body.dump());
  if (!reply) return reply.error();
  print(*reply, outcome_words);
  return exit_done;
}

int Run::show_change(const Reply& reply) {
  print(reply, [](const Json& answer) {
    auto text = text_of(answer, "outcome");
    if (answer.contains("change"))
      text += ", change " + std::to_string(answer.at("change").get<std::uint64_t>());
    if (const auto detail = text_of(answer, "detail"); !detail.empty()) text += ": " + detail;
    const auto node = answer.value(answer.contains("matrix") ? "matrix" : "node", Json::object());
    text += '\n' + show_findings(answer.at("findings"), "  ", text_of(node, "name"));
    if (answer.contains("node")) text += show_node(node);
    if (answer.contains("matrix")) text += show_matrix(answer.at("matrix"), false);
    return text;
  });
  return exit_done;
}

int Run::show_verdict(const std::string& settings, const Json& patch) {
  const auto reply = ask("PATCH", settings + "?dry_run=true", patch.dump());
  if (!reply) return reply.error();
  const auto would_be = text_of(reply->body, "would_be");
  print(*reply, [&](const Json& body) {
    return verdict_words(would_be) + '\n' + show_findings(body.at("findings"), "  ", word(0));
  });
  return would_be == "accepted" ? exit_done : exit_refused;
}

int Run::switched(const std::string& path, const Json& body, const Headers& headers) {
  const auto reply = ask_anything("POST", path, body.dump(), headers);
  if (!reply) return reply.error();
  if (reply->http >= 300) {
    const int status = refused(*reply);
    if (!as_json() && reply->body.contains("switch"))
      screen_.err << show_switch(reply->body.at("switch"));
    return status;
  }
  print(*reply, [](const Json& answer) {
    return answer.contains("switch") ? show_switch(answer.at("switch")) : outcome_words(answer);
  });
  return exit_done;
}

int Run::document(const std::string& path) {
  if (as_json()) return complain(exit_usage, "this is a document, not JSON: leave --json out");
  const auto answer = client_.request("GET", "/api/v1" + path);
  if (!answer) return complain(exit_no_daemon, answer.error());
  if (answer->status < 300) {
    screen_.out << plain_lines(answer->body);
    return exit_done;
  }
  const auto body = parsed(answer->body);
  if (body.is_discarded())
    return complain(exit_no_daemon, "the answer is not understood; is this a Catwalk daemon?");
  return refused({answer->status, made_plain(body), body, {}});
}

}  // namespace catwalk::cli
