// SPDX-License-Identifier: Apache-2.0
#include "tests/hostile/played_net.hpp"

#include <arpa/inet.h>
#include <poll.h>
#include <sys/socket.h>

#include <array>
#include <stdexcept>
#include <utility>

#include "protocol/codec.hpp"

namespace catwalk::test {

using protocol::NodeUid;
using protocol::Reply;
using protocol::Request;

namespace {

sockaddr_in at_loopback(std::uint16_t port) {
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_port = htons(port);
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  return address;
}

}  // namespace

Mailbox::Mailbox() : socket_{::socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC, 0)} {
  auto address = at_loopback(0);
  socklen_t size = sizeof address;
  auto* generic = reinterpret_cast<sockaddr*>(&address);
  if (::bind(socket_.number(), generic, size) != 0 ||
      ::getsockname(socket_.number(), generic, &size) != 0)
    throw std::runtime_error{"no UDP socket"};
  port_ = ntohs(address.sin_port);
}

std::optional<Mailbox::Letter> Mailbox::receive(int milliseconds) const {
  pollfd waiting{socket_.number(), POLLIN, 0};
  if (::poll(&waiting, 1, milliseconds) <= 0) return std::nullopt;
  std::array<std::uint8_t, 2048> bytes{};
  sockaddr_in from{};
  socklen_t size = sizeof from;
  const auto count = ::recvfrom(socket_.number(), bytes.data(), bytes.size(), 0,
                                reinterpret_cast<sockaddr*>(&from), &size);
  if (count < 0) return std::nullopt;
  return Letter{{bytes.begin(), bytes.begin() + count}, ntohs(from.sin_port)};
}

void Mailbox::send(std::uint16_t port, protocol::ByteView bytes) const {
  const auto to = at_loopback(port);
  // What does not fit is lost, as on any network.
  (void)::sendto(socket_.number(), bytes.data(), bytes.size(), 0,
                 reinterpret_cast<const sockaddr*>(&to), sizeof to);
}

// ---- nodes --------------------------------------------------------------------------------------

PlayedNet::PlayedNet(protocol::Key key, std::vector<NodeUid> nodes, std::string type)
    : key_{std::move(key)}, type_{std::move(type)} {
  for (const auto uid : nodes) {
    auto& reading = nodes_[uid].reading;
    reading.settings.centre_hz = 585'000'000;
    reading.telemetry.boots = 1;
    reading.telemetry.supply_mv = 12'000;
  }
  thread_ = std::thread{[this] { run(); }};
}

PlayedNet::~PlayedNet() {
  stopping_ = true;
  thread_.join();
}

void PlayedNet::lie(Lie lie) {
  const std::lock_guard lock{mutex_};
  lie_ = std::move(lie);
}

void PlayedNet::show(NodeUid node, const protocol::Reading& reading) {
  const std::lock_guard lock{mutex_};
  nodes_.at(node).reading = reading;
}

protocol::Reading PlayedNet::shown(NodeUid node) {
  const std::lock_guard lock{mutex_};
  return nodes_.at(node).reading;
}

bool PlayedNet::report(NodeUid uid) {
  const std::lock_guard lock{mutex_};
  auto& node = nodes_.at(uid);
  if (node.controller_port == 0) return false;
  say(uid, node, protocol::Report{node.reading}, 0, {node.controller, node.controller_port});
  return true;
}

void PlayedNet::run() {
  while (!stopping_)
    if (const auto letter = mailbox_.receive(50)) hear(*letter);
}

void PlayedNet::hear(const Mailbox::Letter& letter) {
  const auto datagram = protocol::open(letter.bytes, protocol::Direction::to_node, key_);
  if (!datagram) return;
  const auto packet = protocol::decode(datagram->packet);
  if (!packet || !std::holds_alternative<Request>(packet->message)) return;
  const auto& request = std::get<Request>(packet->message);
  const std::lock_guard lock{mutex_};
  for (auto& [uid, node] : nodes_) {
    const auto to = datagram->envelope.uid;
    if (to != uid && to != NodeUid::everyone()) continue;
    const bool visits = datagram->envelope.session == 0;
    if (!visits) {
      node.controller = datagram->envelope.session;
      node.controller_port = letter.from;
    }
    auto reply = lie_ ? lie_(uid, request) : std::nullopt;
    if (!reply) reply = obey(uid, node, request);
    say(uid, node, *reply, packet->header.sequence,
        visits ? Peer{datagram->envelope.counter, letter.from}
               : Peer{node.controller, node.controller_port});
  }
}

Reply PlayedNet::obey(NodeUid uid, Node& node, const Request& request) {
  if (std::holds_alternative<protocol::Identify>(request))
    return protocol::Identity{uid, protocol::Address::unassigned(), 1, 0x0100, type_};
  if (std::holds_alternative<protocol::Read>(request)) return node.reading;
  if (std::holds_alternative<protocol::AskController>(request))
    return protocol::ControllerHeard{{node.controller},
                                     node.controller == 0 ? protocol::ControllerHeard::never : 0};
  if (const auto* stage = std::get_if<protocol::Stage>(&request)) node.staged = *stage;
  if (const auto* apply = std::get_if<protocol::Apply>(&request))
    if (node.staged && node.staged->ticket == apply->ticket)
      node.reading.settings = node.staged->settings;
  return protocol::Done{};
}

void PlayedNet::say(NodeUid uid, Node& node, const Reply& reply, std::uint8_t sequence, Peer to) {
  const protocol::Envelope envelope{protocol::Direction::to_controller, uid,
                                    node.reading.telemetry.boots, to.session, ++node.counter};
  mailbox_.send(to.port, protocol::seal(envelope, protocol::encode({{{}, sequence}, reply}), key_));
}

// ---- the tap ------------------------------------------------------------------------------------

Tap::Tap(std::uint16_t nodes_port) : nodes_port_{nodes_port}, thread_{[this] { run(); }} {}

Tap::~Tap() {
  stopping_ = true;
  thread_.join();
}

std::vector<protocol::Bytes> Tap::from_nodes() const {
  const std::lock_guard lock{mutex_};
  return from_nodes_;
}

void Tap::run() {
  while (!stopping_) {
    if (const auto letter = to_daemon_.receive(1)) {
      daemon_port_ = letter->from;
      to_nodes_.send(nodes_port_, letter->bytes);
    }
    if (const auto letter = to_nodes_.receive(1)) {
      {
        const std::lock_guard lock{mutex_};
        from_nodes_.push_back(letter->bytes);
      }
      if (daemon_port_ != 0) to_daemon_.send(daemon_port_, letter->bytes);
    }
  }
}

}  // namespace catwalk::test
