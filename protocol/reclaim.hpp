// SPDX-License-Identifier: Apache-2.0
#pragma once
// What proves a reclaim (PROTOCOL.md, section 4.1): the first 16 bytes of
//
//   HMAC-SHA-256( key, "CWreclaim" | uid(6) | epoch(4) | highest(4) | boots(4) )
//
// under the node's own key, or that of its line. RFC 2104, FIPS 180-4.

#include "protocol/datagram.hpp"
#include "protocol/message.hpp"

namespace catwalk::protocol {

Proof proof_of(const Reclaim& reclaim, NodeUid uid, const Key& key);

// Compares in constant time.
bool is_proved(const Reclaim& reclaim, NodeUid uid, const Key& key);

}  // namespace catwalk::protocol
