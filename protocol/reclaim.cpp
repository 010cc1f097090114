// SPDX-License-Identifier: Apache-2.0
#include "protocol/reclaim.hpp"

#include <openssl/crypto.h>

#include <algorithm>
#include <string_view>

namespace catwalk::protocol {

Proof proof_of(const Reclaim& reclaim, NodeUid uid, const Key& key) {
  // What the key signs elsewhere begins with "CW" and a version: this is never taken for that.
  constexpr std::string_view purpose = "CWreclaim";
  Bytes message(purpose.begin(), purpose.end());
  put(message, uid.bits(), uid_size);
  put(message, reclaim.epoch.value, 4);
  put(message, reclaim.highest.value, 4);
  put(message, reclaim.boots, 4);
  const FullMac mac = hmac_sha256(key.bytes(), message);
  Proof proof{};
  std::copy_n(mac.begin(), proof.size(), proof.begin());
  return proof;
}

bool is_proved(const Reclaim& reclaim, NodeUid uid, const Key& key) {
  const auto proof = proof_of(reclaim, uid, key);
  return CRYPTO_memcmp(proof.data(), reclaim.proof.data(), proof.size()) == 0;
}

}  // namespace catwalk::protocol
