// SPDX-License-Identifier: Apache-2.0
#pragma once
// Answers, compressed for whoever takes that: RFC 9110, section 8.4.

#include <string>
#include <string_view>

#include "web/server/http/http.hpp"

namespace catwalk::web {

// Does this Accept-Encoding take gzip? "gzip;q=0" does not, "*" does: RFC 9110, section 12.5.3.
bool takes_gzip(std::string_view accept_encoding);

// RFC 1952. Throws std::bad_alloc if there is no memory for it.
std::string gzipped(std::string_view plain);

// Text of a packet or more, and up to a megabyte, which takes few milliseconds; and says that it
// depends on the request. Left as they are: what is coded already, and what has a strong ETag,
// which would have to be another for each coding, and is given back to us in If-Match.
void encode(HttpResponse& response, std::string_view accept_encoding);

}  // namespace catwalk::web
