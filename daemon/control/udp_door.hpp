// SPDX-License-Identifier: Apache-2.0
#pragma once
// The socket of show control, and its timer. Everything here happens on the field thread.

#include <cstdint>
#include <functional>
#include <memory>
#include <string>

#include "daemon/base/result.hpp"
#include "daemon/control/show_control.hpp"

namespace asio {
class io_context;
}

namespace catwalk::control {

struct DoorSetup {
  std::string bind_host;        // an IP address
  std::uint16_t bind_port = 0;  // 0: any
  Setup peers;                  // hosts in any form that an IP address has
};

// Where the effects go. Each is called on the field thread, and may call back at once or later, on
// the field thread too; later than the door's end it may call back in vain.
struct Ways {
  // Told of each answer: of a switch, also that it is accepted.
  using Answered = std::function<void(const rack::Answer&)>;
  std::function<void(rack::Event, Answered)> ask;
  using Previewed = std::function<void(const rack::Preview&)>;
  std::function<void(rack::SnapshotPtr, plan::SegmentName, Previewed)> preview;
  std::function<void(const std::string& line)> note;
  std::function<void(const Counters&)> counted;  // after every turn
};

class UdpDoor {
 public:
  // Listens from now on; else why it does not, in a sentence.
  static Result<std::unique_ptr<UdpDoor>, std::string> open(asio::io_context& io,
                                                            const DoorSetup& setup,
                                                            rack::SnapshotPtr snapshot, Ways ways);
  UdpDoor(const UdpDoor&) = delete;
  UdpDoor& operator=(const UdpDoor&) = delete;
  ~UdpDoor();

  void published(rack::SnapshotPtr snapshot);
  // Somebody has aborted through another door.
  void aborted();
  std::uint16_t port() const;

 private:
  struct Impl;
  explicit UdpDoor(std::shared_ptr<Impl> impl);
  std::shared_ptr<Impl> impl_;
};

}  // namespace catwalk::control
