// SPDX-License-Identifier: Apache-2.0
#include "web/server/documents/html.hpp"

#include <algorithm>
#include <cstdint>

#include "daemon/base/sha256.hpp"
#include "daemon/base/text.hpp"

namespace catwalk::web {
namespace {

constexpr std::string_view replacement = "\xEF\xBF\xBD";

std::string base64(const std::vector<std::uint8_t>& bytes) {
  constexpr std::string_view digits =
      "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string text;
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    const auto at = [&](std::size_t k) {
      return i + k < bytes.size() ? std::uint32_t{bytes[i + k]} : 0U;
    };
    const auto group = at(0) << 16U | at(1) << 8U | at(2);
    for (unsigned k = 0; k < 4; ++k)
      text += i + k > bytes.size() ? '=' : digits[group >> (18U - 6U * k) & 63U];
  }
  return text;
}

}  // namespace

std::string escaped(std::string_view text) {
  std::string safe;
  safe.reserve(text.size() + text.size() / 8);
  while (!text.empty()) {
    const auto length = plain_character(text);
    const char c = text.front();
    if (c == '\n')
      safe += "<br>";
    else if (c == '\t')
      safe += ' ';
    else if (length == 0)
      safe += replacement;
    else if (length > 1)
      safe += text.substr(0, length);
    else if (c == '&')
      safe += "&amp;";
    else if (c == '<')
      safe += "&lt;";
    else if (c == '>')
      safe += "&gt;";
    else if (c == '"')
      safe += "&quot;";
    else if (c == '\'')
      safe += "&#39;";
    else
      safe += c;
    text.remove_prefix(std::max<std::size_t>(character(text), 1));
  }
  return safe;
}

HtmlTable::HtmlTable(std::initializer_list<std::string_view> heads) {
  for (const auto head : heads) heads_ += "<th scope=\"col\">" + escaped(head) + "</th>";
}

void HtmlTable::row(const std::vector<std::string>& cells) {
  rows_ += "<tr>";
  for (const auto& cell : cells) rows_ += "<td>" + escaped(cell) + "</td>";
  rows_ += "</tr>\n";
}

std::string HtmlTable::text(std::string_view otherwise) const {
  if (empty()) return "<p>" + escaped(otherwise) + "</p>\n";
  return "<table>\n<thead><tr>" + heads_ + "</tr></thead>\n<tbody>\n" + rows_ +
         "</tbody>\n</table>\n";
}

std::string csp_hash(std::string_view source) {
  const auto hex = sha256_hex(source);
  std::vector<std::uint8_t> bytes;
  const auto value = [](char c) { return c <= '9' ? c - '0' : c - 'a' + 10; };
  for (std::size_t i = 0; i + 1 < hex.size(); i += 2)
    bytes.push_back(static_cast<std::uint8_t>(value(hex[i]) * 16 + value(hex[i + 1])));
  return "'sha256-" + base64(bytes) + '\'';
}

}  // namespace catwalk::web
