// SPDX-License-Identifier: Apache-2.0
#include "drivers/node/node_server.hpp"

#include <unistd.h>

#include <algorithm>
#include <array>
#include <asio/buffer.hpp>
#include <asio/io_context.hpp>
#include <asio/ip/udp.hpp>
#include <asio/posix/stream_descriptor.hpp>
#include <asio/read_until.hpp>
#include <asio/steady_timer.hpp>
#include <asio/write.hpp>
#include <fstream>
#include <iostream>
#include <iterator>
#include <unordered_map>

#include "drivers/line/serial_port.hpp"
#include "drivers/node/node_actions.hpp"
#include "drivers/node/node_on_bus.hpp"
#include "drivers/node/node_on_datagrams.hpp"
#include "drivers/node/node_show.hpp"
#include "drivers/node/node_sockets.hpp"
#include "drivers/node/node_state_file.hpp"
#include "drivers/node/pty.hpp"

namespace catwalk::drivers {
namespace {

using Udp = asio::ip::udp;
using Clock = std::chrono::steady_clock;

constexpr std::size_t longest_command = 4096;
constexpr std::size_t longest_key_file = 256;  // bytes

Result<protocol::Key, std::string> load_key(const std::string& path) {
  std::ifstream file{path};
  if (!file) return Failure{"cannot read the key file " + path};
  // No more than a key can have: what stands there may be a device without end, or a folder.
  std::string text(longest_key_file, '\0');
  file.read(text.data(), static_cast<std::streamsize>(text.size()));
  text.resize(static_cast<std::size_t>(file.gcount()));
  const auto key = protocol::Key::from_hex(text);
  if (!key) return Failure{"key file " + path + ": allowed are 32 to 128 hexadecimal digits"};
  return *key;
}

}  // namespace

struct NodeServer::Impl : std::enable_shared_from_this<Impl> {
  Impl(asio::io_context& the_io, NodeOptions the_options)
      : io{the_io},
        options{std::move(the_options)},
        serial{the_io},
        input{the_io},
        wake{the_io},
        state{options.state_file},
        serial_in{options.faults, options.seed},
        serial_out{options.faults, options.seed ^ 0xA5A5},
        udp_in{datagram_rates(), options.seed ^ 0x1234},
        udp_out{datagram_rates(), options.seed ^ 0x4321} {}

  FaultRates datagram_rates() const {
    FaultRates rates = options.faults;
    rates.reorder = true;
    return rates;
  }

  // ---- opening -----------------------------------------------------------------------------

  std::optional<std::string> open() {
    if (auto error = make_nodes()) return error;
    if (options.pty || options.serial) {
      if (auto error = open_serial()) return error;
      read_serial();
    }
    if (options.udp) {
      if (auto error = open_udp()) return error;
      for (Udp::socket& socket : sockets) receive(socket);
    }
    asio::error_code ignored;
    input.assign(dup(STDIN_FILENO), ignored);
    if (input.is_open()) read_input();
    std::cout << "ready" << std::endl;
    serve();
    return std::nullopt;
  }

  std::optional<std::string> make_nodes() {
    NodeMemories known;
    if (options.state_file) {
      auto loaded = load_memories(*options.state_file);
      if (!loaded) return loaded.error();
      known = *std::move(loaded);
    }
    std::optional<protocol::Key> key;
    if (options.key_file) {
      auto loaded = load_key(*options.key_file);
      if (!loaded) return loaded.error();
      key = *std::move(loaded);
    }
    const Moment now = Clock::now();
    for (const NodeSpec& spec : options.nodes) {
      NodeConfig config;
      config.uid = spec.uid;
      config.type = spec.type;
      std::optional<protocol::Key> own;
      if (spec.key_file) {
        auto loaded = load_key(*spec.key_file);
        if (!loaded) return loaded.error();
        own = *std::move(loaded);
      }
      config.key = own ? own : key;
      const auto at = known.find(spec.uid);
      auto memory =
          at == known.end() ? factory_memory(config, spec.address, spec.label) : at->second;
      // A file from before the node's type was changed.
      if (refusal_of(spec.type, memory.stored)) {
        return *options.state_file + ": node " + spec.uid.text() + ": not settings of a " +
               spec.type.name;
      }
      owned.push_back(std::make_unique<EmulatedNode>(std::move(config), std::move(memory), now));
      index.emplace(spec.uid, nodes.size());
      nodes.push_back(owned.back().get());
      has_matrix = has_matrix || owned.back()->is_matrix();
      bus.add(*owned.back());
      if (options.udp) datagram_sides.emplace_back(*owned.back(), *key, now, own);
    }
    if (options.report_to) {
      const auto peer =
          peer_number({asio::ip::make_address(options.report_to->host), options.report_to->port});
      reports_to.assign(nodes.size(), peer);
    } else {
      reports_to.assign(nodes.size(), std::nullopt);
    }
    return state.keep(nodes);
  }

  std::optional<std::string> open_serial() {
    asio::error_code error;
    if (options.serial) {
      const auto fd = open_serial_port(*options.serial, options.baud);
      if (!fd) return fd.error();
      serial.assign(*fd, error);
    } else {
      auto opened = Pty::open();
      if (!opened) return opened.error();
      pty.emplace(std::move(opened).value());
      serial.assign(pty->release_own_end(), error);
      if (options.link) {
        if (auto failed = pty->link_from(*options.link)) return failed;
      }
      std::cout << "pty " << pty->path() << std::endl;
    }
    if (error) return "cannot serve on the serial device: " + error.message();
    return std::nullopt;
  }

  std::optional<std::string> open_udp() {
    auto opened = open_node_sockets(io, *options.udp);
    if (!opened) return opened.error();
    auto taken = *std::move(opened);
    sockets = std::move(taken.all);
    if (!taken.unheard.empty()) std::cerr << "warning: " << taken.unheard << std::endl;
    asio::error_code ignored;
    std::cout << "udp " << sockets.front().local_endpoint(ignored) << std::endl;
    return std::nullopt;
  }

  // ---- bytes in ----------------------------------------------------------------------------

  void fail(std::string sentence) {
    trouble = std::move(sentence);
    io.stop();
  }

  void read_serial() {
    serial.async_read_some(
        asio::buffer(serial_bytes),
        [weak = weak_from_this()](const asio::error_code& error, std::size_t count) {
          const auto self = weak.lock();
          if (!self || error == asio::error::operation_aborted) return;
          if (error) return self->fail("lost the serial device: " + error.message());
          const auto bytes = protocol::ByteView{self->serial_bytes}.first(count);
          self->serial_in.send({bytes.begin(), bytes.end()}, Clock::now());
          self->read_serial();
          self->serve();
        });
  }

  void receive(Udp::socket& socket) {
    socket.async_wait(Udp::socket::wait_read, [weak = weak_from_this(),
                                               &socket](const asio::error_code& error) {
      const auto self = weak.lock();
      if (!self || error == asio::error::operation_aborted) return;
      constexpr int most_at_once = 512;
      for (int i = 0; i < most_at_once; ++i) {
        Udp::endpoint from;
        asio::error_code failed;
        const auto count = socket.receive_from(asio::buffer(self->udp_bytes), from, 0, failed);
        if (failed == asio::error::would_block || failed == asio::error::try_again) break;
        if (failed) continue;
        const auto bytes = protocol::ByteView{self->udp_bytes}.first(count);
        self->udp_in.send({bytes.begin(), bytes.end()}, Clock::now(), {}, self->peer_number(from));
      }
      self->receive(socket);
      self->serve();
    });
  }

  // Peers are few, and numbered so that a wire can carry them.
  std::uint64_t peer_number(const Udp::endpoint& peer) {
    const auto at = std::find(peers.begin(), peers.end(), peer);
    if (at != peers.end()) return static_cast<std::uint64_t>(at - peers.begin());
    constexpr std::size_t most_peers = 1024;
    if (peers.size() == most_peers) peers.resize(1);
    peers.push_back(peer);
    return peers.size() - 1;
  }

  // ---- what is due -------------------------------------------------------------------------

  void serve() {
    const Moment now = Clock::now();
    for (const auto& parcel : serial_in.arrived(now)) {
      for (protocol::Bytes& answer : bus.feed(parcel.bytes, now)) {
        serial_out.send(std::move(answer), now);
      }
    }
    for (const auto& parcel : udp_in.arrived(now)) hear(parcel, now);
    if (has_matrix) settle_supplies(nodes, now);
    for (std::size_t i = 0; i < datagram_sides.size(); ++i) {
      if (datagram_sides[i].next_report() > now) continue;
      auto report = datagram_sides[i].report(now);
      if (report && reports_to[i]) udp_out.send(*std::move(report), now, {}, *reports_to[i]);
    }
    // What a node must remember is safe before its answer is on the way.
    if (const auto error = state.keep(nodes)) std::cerr << "error: " << *error << std::endl;
    for (auto& parcel : serial_out.arrived(now)) {
      outgoing.insert(outgoing.end(), parcel.bytes.begin(), parcel.bytes.end());
    }
    write_serial();
    for (const auto& parcel : udp_out.arrived(now)) {
      if (parcel.tag >= peers.size()) continue;
      asio::error_code ignored;
      sockets.front().send_to(asio::buffer(parcel.bytes), peers[parcel.tag], 0, ignored);
    }
    arm();
  }

  void hear(const FaultyWire::Parcel& parcel, Moment now) {
    // By the uid it claims; whether that is true, the node itself finds out.
    const auto uid = protocol::claimed_uid(parcel.bytes);
    if (!uid) return;
    const auto hear_as = [&](std::size_t i) {
      auto heard = datagram_sides[i].receive(parcel.bytes, now);
      if (heard.report_here) reports_to[i] = parcel.tag;
      if (heard.reply) udp_out.send(*std::move(heard.reply), now, {}, parcel.tag);
    };
    if (*uid == protocol::NodeUid::everyone()) {
      for (std::size_t i = 0; i < datagram_sides.size(); ++i) hear_as(i);
    } else if (const auto at = index.find(*uid); at != index.end()) {
      hear_as(at->second);
    }
  }

  void write_serial() {
    if (!writing.empty() || outgoing.empty() || !serial.is_open()) return;
    writing.swap(outgoing);
    asio::async_write(serial, asio::buffer(writing),
                      [weak = weak_from_this()](const asio::error_code& error, std::size_t) {
                        const auto self = weak.lock();
                        if (!self || error == asio::error::operation_aborted) return;
                        self->writing.clear();
                        if (error) return self->fail("lost the serial device: " + error.message());
                        self->write_serial();
                      });
  }

  void arm() {
    std::optional<Moment> first;
    const auto consider = [&](std::optional<Moment> at) {
      if (at && (!first || *at < *first)) first = at;
    };
    for (const FaultyWire* wire : {&serial_in, &serial_out, &udp_in, &udp_out}) {
      consider(wire->next_arrival());
    }
    for (const NodeOnDatagrams& side : datagram_sides) consider(side.next_report());
    if (!first) {
      wake.cancel();
      return;
    }
    wake.expires_at(*first);
    wake.async_wait([weak = weak_from_this()](const asio::error_code& error) {
      const auto self = weak.lock();
      if (!error && self) self->serve();
    });
  }

  // ---- commands ----------------------------------------------------------------------------

  void read_input() {
    asio::async_read_until(
        input, asio::dynamic_buffer(commands, longest_command), '\n',
        [weak = weak_from_this()](const asio::error_code& error, std::size_t length) {
          const auto self = weak.lock();
          // The end of the input is not the end of the nodes.
          if (!self || error) return;
          const std::string line = self->commands.substr(0, length - 1);
          self->commands.erase(0, length);
          if (!self->obey(line)) return;
          self->read_input();
          self->serve();
        });
  }

  // False: it was told to quit.
  bool obey(const std::string& line) {
    const auto first = line.find_first_not_of(" \t\r");
    if (first == std::string::npos || line[first] == '#') return true;
    const std::string trimmed = line.substr(first, line.find_last_not_of(" \t\r") - first + 1);
    if (trimmed == "quit") {
      io.stop();
      return false;
    }
    if (trimmed == "help") {
      std::cout << node_usage() << "ok" << std::endl;
      return true;
    }
    if (trimmed == "show" || trimmed.starts_with("show ")) {
      const auto lines = shown(nodes, trimmed == "show" ? "all" : trimmed.substr(5), Clock::now());
      std::cout << (lines ? *lines + "ok" : "error: " + lines.error()) << std::endl;
      return true;
    }
    const auto action = parse_action(trimmed);
    std::optional<std::string> error;
    if (action) {
      error = perform(*action, nodes, Clock::now());
      if (const auto* faults = std::get_if<ChangeFaults>(&*action)) {
        change(options.faults, *faults);
        serial_in.set_rates(options.faults);
        serial_out.set_rates(options.faults);
        udp_in.set_rates(datagram_rates());
        udp_out.set_rates(datagram_rates());
      }
    } else {
      error = action.error();
    }
    std::cout << (error ? "error: " + *error : "ok") << std::endl;
    return true;
  }

  asio::io_context& io;
  NodeOptions options;
  std::vector<std::unique_ptr<EmulatedNode>> owned;
  std::vector<EmulatedNode*> nodes;
  bool has_matrix = false;  // else nobody lives on another's supply
  std::unordered_map<protocol::NodeUid, std::size_t> index;
  EmulatedBus bus;
  std::vector<NodeOnDatagrams> datagram_sides;
  std::vector<std::optional<std::uint64_t>> reports_to;  // by node: number of the peer
  std::vector<Udp::endpoint> peers;
  std::optional<Pty> pty;
  asio::posix::stream_descriptor serial;
  std::vector<Udp::socket> sockets;  // the first is the nodes' own
  asio::posix::stream_descriptor input;
  asio::steady_timer wake;
  StateKeeper state;
  FaultyWire serial_in;
  FaultyWire serial_out;
  FaultyWire udp_in;
  FaultyWire udp_out;
  std::array<std::uint8_t, 512> serial_bytes{};
  std::array<std::uint8_t, 2048> udp_bytes{};
  protocol::Bytes outgoing;
  protocol::Bytes writing;
  std::string commands;
  std::string trouble;
};

NodeServer::NodeServer(std::shared_ptr<Impl> impl) : impl_{std::move(impl)} {}
NodeServer::~NodeServer() = default;

Result<std::unique_ptr<NodeServer>, std::string> NodeServer::open(asio::io_context& io,
                                                                  NodeOptions options) {
  auto impl = std::make_shared<Impl>(io, std::move(options));
  if (auto error = impl->open()) return Failure{*std::move(error)};
  return std::unique_ptr<NodeServer>{new NodeServer{std::move(impl)}};
}

const std::string& NodeServer::trouble() const { return impl_->trouble; }

}  // namespace catwalk::drivers
