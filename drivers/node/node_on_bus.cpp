// SPDX-License-Identifier: Apache-2.0
#include "drivers/node/node_on_bus.hpp"

#include <algorithm>

#include "protocol/codec.hpp"

namespace catwalk::drivers {

std::vector<protocol::Bytes> NodeOnBus::feed(protocol::ByteView bytes, Moment now) {
  std::vector<protocol::Bytes> out;
  reader_.feed(bytes, [&](protocol::ByteView packet) {
    const auto header = protocol::header_of(packet);
    if (!header) return;
    const bool broadcast = header->address == protocol::Address::broadcast();
    const bool addressed = header->address == node_->address() && header->address.is_assignable();
    if (!broadcast && !addressed) return;
    const Arrival arrival{broadcast ? Arrival::Way::broadcast : Arrival::Way::addressed, 0, true};
    if (const auto reply = node_->answer(packet, arrival, now)) {
      out.push_back(protocol::to_frame(*reply));
    }
  });
  return out;
}

std::vector<protocol::Bytes> EmulatedBus::feed(protocol::ByteView bytes, Moment now) {
  std::vector<protocol::Bytes> out;
  // One frame at a time, so that only answers to the same request meet on the wire.
  while (!bytes.empty()) {
    const auto zero = std::find(bytes.begin(), bytes.end(), std::uint8_t{0});
    const auto length = static_cast<std::size_t>(zero - bytes.begin());
    const auto piece = bytes.first(zero == bytes.end() ? length : length + 1);
    bytes = bytes.subspan(piece.size());

    protocol::Bytes mixed;
    for (NodeOnBus& node : nodes_) {
      for (const protocol::Bytes& frame : node.feed(piece, now)) {
        const std::size_t shared = std::min(mixed.size(), frame.size());
        for (std::size_t i = 0; i < shared; ++i) {
          mixed[i] = static_cast<std::uint8_t>(mixed[i] & frame[i]);
        }
        mixed.insert(mixed.end(), frame.begin() + static_cast<std::ptrdiff_t>(shared), frame.end());
      }
    }
    if (!mixed.empty()) out.push_back(std::move(mixed));
  }
  return out;
}

}  // namespace catwalk::drivers
