// SPDX-License-Identifier: Apache-2.0
#pragma once
// SHA-256 (FIPS 180-4), written as 64 hexadecimal digits, lower case. Throws std::runtime_error if
// the system's cryptography refuses to compute it.

#include <string>
#include <string_view>

namespace catwalk {

std::string sha256_hex(std::string_view bytes);

}  // namespace catwalk
