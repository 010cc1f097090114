// SPDX-License-Identifier: Apache-2.0
#pragma once
// The files of the page: they hold nothing that is secret, and log in by themselves.

#include <optional>
#include <string_view>

#include "web/server/http/http.hpp"

namespace catwalk::web {

// Compressed if the request takes that. Nothing if it does not get one of the page's.
std::optional<HttpResponse> page_file(const HttpRequest& request);

// Does this Accept-Encoding take gzip? "gzip;q=0" does not, "*" does: RFC 9110, section 12.5.3.
bool takes_gzip(std::string_view accept_encoding);

}  // namespace catwalk::web
