// SPDX-License-Identifier: Apache-2.0
#pragma once
// Show control wired to the field: its requests go to the core, its previews to a thread of their
// own. Everything here is called on the field thread.

#include <memory>
#include <string>

#include "config/rack_file.hpp"
#include "daemon/base/result.hpp"
#include "daemon/base/worker.hpp"
#include "daemon/control/udp_door.hpp"
#include "daemon/shell/field.hpp"

namespace catwalk::shell {

class ShowControl {
 public:
  // Listens from now on; else why it does not, in a sentence. `io` runs the field side, and it and
  // the field outlive this.
  static Result<std::unique_ptr<ShowControl>, std::string> open(
      asio::io_context& io, Field& field, const config::ShowControlSetup& setup);
  ShowControl(const ShowControl&) = delete;
  ShowControl& operator=(const ShowControl&) = delete;
  ~ShowControl();

  void snapshot_changed() { door_->published(field_.snapshot()); }
  std::uint16_t port() const { return door_->port(); }

 private:
  ShowControl(asio::io_context& io, Field& field);
  control::Ways ways();

  asio::io_context& io_;
  Field& field_;
  std::unique_ptr<control::UdpDoor> door_;
  Worker worker_;  // last: its thread posts to all others
};

}  // namespace catwalk::shell
