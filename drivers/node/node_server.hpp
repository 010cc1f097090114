// SPDX-License-Identifier: Apache-2.0
#pragma once
// What catwalk-node does: emulated nodes behind a serial device or a pseudo-terminal and a UDP
// socket, both with the same faults, and commands on standard input.

#include <memory>
#include <optional>
#include <string>

#include "daemon/base/result.hpp"
#include "drivers/node/node_options.hpp"

namespace asio {
class io_context;
}

namespace catwalk::drivers {

class NodeServer {
 public:
  // Opens everything, and prints where it serves. The error is a sentence.
  static Result<std::unique_ptr<NodeServer>, std::string> open(asio::io_context& io,
                                                               NodeOptions options);
  ~NodeServer();

  // Why it stopped the event loop by itself; empty if it was told to.
  const std::string& trouble() const;

 private:
  struct Impl;
  explicit NodeServer(std::shared_ptr<Impl> impl);
  std::shared_ptr<Impl> impl_;
};

}  // namespace catwalk::drivers
