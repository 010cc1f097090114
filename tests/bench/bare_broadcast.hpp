// SPDX-License-Identifier: Apache-2.0
#pragma once
// The least that Beast can do for many WebSockets: one thread, the same text to each of them.

#include <cstddef>
#include <cstdint>
#include <memory>
#include <string>

#include "daemon/base/pinned.hpp"

namespace catwalk::test {

class BareBroadcast : Pinned {
 public:
  // On any free port of the loopback, from now on.
  BareBroadcast();
  ~BareBroadcast();

  std::uint16_t port() const;
  // How many have come in, handshake and all.
  std::size_t panels() const;
  // Soon, from its own thread, as the panel side of the daemon does.
  void tell(std::shared_ptr<const std::string> text);

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace catwalk::test
