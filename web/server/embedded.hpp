// SPDX-License-Identifier: Apache-2.0
#pragma once
// Files that stand inside the binary; embed.cmake writes their texts.

#include <string_view>

namespace catwalk::web::embedded {

extern const std::string_view openapi_json;
extern const std::string_view status_html;
extern const std::string_view status_css;
extern const std::string_view status_js;

}  // namespace catwalk::web::embedded
