// SPDX-License-Identifier: Apache-2.0
#pragma once
// Requests on several connections from one thread, one under way on each: as many as the server
// can answer.

#include <cstdint>
#include <string>
#include <vector>

#include "tests/bench/bench.hpp"

namespace catwalk::test {

class Load {
 public:
  Load(std::uint16_t port, std::string request, int connections);
  Load(const Load&) = delete;
  Load& operator=(const Load&) = delete;
  ~Load();

  // Answers a second over so long. Throws if one is not 200.
  double run(Seconds time);

 private:
  struct Connection {
    int handle = -1;
    std::string waiting;
  };
  std::size_t take_answer(Connection& connection);

  std::string request_;
  std::vector<Connection> connections_;
  int poller_ = -1;
};

}  // namespace catwalk::test
