// SPDX-License-Identifier: Apache-2.0
#pragma once
// Many requests on one connection, one behind the other, and all that comes back.

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace catwalk::test {

// Sends all of it, says that nothing more comes, and reads to the end. At most ten seconds in which
// nothing moves.
struct Exchange {
  std::string bytes;   // that came back
  bool ended = false;  // by the other end, in good order; else by a reset or for want of patience
};
Exchange converse(std::uint16_t port, std::string_view bytes);

// What came back, answer by answer. `fault` is empty, or says where it is no HTTP (RFC 9112).
struct Answers {
  struct One {
    int status = 0;
    std::string_view type;
    std::string_view body;
  };
  std::vector<One> all;
  std::string fault;
};
// Refers to `bytes`. What follows a 101 is not looked at.
Answers read_answers(std::string_view bytes);

}  // namespace catwalk::test
