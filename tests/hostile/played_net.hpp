// SPDX-License-Identifier: Apache-2.0
#pragma once
// UDP nodes that the test plays, on a socket and a thread of their own: they say whatever it wants,
// at any rate, under the right key. And a tap between the daemon and its nodes, which keeps what
// passes.

#include <netinet/in.h>

#include <atomic>
#include <functional>
#include <map>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "protocol/datagram.hpp"
#include "protocol/message.hpp"
#include "tests/support/raw_socket.hpp"

namespace catwalk::test {

// A UDP socket on 127.0.0.1 that tells who has sent.
class Mailbox {
 public:
  Mailbox();
  std::uint16_t port() const { return port_; }
  struct Letter {
    protocol::Bytes bytes;
    std::uint16_t from = 0;  // port, on the loopback
  };
  // Nothing: none came in this time.
  std::optional<Letter> receive(int milliseconds) const;
  void send(std::uint16_t port, protocol::ByteView bytes) const;

 private:
  Handle socket_;
  std::uint16_t port_ = 0;
};

// Nodes that have settings and obey, unless `lie` says something else in the place of an answer.
class PlayedNet {
 public:
  using Lie =
      std::function<std::optional<protocol::Reply>(protocol::NodeUid, const protocol::Request&)>;

  PlayedNet(protocol::Key key, std::vector<protocol::NodeUid> nodes, std::string type);
  ~PlayedNet();
  PlayedNet(const PlayedNet&) = delete;
  PlayedNet& operator=(const PlayedNet&) = delete;

  std::uint16_t port() const { return mailbox_.port(); }
  void lie(Lie lie);
  // What the node shows from now on.
  void show(protocol::NodeUid node, const protocol::Reading& reading);
  protocol::Reading shown(protocol::NodeUid node);
  // Without being asked, to the controller that was heard last; false: none was yet.
  bool report(protocol::NodeUid node);

 private:
  struct Node {
    protocol::Reading reading;
    std::optional<protocol::Stage> staged;
    std::uint32_t counter = 0;
    std::uint32_t controller = 0;  // its session
    std::uint16_t controller_port = 0;
  };
  void run();
  void hear(const Mailbox::Letter& letter);
  protocol::Reply obey(protocol::NodeUid uid, Node& node, const protocol::Request& request);
  // The session and port of whoever is answered.
  struct Peer {
    std::uint32_t session = 0;
    std::uint16_t port = 0;
  };
  void say(protocol::NodeUid uid, Node& node, const protocol::Reply& reply, std::uint8_t sequence,
           Peer to);

  Mailbox mailbox_;
  protocol::Key key_;
  std::string type_;
  std::mutex mutex_;
  std::map<protocol::NodeUid, Node> nodes_;
  Lie lie_;
  std::atomic<bool> stopping_{false};
  std::thread thread_;
};

// Passes datagrams on between a daemon and the port where its nodes are.
class Tap {
 public:
  explicit Tap(std::uint16_t nodes_port);
  ~Tap();
  Tap(const Tap&) = delete;
  Tap& operator=(const Tap&) = delete;

  std::uint16_t port() const { return to_daemon_.port(); }
  // Of the daemon, as heard last; 0: not yet.
  std::uint16_t daemon_port() const { return daemon_port_; }
  std::vector<protocol::Bytes> from_nodes() const;

 private:
  void run();
  Mailbox to_daemon_;
  Mailbox to_nodes_;
  std::uint16_t nodes_port_;
  std::atomic<std::uint16_t> daemon_port_{0};
  mutable std::mutex mutex_;
  std::vector<protocol::Bytes> from_nodes_;
  std::atomic<bool> stopping_{false};
  std::thread thread_;
};

}  // namespace catwalk::test
