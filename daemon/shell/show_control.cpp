// SPDX-License-Identifier: Apache-2.0
#include "daemon/shell/show_control.hpp"

#include <spdlog/spdlog.h>

#include <asio.hpp>
#include <utility>

namespace catwalk::shell {
namespace {

control::DoorSetup door_setup(const config::ShowControlSetup& setup) {
  control::DoorSetup door{text_of(setup.bind.ip), setup.bind.port, {}};
  for (const auto& sender : setup.senders)
    door.peers.senders.push_back({text_of(sender.ip), sender.port});
  for (const auto& subscriber : setup.subscribers)
    door.peers.subscribers.push_back({text_of(subscriber.ip), subscriber.port});
  return door;
}

}  // namespace

ShowControl::ShowControl(asio::io_context& io, Field& field)
    : io_{io}, field_{field}, worker_{control::ShowControl::most_previews} {}

ShowControl::~ShowControl() { field_.on_panel_abort({}); }

control::Ways ShowControl::ways() {
  control::Ways ways;
  ways.ask = [this](rack::Event request, control::Ways::Answered answered) {
    field_.ask_here(std::move(request), std::move(answered));
  };
  ways.preview = [this](rack::SnapshotPtr snapshot, plan::SegmentName segment,
                        control::Ways::Previewed previewed) {
    // Never refused: the door waits for no more previews than the worker holds.
    (void)worker_.offer([this, snapshot = std::move(snapshot), segment = std::move(segment),
                         previewed = std::move(previewed)] {
      asio::post(io_,
                 [previewed, preview = rack::preview(*snapshot, segment)] { previewed(preview); });
    });
  };
  ways.note = [](const std::string& line) { spdlog::warn("{}", line); };
  ways.counted = [this](const control::Counters& counters) {
    field_.show_control_counted(counters);
  };
  return ways;
}

Result<std::unique_ptr<ShowControl>, std::string> ShowControl::open(
    asio::io_context& io, Field& field, const config::ShowControlSetup& setup) {
  std::unique_ptr<ShowControl> made{new ShowControl{io, field}};
  auto door = control::UdpDoor::open(io, door_setup(setup), field.snapshot(), made->ways());
  if (!door) return Failure{door.error()};
  made->door_ = std::move(door).value();
  field.on_panel_abort([raw = made.get()] { raw->door_->aborted(); });
  return made;
}

}  // namespace catwalk::shell
