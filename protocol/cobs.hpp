// SPDX-License-Identifier: Apache-2.0
#pragma once
// Consistent Overhead Byte Stuffing: any bytes become bytes without a zero, so that zero can mark
// the end of a frame. One byte longer than the data, plus one for each full 254 bytes.
// Source: S. Cheshire and M. Baker, "Consistent Overhead Byte Stuffing", IEEE/ACM Transactions on
// Networking, vol. 7, no. 2, April 1999.

#include <optional>

#include "protocol/bytes.hpp"

namespace catwalk::protocol {

// Without the delimiter.
Bytes cobs_encode(ByteView data);

// The frame without its delimiter. Nothing if it is empty, holds a zero, or a code byte points
// past its end.
std::optional<Bytes> cobs_decode(ByteView frame);

}  // namespace catwalk::protocol
