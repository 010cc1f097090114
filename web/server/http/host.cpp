// SPDX-License-Identifier: Apache-2.0
#include "web/server/http/host.hpp"

#include <arpa/inet.h>

#include <algorithm>

#include "web/server/http/http.hpp"

namespace catwalk::web {
namespace {

constexpr std::size_t longest_port = 5;  // digits

bool is_digit(char c) { return c >= '0' && c <= '9'; }

// Of a name or an IPv4 address. RFC 1123, section 2.1; "_" stands in names of machines too.
bool stands_in_names(char c) {
  return is_digit(c) || (c >= 'a' && c <= 'z') || c == '.' || c == '-' || c == '_';
}

bool is_port_or_nothing(std::string_view rest) {
  if (rest.empty()) return true;
  return rest.front() == ':' && rest.size() <= 1 + longest_port &&
         std::ranges::all_of(rest.substr(1), is_digit);
}

bool is_ipv6(const std::string& text) {
  in6_addr ignored{};
  return ::inet_pton(AF_INET6, text.c_str(), &ignored) == 1;
}

}  // namespace

std::optional<std::string> host_name(std::string_view field) {
  const auto whole = lower_case(field);
  const bool bracketed = whole.starts_with('[');
  const auto end = bracketed ? whole.find(']') : whole.find(':');
  if (bracketed && end == std::string::npos) return std::nullopt;
  auto name = whole.substr(0, bracketed ? end + 1 : end);
  if (!is_port_or_nothing(std::string_view{whole}.substr(name.size()))) return std::nullopt;
  const bool good = bracketed ? is_ipv6(name.substr(1, name.size() - 2))
                              : std::ranges::all_of(name, stands_in_names);
  if (!good) return std::nullopt;
  return name;
}

}  // namespace catwalk::web
