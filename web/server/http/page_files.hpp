// SPDX-License-Identifier: Apache-2.0
#pragma once
// The files of the page: they hold nothing that is secret, and log in by themselves.

#include <optional>

#include "web/server/http/http.hpp"

namespace catwalk::web {

// Compressed if the request takes that. Nothing if it does not get one of the page's.
std::optional<HttpResponse> page_file(const HttpRequest& request);

}  // namespace catwalk::web
