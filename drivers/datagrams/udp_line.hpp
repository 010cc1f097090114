// SPDX-License-Identifier: Apache-2.0
#pragma once
// Nodes behind a UDP socket. A socket that cannot be bound is a line that is down, and tries again.

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "drivers/datagrams/datagram_engine.hpp"
#include "drivers/line/shelled_line.hpp"

namespace asio {
class io_context;
}

namespace catwalk::drivers {

struct UdpLineConfig {
  std::string bind_address = "0.0.0.0";  // IPv4 or IPv6, as the nodes have
  std::uint16_t port = 0;                // 0: any free one; nodes that report must know it
  std::vector<DatagramNode> nodes = {};  // each uid once
  protocol::Key key;
  // The controller's session: must be higher at every start of the daemon than at any before.
  std::uint32_t epoch = 1;
  bool asks_first = false;        // see DatagramConfig
  bool speaks = false;            // see DatagramConfig
  protocol::OurEpochs ours = {};  // see DatagramConfig
  Micros reading_age{1'000'000};
  int tries = 4;
  std::size_t most_commands = 4'096;
  // Where nodes of the network hear a search; those that the line knows are asked where they are.
  std::uint16_t search_port = protocol::usual_node_port;
  Micros first_pause{500'000};  // between attempts to bind
  Micros last_pause{8'000'000};
};

class UdpLine : public ShelledLine {
 public:
  // Throws std::invalid_argument for what DatagramEngine refuses, and for a bind address that is
  // none.
  UdpLine(asio::io_context& io, const UdpLineConfig& config);

  // The port it is bound to, once it is up; 0 before.
  std::uint16_t local_port() const;

 private:
  struct Shell;
  explicit UdpLine(std::shared_ptr<Shell> shell);
  std::shared_ptr<const Shell> shell_;
};

}  // namespace catwalk::drivers
