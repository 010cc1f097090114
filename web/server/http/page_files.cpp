// SPDX-License-Identifier: Apache-2.0
#include "web/server/http/page_files.hpp"

#include <algorithm>
#include <string>

#include "web/server/http/embedded.hpp"

namespace catwalk::web {
namespace {

const embedded::PageFile* find_file(std::string_view path) {
  const auto found = std::ranges::find(embedded::page, path, &embedded::PageFile::path);
  return found == embedded::page.end() ? nullptr : &*found;
}

// Is the weight of this coding ("gzip;q=0.5") above 0?
bool has_weight(std::string_view parameters) {
  const auto q = parameters.find("q=");
  if (q == std::string_view::npos) return true;
  const auto weight = trimmed(parameters.substr(q + 2));
  return weight.find_first_of("123456789") != std::string_view::npos;
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

std::optional<HttpResponse> page_file(const HttpRequest& request) {
  if (request.method != "GET" && request.method != "HEAD") return std::nullopt;
  const auto* file = find_file(request.path);
  if (file == nullptr) return std::nullopt;
  const bool compressed = takes_gzip(request.header("accept-encoding"));
  // Other bytes have another tag: RFC 9110, section 8.8.3.3.
  const auto tag = '"' + std::string{file->digest} + (compressed ? "-gzip\"" : "\"");
  // Kept, and asked for again each time: whoever reads the page has the one of the daemon that
  // runs.
  HttpResponse response{
      200,
      std::string{file->type},
      {},
      {{"Vary", "Accept-Encoding"}, {"ETag", tag}, {"Cache-Control", "no-cache"}}};
  if (names_tag(request.header("if-none-match"), tag)) {
    response.status = 304;
    response.content_type.clear();
    return response;
  }
  if (compressed) {
    response.embedded = file->gzip;
    response.headers.emplace_back("Content-Encoding", "gzip");
  } else {
    response.embedded = file->plain;
  }
  return response;
}

}  // namespace catwalk::web
