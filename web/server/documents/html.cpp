// SPDX-License-Identifier: Apache-2.0
#include "web/server/documents/html.hpp"

#include <openssl/evp.h>

#include <algorithm>
#include <cstdint>

#include "daemon/base/hex.hpp"
#include "daemon/base/sha256.hpp"
#include "daemon/base/text.hpp"

namespace catwalk::web {
namespace {

constexpr std::string_view replacement = "\xEF\xBF\xBD";

std::string base64(const std::vector<std::uint8_t>& bytes) {
  std::string text(4 * ((bytes.size() + 2) / 3) + 1, '\0');  // and the NUL that OpenSSL writes
  const int length = EVP_EncodeBlock(reinterpret_cast<unsigned char*>(text.data()), bytes.data(),
                                     static_cast<int>(bytes.size()));
  text.resize(static_cast<std::size_t>(length));
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
  const auto digest = from_hex(sha256_hex(source)).value_or(std::vector<std::uint8_t>{});
  return "'sha256-" + base64(digest) + '\'';
}

}  // namespace catwalk::web
