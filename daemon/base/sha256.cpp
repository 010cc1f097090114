// SPDX-License-Identifier: Apache-2.0
#include "daemon/base/sha256.hpp"

#include <openssl/evp.h>

#include <array>
#include <stdexcept>

#include "daemon/base/hex.hpp"

namespace catwalk {

std::string sha256_hex(std::string_view bytes) {
  std::array<unsigned char, 32> digest{};
  if (EVP_Digest(bytes.data(), bytes.size(), digest.data(), nullptr, EVP_sha256(), nullptr) != 1)
    throw std::runtime_error{"SHA-256 cannot be computed"};
  return to_hex(digest);
}

}  // namespace catwalk
