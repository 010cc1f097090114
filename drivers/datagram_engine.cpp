// SPDX-License-Identifier: Apache-2.0
#include "drivers/datagram_engine.hpp"

#include <algorithm>
#include <stdexcept>

#include "drivers/command_check.hpp"
#include "protocol/codec.hpp"

namespace catwalk::drivers {

using protocol::NodeUid;
using protocol::ReplayWindow;
using protocol::Reply;
using protocol::Request;

namespace {

constexpr int most_session_repeats = 3;
constexpr Micros most_patience{1'600'000};
constexpr Micros between_calls{200'000};
// Authentic strangers are few; a bound all the same.
constexpr std::size_t most_strangers = 1'024;

Micros tens_of_ms(std::uint8_t count) { return Micros{10'000} * count; }

}  // namespace

// ---- the outside -------------------------------------------------------------------------------

DatagramEngine::DatagramEngine(DatagramConfig config) : config_{std::move(config)} {
  for (const DatagramNode& node : config_.nodes) {
    if (!index_.emplace(node.uid, nodes_.size()).second) {
      throw std::invalid_argument{"node " + node.uid.text() + " is on this line twice"};
    }
    nodes_.push_back(
        Node{.uid = node.uid,
             .endpoint = node.endpoint,
             .window = {},
             .sequence = config_.first_sequence,
             .due = {},
             .pauses = Backoff{config_.silent_first, config_.silent_last},
             .latency = LatencyEstimate{config_.shortest_patience, config_.longest_patience},
             .queue = {},
             .exchange = {}});
  }
}

void DatagramEngine::up(TimePoint now) {
  if (up_) return;
  up_ = true;
  down_reason_.clear();
  out_.notices.push_back(LineUp{});
  for (Node& node : nodes_) {
    node.due = now;
    node.pauses.succeeded();
    pump(node, now);
  }
}

void DatagramEngine::down(TimePoint, const std::string& reason) {
  if (!up_ && reason == down_reason_) return;
  const auto fail = [&](const Queued& queued) {
    if (queued.part_of_broadcast) return;
    out_.notices.emplace_back(CommandFailed{queued.command.id, Fault::line_down});
  };
  for (Node& node : nodes_) {
    if (node.exchange && node.exchange->queued) fail(*node.exchange->queued);
    for (const Queued& queued : node.queue) fail(queued);
    node.exchange.reset();
    node.queue.clear();
    node.met = false;
  }
  for (const auto& [id, parts] : broadcasts_) {
    out_.notices.emplace_back(CommandFailed{id, Fault::line_down});
  }
  broadcasts_.clear();
  waiting_ = 0;
  if (search_) {
    out_.notices.push_back(DiscoveryEnded{search_->found.size(), "the line went down: " + reason});
    search_.reset();
  }
  up_ = false;
  down_reason_ = reason;
  out_.notices.push_back(LineDown{reason});
}

void DatagramEngine::submit(Command command, TimePoint now) {
  const auto fail = [&](Fault fault) {
    out_.notices.emplace_back(CommandFailed{command.id, fault});
  };
  if (!up_) return fail(Fault::line_down);
  if (const auto refusal = command_refusal(command)) {
    out_.notices.push_back(CommandAnswered{command.id, *refusal});
    return;
  }
  if (command.node == NodeUid::everyone()) {
    // There is no datagram that all nodes believe: each gets its own, all at the same time.
    if (waiting_ + nodes_.size() > config_.most_commands) return fail(Fault::queue_full);
    std::size_t& parts = broadcasts_[command.id];
    parts = 1;
    for (Node& node : nodes_) {
      if (!node.endpoint) continue;
      ++parts;
      ++waiting_;
      node.queue.push_back(Queued{command, true, std::nullopt, now, std::nullopt});
    }
    part_sent(command.id);
    for (Node& node : nodes_) pump(node, now);
    return;
  }
  const auto at = index_.find(command.node);
  if (at == index_.end()) return fail(Fault::node_unknown);
  if (waiting_ >= config_.most_commands) return fail(Fault::queue_full);
  Node& node = nodes_[at->second];
  // Nobody has told yet where it is: there is nothing to send to.
  if (!node.endpoint) return fail(Fault::timed_out);
  ++waiting_;
  node.queue.push_back(Queued{std::move(command), false, std::nullopt, now, std::nullopt});
  pump(node, now);
}

void DatagramEngine::discover(TimePoint now) {
  if (!up_) {
    out_.notices.push_back(DiscoveryEnded{0, "the line is down"});
    return;
  }
  if (search_) return;
  search_ = Search{search_sequence_++, {}, now, now + config_.search_time};
  call(now);
}

void DatagramEngine::tick(TimePoint now) {
  if (!up_) return;
  for (Node& node : nodes_) {
    if (node.exchange && now >= node.exchange->deadline) expired(node, now);
    pump(node, now);
  }
  if (!search_) return;
  if (now >= search_->end) {
    out_.notices.push_back(DiscoveryEnded{search_->found.size(), ""});
    search_.reset();
  } else if (now >= search_->next_call) {
    call(now);
  }
}

std::optional<TimePoint> DatagramEngine::deadline() const {
  if (!up_) return std::nullopt;
  std::optional<TimePoint> first;
  const auto consider = [&](TimePoint at) {
    if (!first || at < *first) first = at;
  };
  for (const Node& node : nodes_) {
    if (node.exchange) {
      consider(node.exchange->deadline);
      continue;
    }
    if (!node.queue.empty()) consider(node.queue.front().not_before);
    if (node.endpoint) consider(node.due);
  }
  if (search_) consider(std::min(search_->next_call, search_->end));
  return first;
}

Output DatagramEngine::take() { return std::exchange(out_, {}); }

// ---- sending -----------------------------------------------------------------------------------

void DatagramEngine::pump(Node& node, TimePoint now) {
  if (!up_ || node.exchange || !node.endpoint) return;
  if (!node.queue.empty() && node.queue.front().not_before <= now) {
    Queued queued = std::move(node.queue.front());
    node.queue.pop_front();
    --waiting_;
    const Request request = queued.command.request;
    const std::uint8_t sequence = queued.packet ? queued.packet->header.sequence : node.sequence++;
    const bool part = queued.part_of_broadcast;
    const CommandId id = queued.command.id;
    Exchange exchange;
    exchange.purpose = Purpose::command;
    exchange.queued = std::move(queued);
    start(node, std::move(exchange), request, sequence, config_.tries, now);
    node.exchange->queued->packet = node.exchange->packet;
    if (part) part_sent(id);
    return;
  }
  if (node.due > now) return;
  const int tries = node.silent ? 1 : config_.tries;
  Exchange exchange;
  exchange.purpose = node.met ? Purpose::read : Purpose::identify;
  Request request = protocol::Identify{};
  if (node.met) request.emplace<protocol::Read>();
  start(node, std::move(exchange), request, node.sequence++, tries, now);
}

void DatagramEngine::start(Node& node, Exchange exchange, const Request& request,
                           std::uint8_t sequence, int tries, TimePoint now) {
  exchange.packet = protocol::Packet{{{}, sequence}, request};
  exchange.tries_left = std::max(tries, 1);
  exchange.patience = node.latency.patience();
  node.exchange = std::move(exchange);
  transmit(node, now);
}

void DatagramEngine::transmit(Node& node, TimePoint now) {
  Exchange& exchange = *node.exchange;
  --exchange.tries_left;
  exchange.sent = now;
  exchange.deadline = now + exchange.patience;
  exchange.patience = std::min(2 * exchange.patience, most_patience);
  const protocol::Envelope envelope{protocol::Direction::to_node, node.uid, config_.epoch,
                                    node.session, ++node.counter};
  auto bytes = protocol::seal(envelope, protocol::encode(exchange.packet), config_.key);
  ++counters_.frames_sent;
  counters_.bytes_sent += bytes.size();
  out_.send.push_back(Transmission{std::move(bytes), *node.endpoint});
}

void DatagramEngine::expired(Node& node, TimePoint now) {
  if (node.exchange->tries_left > 0) {
    ++counters_.retries;
    node.exchange->retried = true;
    transmit(node, now);
    return;
  }
  ++counters_.time_outs;
  Exchange exchange = *std::exchange(node.exchange, std::nullopt);
  if (exchange.purpose != Purpose::command) {
    gone_silent(node, now);
  } else if (!exchange.queued->part_of_broadcast) {
    out_.notices.emplace_back(CommandFailed{exchange.queued->command.id, Fault::timed_out});
  }
}

void DatagramEngine::part_sent(CommandId broadcast) {
  const auto at = broadcasts_.find(broadcast);
  if (at == broadcasts_.end() || --at->second > 0) return;
  broadcasts_.erase(at);
  out_.notices.push_back(CommandAnswered{broadcast, protocol::Done{}});
}

// ---- hearing -----------------------------------------------------------------------------------

void DatagramEngine::received(protocol::ByteView bytes, const Endpoint& from, TimePoint now) {
  if (!up_) return;
  counters_.bytes_received += bytes.size();
  const auto datagram = protocol::open(bytes, protocol::Direction::to_controller, config_.key);
  if (!datagram) {
    ++(datagram.error() == protocol::OpenError::forged ? counters_.forged : counters_.malformed);
    return;
  }
  const protocol::Envelope& envelope = datagram->envelope;
  const auto at = index_.find(envelope.uid);
  if (at == index_.end()) {
    on_stranger(*datagram);
    return;
  }
  Node& node = nodes_[at->second];
  if (node.window.accept(envelope.session, envelope.counter) != ReplayWindow::Verdict::fresh) {
    ++counters_.replayed;
    return;
  }
  const auto packet = protocol::decode(datagram->packet);
  if (!packet || !std::holds_alternative<Reply>(packet->message)) {
    ++counters_.malformed;
    return;
  }
  ++counters_.frames_received;
  node.endpoint = from;
  if (node.session != envelope.session) {
    // It has restarted: it is asked anew who it is.
    node.session = envelope.session;
    node.met = false;
    node.due = now;
  }
  on_packet(node, *packet, envelope.peer_session, now);
  pump(node, now);
}

void DatagramEngine::on_packet(Node& node, const protocol::Packet& packet, std::uint32_t peer,
                               TimePoint now) {
  const auto& reply = std::get<Reply>(packet.message);
  if (const auto* report = std::get_if<protocol::Report>(&reply)) {
    if (peer != config_.epoch || !node.met) {
      // Said to somebody else, or before this controller was heard: ask, rather than believe it.
      node.due = now;
      return;
    }
    note_reading(node, now);
    out_.notices.push_back(NodeRead{node.uid, report->reading});
    return;
  }
  if (peer != config_.epoch) {
    ++counters_.unexpected;
    return;
  }
  if (search_ && packet.header.sequence == search_->sequence &&
      std::holds_alternative<protocol::Identity>(reply) &&
      !(node.exchange && node.exchange->packet.header.sequence == packet.header.sequence)) {
    discovered(node.uid, true);
    return;
  }
  if (!node.exchange || node.exchange->packet.header.sequence != packet.header.sequence ||
      !answers(reply, std::get<Request>(node.exchange->packet.message))) {
    ++counters_.unexpected;
    return;
  }
  // Karn's rule: which try a late answer belongs to cannot be known.
  if (!node.exchange->retried) {
    node.latency.measured(std::chrono::duration_cast<Micros>(now - node.exchange->sent));
  }
  answered(node, reply, now);
}

void DatagramEngine::answered(Node& node, const Reply& reply, TimePoint now) {
  const auto* refusal = std::get_if<protocol::Refusal>(&reply);
  if (refusal != nullptr && refusal->reason == protocol::RefusalReason::session_unknown &&
      node.exchange->session_repeats < most_session_repeats) {
    // The node's session came with this very datagram: say the same again, with it.
    ++node.exchange->session_repeats;
    node.exchange->tries_left = config_.tries;
    node.exchange->patience = node.latency.patience();
    ++counters_.retries;
    transmit(node, now);
    return;
  }
  Exchange exchange = *std::exchange(node.exchange, std::nullopt);
  if (exchange.purpose == Purpose::command) {
    command_answered(node, std::move(exchange), reply, now);
    return;
  }
  if (const auto* wait = std::get_if<protocol::Wait>(&reply)) {
    node.due = now + tens_of_ms(wait->tens_of_ms);
    return;
  }
  if (const auto* reading = std::get_if<protocol::Reading>(&reply)) {
    note_reading(node, now);
    out_.notices.push_back(NodeRead{node.uid, *reading});
    return;
  }
  if (const auto* identity = std::get_if<protocol::Identity>(&reply);
      identity != nullptr && identity->uid == node.uid) {
    node.met = true;
    node.due = now;
    node.pauses.succeeded();
    out_.notices.push_back(NodeIdentified{node.uid, *identity});
    return;
  }
  if (refusal != nullptr && refusal->reason == protocol::RefusalReason::epoch_too_low)
    out_.notices.push_back(NodeObeysOther{node.uid, {refusal->detail}});
  ++counters_.unexpected;
  gone_silent(node, now);
}

void DatagramEngine::command_answered(Node& node, Exchange exchange, const Reply& reply,
                                      TimePoint now) {
  Queued& queued = *exchange.queued;
  if (const auto* wait = std::get_if<protocol::Wait>(&reply)) {
    if (!queued.give_up) queued.give_up = now + config_.longest_wait;
    queued.not_before = now + tens_of_ms(wait->tens_of_ms);
    if (queued.not_before <= *queued.give_up) {
      ++waiting_;
      // Counted as sent already: the broadcast has ended for whoever asked for it.
      node.queue.push_front(std::move(queued));
      return;
    }
    ++counters_.time_outs;
    if (!queued.part_of_broadcast) {
      out_.notices.emplace_back(CommandFailed{queued.command.id, Fault::timed_out});
    }
    return;
  }
  if (node.silent && node.due > now) node.due = now;  // it speaks again
  if (std::holds_alternative<protocol::Reading>(reply) && node.met) note_reading(node, now);
  if (!queued.part_of_broadcast) {
    out_.notices.push_back(CommandAnswered{queued.command.id, reply});
  }
}

void DatagramEngine::note_reading(Node& node, TimePoint now) {
  node.silent = false;
  node.due = now + config_.reading_age / 2;
  node.pauses.succeeded();
}

void DatagramEngine::gone_silent(Node& node, TimePoint now) {
  if (!node.silent) out_.notices.push_back(NodeSilent{node.uid});
  node.silent = true;
  node.met = false;
  node.due = now + node.pauses.next();
}

// ---- searching ---------------------------------------------------------------------------------

void DatagramEngine::call(TimePoint now) {
  search_->next_call = now + between_calls;
  std::set<Endpoint> points(config_.search_points.begin(), config_.search_points.end());
  std::uint32_t counter = 0;
  for (const Node& node : nodes_) {
    if (node.endpoint) points.insert(*node.endpoint);
    counter = std::max(counter, node.counter);
  }
  const auto packet =
      protocol::encode(protocol::Packet{{{}, search_->sequence}, Request{protocol::Identify{}}});
  for (const Endpoint& point : points) {
    // Higher than any node has heard, so that each takes it for fresh.
    const protocol::Envelope envelope{protocol::Direction::to_node, NodeUid::everyone(),
                                      config_.epoch, 0, ++counter};
    auto bytes = protocol::seal(envelope, packet, config_.key);
    ++counters_.frames_sent;
    counters_.bytes_sent += bytes.size();
    out_.send.push_back(Transmission{std::move(bytes), point});
  }
  for (Node& node : nodes_) node.counter = counter;
}

void DatagramEngine::on_stranger(const protocol::Datagram& datagram) {
  const protocol::Envelope& envelope = datagram.envelope;
  const bool room = strangers_.contains(envelope.uid) || strangers_.size() < most_strangers;
  if (!room || strangers_[envelope.uid].accept(envelope.session, envelope.counter) !=
                   ReplayWindow::Verdict::fresh) {
    ++counters_.replayed;
    return;
  }
  if (!search_ || envelope.uid == NodeUid::everyone()) {
    ++counters_.unexpected;
    return;
  }
  discovered(envelope.uid, false);
}

void DatagramEngine::discovered(NodeUid uid, bool known) {
  if (!search_->found.insert(uid).second) return;
  out_.notices.push_back(NodeDiscovered{uid, protocol::Address::unassigned(), known});
}

}  // namespace catwalk::drivers
