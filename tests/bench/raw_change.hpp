// SPDX-License-Identifier: Apache-2.0
#pragma once
// A change of one node's gain as bytes, so that nothing of the project's own client is measured.

#include <string>

namespace catwalk::test {

inline std::string patch(int gain, const std::string& etag) {
  const auto body = "{\"gain_db\":" + std::to_string(gain) + "}";
  return "PATCH /api/v1/nodes/net-1/settings HTTP/1.1\r\nHost: 127.0.0.1\r\nIf-Match: " + etag +
         "\r\nContent-Type: application/json\r\nContent-Length: " + std::to_string(body.size()) +
         "\r\n\r\n" + body;
}

}  // namespace catwalk::test
