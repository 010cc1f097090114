// SPDX-License-Identifier: Apache-2.0
#include "web/server/http/page_files.hpp"

#include <algorithm>
#include <string>

#include "web/server/http/coding.hpp"
#include "web/server/http/embedded.hpp"

namespace catwalk::web {
namespace {

const embedded::PageFile* find_file(std::string_view path) {
  const auto found = std::ranges::find(embedded::page, path, &embedded::PageFile::path);
  return found == embedded::page.end() ? nullptr : &*found;
}

}  // namespace

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
