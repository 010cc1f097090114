// SPDX-License-Identifier: Apache-2.0
#include "web/server/http/coding.hpp"

#include <zlib.h>

#include <algorithm>
#include <array>
#include <new>
#include <optional>

namespace catwalk::web {
namespace {

constexpr std::size_t smallest = 1'400;     // bytes: less goes in one packet anyway
constexpr std::size_t largest = 1'048'576;  // bytes
constexpr int gzip_level = 3;  // half a megabyte of nodes: a millisecond, and 4 % of the bytes

// Is the weight of this coding ("gzip;q=0.5") above 0?
bool has_weight(std::string_view parameters) {
  const auto q = parameters.find("q=");
  if (q == std::string_view::npos) return true;
  const auto weight = trimmed(parameters.substr(q + 2));
  return weight.find_first_of("123456789") != std::string_view::npos;
}

bool is_text(std::string_view type) {
  constexpr std::array text{"application/json", "application/problem+json",
                            "application/openmetrics-text", "text/"};
  return std::ranges::any_of(text, [type](std::string_view one) { return type.starts_with(one); });
}

const std::string* header_of(const HttpResponse& response, std::string_view name) {
  const auto found = std::ranges::find_if(
      response.headers, [name](const auto& header) { return header.first == name; });
  return found == response.headers.end() ? nullptr : &found->second;
}

}  // namespace

bool takes_gzip(std::string_view accept_encoding) {
  const auto list = lower_case(accept_encoding);
  std::optional<bool> any;
  std::string_view rest = list;
  while (!rest.empty()) {
    const auto comma = rest.find(',');
    const auto element = rest.substr(0, comma);
    rest = comma == std::string_view::npos ? std::string_view{} : rest.substr(comma + 1);
    const auto semicolon = element.find(';');
    const auto coding = trimmed(element.substr(0, semicolon));
    const bool taken =
        semicolon == std::string_view::npos || has_weight(element.substr(semicolon + 1));
    if (coding == "gzip" || coding == "x-gzip") return taken;
    if (coding == "*") any = taken;
  }
  return any.value_or(false);
}

std::string gzipped(std::string_view plain) {
  constexpr int as_gzip = 16;  // zlib.h, deflateInit2: with the head and end of RFC 1952
  constexpr int most_memory = 8;
  z_stream stream{};
  if (deflateInit2(&stream, gzip_level, Z_DEFLATED, MAX_WBITS + as_gzip, most_memory,
                   Z_DEFAULT_STRATEGY) != Z_OK)
    throw std::bad_alloc{};
  std::string coded(deflateBound(&stream, plain.size()), '\0');
  // zlib reads what it takes, and has no word for that.
  stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(plain.data()));
  stream.avail_in = static_cast<uInt>(plain.size());
  stream.next_out = reinterpret_cast<Bytef*>(coded.data());
  stream.avail_out = static_cast<uInt>(coded.size());
  deflate(&stream, Z_FINISH);  // the bound is enough for all of it
  coded.resize(stream.total_out);
  deflateEnd(&stream);
  return coded;
}

void encode(HttpResponse& response, std::string_view accept_encoding) {
  const auto size = response.content().size();
  if (size < smallest || !is_text(response.content_type)) return;
  if (header_of(response, "Content-Encoding") != nullptr) return;
  const auto* tag = header_of(response, "ETag");
  if (tag != nullptr && !tag->starts_with("W/")) return;
  response.headers.emplace_back("Vary", "Accept-Encoding");
  if (size > largest || !takes_gzip(accept_encoding)) return;
  response.body = gzipped(response.content());
  response.embedded = {};
  response.headers.emplace_back("Content-Encoding", "gzip");
}

}  // namespace catwalk::web
