// SPDX-License-Identifier: Apache-2.0
#pragma once
// The head of a request as Beast has it, made into ours. Internal to the room.

#include <utility>
// Boost 1.74 needs <utility> first.
#include <boost/beast.hpp>
#include <string>
#include <string_view>

#include "web/server/http/framing.hpp"
#include "web/server/http/http.hpp"
#include "web/server/wire/begin.hpp"

namespace catwalk::web {

namespace beast = boost::beast;
namespace http = beast::http;

inline SaidOfBody said_of_body(const http::request<http::string_body>& head) {
  SaidOfBody said;
  said.http_1_1 = head.version() >= 11;
  said.lengths = head.count(http::field::content_length);
  for (const auto& field : head)
    if (field.name() == http::field::transfer_encoding)
      said.transfer_encodings.emplace_back(field.value().data(), field.value().size());
  return said;
}

// Whose values over several lines are one list: RFC 9110, section 5.3.
inline bool is_list(std::string_view name) {
  return name == "if-match" || name == "if-none-match" || name == "accept-encoding";
}

inline HttpRequest plain(http::request<http::string_body>& from, Target target) {
  HttpRequest request;
  request.method = std::string{from.method_string()};
  request.path = std::move(target.path);
  request.query = std::move(target.query);
  for (const auto& field : from) {
    const auto name = field.name_string();
    const auto [known, is_new] =
        request.headers.emplace(lower_case({name.data(), name.size()}), std::string{field.value()});
    if (!is_new && is_list(known->first)) known->second += ", " + std::string{field.value()};
  }
  request.body = std::move(from.body());
  return request;
}

// Nothing is sent of the body before we say that we want it: RFC 9110, section 10.1.1.
inline bool expects_to_go_on(const http::request<http::string_body>& head) {
  return head.version() >= 11 && beast::iequals(head[http::field::expect], "100-continue");
}
inline constexpr std::string_view go_on = "HTTP/1.1 100 Continue\r\n\r\n";

}  // namespace catwalk::web
