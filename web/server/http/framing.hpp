// SPDX-License-Identifier: Apache-2.0
#pragma once
// Where the body of a request ends, as its header says: RFC 9112, sections 6 and 7. Whoever is
// between a client and us might read it otherwise, and would then take the rest of one request for
// another; so whatever is not plain is refused, and the connection ended. Pure.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace catwalk::web {

struct SaidOfBody {
  bool http_1_1 = true;
  std::vector<std::string_view> transfer_encodings;  // each field as it came
  std::size_t lengths = 0;                           // how many Content-Length fields
};

struct BadFraming {
  int status = 400;  // or 501 for a coding that we do not have
  std::string detail;
  friend bool operator==(const BadFraming&, const BadFraming&) = default;
};

// Nothing: there is a length, or "chunked", or no body.
std::optional<BadFraming> bad_framing(const SaidOfBody& said);

}  // namespace catwalk::web
