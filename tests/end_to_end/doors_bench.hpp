// SPDX-License-Identifier: Apache-2.0
#pragma once
// A running daemon with nodes on a pseudo-terminal and on UDP, to throw bad input at.

#include <cstdint>
#include <string>

#include "tests/support/raw_socket.hpp"
#include "tests/support/rig.hpp"

namespace catwalk::test {

class DoorsBench {
 public:
  DoorsBench();

  std::uint16_t port() const { return port_; }
  // All that a bad request must leave as it is: wanted and seen settings with their revisions,
  // lock, segment, epoch and changes.
  std::string state();
  // Serving on every door, with every node answering and agreed; else what is not.
  std::string trouble();
  // A counter of a line, as /metrics has it.
  double counter(const std::string& line, const std::string& name);

  Rig rig;

 private:
  std::uint16_t port_;
};

// One request as bytes. A Host header is added unless `headers` has one; a Content-Length if there
// is a body. Header lines end in "\r\n".
std::string http_bytes(const std::string& method, const std::string& target,
                       const std::string& headers = {}, const std::string& body = {});

// The UDP port that this process has bound, as the system tells it.
std::uint16_t udp_port_of(int pid);

}  // namespace catwalk::test
