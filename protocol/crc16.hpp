// SPDX-License-Identifier: Apache-2.0
#pragma once
// CRC-16/IBM-3740: polynomial 0x1021, start 0xFFFF, nothing reflected, nothing added at the end.
// Check value over the nine characters "123456789": 0x29B1 (catalogue of parametrised CRC
// algorithms, where it is also called CRC-16/CCITT-FALSE).

#include <cstdint>

#include "protocol/bytes.hpp"

namespace catwalk::protocol {

std::uint16_t crc16(ByteView bytes);

}  // namespace catwalk::protocol
