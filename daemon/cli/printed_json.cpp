// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/printed_json.hpp"

#include <algorithm>
#include <string_view>

#include "daemon/base/text.hpp"

namespace catwalk::cli {
namespace {

std::string plain(std::string_view text) {
  return made_plain(text, "\xEF\xBF\xBD", LineFeeds::kept);
}

}  // namespace

Json made_plain(Json json) {
  if (json.is_string()) return plain(json.get_ref<const std::string&>());
  if (json.is_array())
    for (auto& element : json) element = made_plain(std::move(element));
  if (json.is_object()) {
    Json object = Json::object();
    for (auto& [name, value] : json.items()) object[plain(name)] = made_plain(std::move(value));
    return object;
  }
  return json;
}

std::string printed(const Json& json) { return printed_text(json.dump(2)); }

std::string printed_text(const std::string& json_text) {
  return with_escapes(json_text, LineFeeds::kept);
}

std::string plain_lines(std::string_view text) {
  std::string plain;
  while (!text.empty()) {
    const auto end = std::min(text.find('\n'), text.size());
    auto line = text.substr(0, end);
    const bool has_return = line.ends_with('\r');
    if (has_return) line.remove_suffix(1);
    plain += made_plain(line);
    if (has_return) plain += '\r';
    if (end < text.size()) plain += '\n';
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  return plain;
}

}  // namespace catwalk::cli
