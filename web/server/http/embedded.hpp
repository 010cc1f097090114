// SPDX-License-Identifier: Apache-2.0
#pragma once
// Files that stand inside the binary. server/embed.cmake writes the text of the API document,
// panel/build.mjs the files of the page.

#include <span>
#include <string_view>

namespace catwalk::web::embedded {

extern const std::string_view openapi_json;

struct PageFile {
  std::string_view path;    // "/app.js"
  std::string_view type;    // "text/javascript; charset=utf-8"
  std::string_view digest;  // of its content: 32 hexadecimal digits
  std::string_view plain;
  std::string_view gzip;  // the same, compressed (RFC 1952)
};
extern const std::span<const PageFile> page;

}  // namespace catwalk::web::embedded
