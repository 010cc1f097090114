// SPDX-License-Identifier: Apache-2.0
#include "web/server/http/http.hpp"

namespace catwalk::web {
namespace {

int hex_value(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return -1;
}

enum class Part { path, query };

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
