// SPDX-License-Identifier: Apache-2.0
#include "web/server/doors/login_route.hpp"

#include "web/server/documents/render.hpp"
#include "web/server/http/input.hpp"
#include "web/server/http/problem.hpp"

namespace catwalk::web {
namespace {

constexpr std::size_t longest_token = 256;

// RFC 6265bis, sections 4.1 and 5.6: out of reach of scripts, and never sent by other sites' pages.
std::string set_cookie(const Doors& doors, std::string_view value, std::chrono::seconds lasts) {
  return std::string{login_cookie_name(doors)} + '=' + std::string{value} +
         "; Path=/; HttpOnly; SameSite=Strict; Max-Age=" + std::to_string(lasts.count()) +
         (doors.secure ? "; Secure" : "");
}

HttpResponse who_it_is(const Caller& caller, const std::optional<Login>& login,
                       const Doors& doors) {
  Json json = {{"name", caller.name},
               {"role", name_of(caller.role)},
               {"tokens", !doors.tokens.empty()},
               {"secure", doors.secure}};
  if (login) json["expires_at"] = time_text(login->ends);
  if (!doors.without_tls_because.empty()) json["without_tls_because"] = doors.without_tls_because;
  return {200, "application/json", json.dump(), {}};
}

LoginAnswer log_in(const HttpRequest& request, const Doors& doors, const Logins& logins,
                   rack::TimePoint now, const std::function<std::string()>& random_id) {
  Body body{request.body};
  const auto text = body.text("token", longest_token);
  body.require("token", text.has_value(), "the text of a token");
  const auto complaints = body.finish();
  if (!complaints.empty()) return {bad_values(complaints), {}, {}};
  const auto* token = find_token(doors.tokens, *text);
  if (token == nullptr) {
    auto unknown = problem(401, "token", "This token is not known here.");
    return {unknown, {}, {{}, {}, unknown, Admission::By::token, {}, {}}, true};
  }
  const auto opened = logins.open(*token, random_id(), now);
  auto response = who_it_is({token->name, token->role}, opened.login, doors);
  response.headers.emplace_back("Set-Cookie", set_cookie(doors, opened.cookie, logins.lasts()));
  const Caller caller{token->name, token->role};
  return {std::move(response), {}, {caller, {}, {}, Admission::By::token, token->name, {}}, true};
}

}  // namespace

LoginAnswer answer_session(const HttpRequest& request, const Doors& doors, Logins& logins,
                           rack::TimePoint now, const std::function<std::string()>& random_id) {
  if (request.method == "POST" && !doors.tokens.empty())
    return log_in(request, doors, logins, now, random_id);
  if (request.method == "DELETE") {
    const auto admission = identify(request, doors, logins, now);
    if (admission.login) logins.close(*admission.login, now);
    HttpResponse response{204, "", "", {}};
    response.headers.emplace_back("Set-Cookie", set_cookie(doors, "", std::chrono::seconds{0}));
    return {std::move(response), admission.login, {}};
  }
  if (request.method != "GET" && request.method != "HEAD" && request.method != "POST") {
    auto response = problem(405, "method",
                            request.method + " is not possible on " + std::string{session_path} +
                                "; possible is DELETE, GET, HEAD, POST.");
    response.headers.emplace_back("Allow", "DELETE, GET, HEAD, POST");
    return {std::move(response), {}, {}};
  }
  auto admission = identify(request, doors, logins, now);
  auto response =
      admission.caller ? who_it_is(*admission.caller, admission.login, doors) : admission.refusal;
  return {std::move(response), {}, std::move(admission)};
}

}  // namespace catwalk::web
