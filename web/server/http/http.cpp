// SPDX-License-Identifier: Apache-2.0
#include "web/server/http/http.hpp"

#include <cstdio>

#include "daemon/base/hex.hpp"

namespace catwalk::web {
namespace {

enum class Part { path, query, value };

std::optional<std::string> unescape(std::string_view text, Part part) {
  std::string plain;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '%') {
      if (i + 2 >= text.size()) return std::nullopt;
      const int high = hex_value(text[i + 1]);
      const int low = hex_value(text[i + 2]);
      if (high < 0 || low < 0) return std::nullopt;
      const char decoded = static_cast<char>(high * 16 + low);
      // An escaped slash is part of a name and separates nothing: RFC 3986, section 2.2.
      if (part == Part::path && decoded == '/')
        plain += "%2F";
      else
        plain += decoded;
      i += 2;
    } else {
      plain += part == Part::query && text[i] == '+' ? ' ' : text[i];
    }
  }
  return plain;
}

}  // namespace

std::optional<std::string> percent_decoded(std::string_view text) {
  return unescape(text, Part::value);
}

std::string_view trimmed(std::string_view text) {
  const auto first = text.find_first_not_of(" \t");
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t") - first + 1);
}

bool names_tag(std::string_view list, std::string_view tag) {
  if (tag.starts_with("W/")) tag.remove_prefix(2);
  while (!list.empty()) {
    const auto comma = list.find(',');
    auto listed = trimmed(list.substr(0, comma));
    list = comma == std::string_view::npos ? std::string_view{} : list.substr(comma + 1);
    if (listed.starts_with("W/")) listed.remove_prefix(2);
    if (listed == tag || listed == "*") return true;
  }
  return false;
}

std::string lower_case(std::string_view text) {
  std::string lower{text};
  for (auto& c : lower)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return lower;
}

std::optional<Target> parse_target(std::string_view target) {
  Target result;
  const auto mark = target.find('?');
  const auto path = unescape(target.substr(0, mark), Part::path);
  if (!path) return std::nullopt;
  result.path = *path;
  if (mark == std::string_view::npos) return result;
  auto rest = target.substr(mark + 1);
  while (!rest.empty()) {
    const auto end = rest.find('&');
    const auto pair = rest.substr(0, end);
    rest = end == std::string_view::npos ? std::string_view{} : rest.substr(end + 1);
    const auto equals = pair.find('=');
    const auto name = unescape(pair.substr(0, equals), Part::query);
    const auto value = equals == std::string_view::npos
                           ? std::optional<std::string>{""}
                           : unescape(pair.substr(equals + 1), Part::query);
    if (!name || !value) return std::nullopt;
    if (!name->empty()) result.query[*name] = *value;
  }
  return result;
}

std::optional<AbsoluteTarget> absolute_target(std::string_view target) {
  const auto end_of_scheme = target.find("://");
  if (end_of_scheme == std::string_view::npos) return std::nullopt;
  const auto scheme = lower_case(target.substr(0, end_of_scheme));
  if (scheme != "http" && scheme != "https") return std::nullopt;
  const auto rest = target.substr(end_of_scheme + 3);
  const auto end = rest.find_first_of("/?#");
  if (end == 0 || rest.empty()) return std::nullopt;
  std::string origin{end == std::string_view::npos ? std::string_view{} : rest.substr(end)};
  if (!origin.starts_with('/')) origin.insert(0, 1, '/');
  return AbsoluteTarget{std::string{rest.substr(0, end)}, std::move(origin)};
}

std::string http_date(std::chrono::sys_seconds at) {
  static constexpr const char* days[] = {"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
  static constexpr const char* months[] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                           "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  const auto day = std::chrono::floor<std::chrono::days>(at);
  const std::chrono::year_month_day date{day};
  const std::chrono::hh_mm_ss time{at - day};
  char text[40];
  std::snprintf(text, sizeof text, "%s, %02u %s %04d %02d:%02d:%02d GMT",
                days[std::chrono::weekday{day}.c_encoding()], static_cast<unsigned>(date.day()),
                months[static_cast<unsigned>(date.month()) - 1], static_cast<int>(date.year()),
                static_cast<int>(time.hours().count()), static_cast<int>(time.minutes().count()),
                static_cast<int>(time.seconds().count()));
  return text;
}

std::vector<std::string> path_parts(std::string_view path) {
  std::vector<std::string> parts;
  while (!path.empty()) {
    const auto end = path.find('/');
    if (end != 0) parts.emplace_back(path.substr(0, end));
    path = end == std::string_view::npos ? std::string_view{} : path.substr(end + 1);
  }
  return parts;
}

}  // namespace catwalk::web
