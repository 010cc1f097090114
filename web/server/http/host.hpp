// SPDX-License-Identifier: Apache-2.0
#pragma once
// The Host field of a request. Pure.

#include <optional>
#include <string>
#include <string_view>

namespace catwalk::web {

// The name in it, in lower case and without its port: "Rack.example:8470" → "rack.example",
// "[::1]:8470" → "[::1]". Nothing: it is something else than a name, an IPv4 address or an IPv6
// address in brackets, with at most a port behind it (RFC 9112, section 3.2; RFC 3986, section
// 3.2.2). An empty field names nobody, and is not malformed.
std::optional<std::string> host_name(std::string_view field);

}  // namespace catwalk::web
