// SPDX-License-Identifier: Apache-2.0
#include "drivers/bus/bus_engine.hpp"

#include <algorithm>
#include <stdexcept>

#include "drivers/line/command_check.hpp"
#include "protocol/codec.hpp"

namespace catwalk::drivers {

using protocol::Address;
using protocol::NodeUid;
using protocol::Request;

namespace {

constexpr int commands_before_a_reading = 8;

std::size_t longest_answer(const Request& request) {
  if (std::holds_alternative<protocol::Read>(request) ||
      std::holds_alternative<protocol::ReadPart>(request) ||
      std::holds_alternative<protocol::Identify>(request)) {
    return protocol::longest_frame;
  }
  // Found is the longest of the others: 11 bytes.
  return 11 + protocol::frame_overhead;
}

}  // namespace

// ---- the outside -------------------------------------------------------------------------------

BusEngine::BusEngine(BusConfig config)
    : config_{std::move(config)},
      latency_{config_.shortest_slack, config_.longest_slack},
      speaks_{!config_.asks_first || config_.speaks} {
  if (config_.nodes.size() > Address::last) {
    throw std::invalid_argument{"a serial line has at most 247 nodes, not " +
                                std::to_string(config_.nodes.size())};
  }
  broadcast_sequence_ = config_.first_sequence;
  for (const BusNode& node : config_.nodes) {
    if (index_of(node.uid)) {
      throw std::invalid_argument{"node " + node.uid.text() + " is on this line twice"};
    }
    Node state = node_of(node.uid, node.key);
    if (node.address && node.address->is_assignable() && !taken_[node.address->value]) {
      state.address = *node.address;
      taken_[node.address->value] = true;
    }
    nodes_.push_back(state);
  }
  for (Node& node : nodes_) {
    if (!node.address.is_assignable()) {
      node.address = free_address();
      node.assign = true;
    }
  }
}

void BusEngine::up(TimePoint now) {
  if (up_) return;
  up_ = true;
  down_reason_.clear();
  reader_.reset();
  quiet_until_ = now;
  for (Node& node : nodes_) {
    node.met = false;
    node.silent = false;  // it is told again, should it be so
    node.assigned = false;
    node.due = now;
    node.last_reading = now;
    node.pauses.succeeded();
  }
  out_.notices.push_back(LineUp{});
  held_ = false;
  if (config_.asks_first) listening_until_ = now + config_.listen;
  pump(now);
}

void BusEngine::speak_as(protocol::Epoch epoch, bool takes_over, TimePoint now) {
  config_.epoch = epoch;
  speaks_ = true;
  if (takes_over) {
    held_ = false;
    listening_until_.reset();
  }
  pump(now);
}

void BusEngine::fall_quiet(TimePoint now) {
  if (exchange_) last_said_ = protocol::encode(exchange_->packet);
  speaks_ = false;
  tell_next_ = now;
  fail_all(Fault::other_speaks);
  moves_.clear();
  if (search_) search_ended(std::string{other_on_line});
}

void BusEngine::fail_all(Fault fault) {
  if (exchange_ && exchange_->queued) queue_.push_front(*std::move(exchange_->queued));
  exchange_.reset();
  for (const Queued& queued : queue_)
    out_.notices.emplace_back(CommandFailed{queued.command.id, fault});
  queue_.clear();
}

void BusEngine::down(TimePoint, const std::string& reason) {
  if (!up_ && reason == down_reason_) return;
  fail_all(Fault::line_down);
  moves_.clear();
  if (search_) search_ended("the line went down: " + reason);
  up_ = false;
  down_reason_ = reason;
  out_.notices.push_back(LineDown{reason});
}

void BusEngine::submit(Command command, TimePoint now) {
  const bool broadcast = command.node == NodeUid::everyone();
  if (!up_) {
    out_.notices.emplace_back(CommandFailed{command.id, Fault::line_down});
  } else if (held_ || !speaks_) {
    out_.notices.emplace_back(CommandFailed{command.id, Fault::other_speaks});
  } else if (const auto refusal = command_refusal(command)) {
    out_.notices.push_back(CommandAnswered{command.id, *refusal});
  } else if (!broadcast && !is_our_own(command.node) &&
             !(is_for_strangers(command.request) &&
               (index_of(command.node) || take_in(command.node)))) {
    out_.notices.emplace_back(CommandFailed{command.id, Fault::node_unknown});
  } else if (queue_.size() >= config_.most_commands) {
    out_.notices.emplace_back(CommandFailed{command.id, Fault::queue_full});
  } else if (std::holds_alternative<protocol::Reclaim>(command.request) &&
             !nodes_[*index_of(command.node)].key) {
    out_.notices.emplace_back(CommandFailed{command.id, Fault::no_key});
  } else {
    queue_.push_back(Queued{std::move(command), std::nullopt, now, {}});
    pump(now);
  }
}

void BusEngine::received(protocol::ByteView bytes, TimePoint now) {
  if (!up_) return;
  counters_.bytes_received += bytes.size();
  const auto faults_before = reader_.faults().total();
  const bool asked_before = exchange_.has_value();
  reader_.feed(bytes, [&](protocol::ByteView packet) {
    on_packet(packet, packet.size() + protocol::frame_overhead, now);
  });
  const auto faults = reader_.faults().total() - faults_before;
  counters_.malformed += faults;
  if (faults > 0 && asked_before && exchange_ && exchange_->answered) {
    // The answer was spoilt: no use to wait for another one longer than its echoes need.
    exchange_->garbage = true;
    exchange_->deadline = std::min(exchange_->deadline, now + config_.turn_round);
  }
  pump(now);
}

void BusEngine::tick(TimePoint now) {
  if (!up_) return;
  if (listening_until_ && now >= *listening_until_) {
    listening_until_.reset();
    out_.notices.push_back(LineAsked{});
  }
  if (exchange_ && now >= exchange_->deadline) expired(now);
  pump(now);
}

std::optional<TimePoint> BusEngine::deadline() const {
  if (!up_) return std::nullopt;
  if (exchange_) return exchange_->deadline;
  if (is_quiet()) return listening_until_;
  std::optional<TimePoint> first;
  const auto consider = [&](TimePoint at) {
    at = std::max(at, quiet_until_);
    if (!first || at < *first) first = at;
  };
  // Only who may speak is waited for: a node's first command, and no broadcast before its turn.
  std::vector<NodeUid> first_of;
  for (const Queued& queued : queue_) {
    const NodeUid uid = queued.command.node;
    if (uid == NodeUid::everyone() && !first_of.empty()) break;
    if (std::find(first_of.begin(), first_of.end(), uid) != first_of.end()) continue;
    first_of.push_back(uid);
    consider(queued.not_before);
  }
  for (const Node& node : nodes_) {
    if (!node.borrowed) consider(node.due);
  }
  if (search_) consider(search_->not_before);
  if (!moves_.empty()) consider(quiet_until_);
  return first;
}

Output BusEngine::take() { return std::exchange(out_, {}); }

// ---- who speaks next ---------------------------------------------------------------------------

Micros BusEngine::on_wire(std::size_t bytes) const {
  if (config_.baud == 0) return Micros{0};
  return Micros{static_cast<std::int64_t>(bytes * 10 * 1'000'000 / config_.baud)};
}

BusEngine::Node BusEngine::node_of(NodeUid uid, std::optional<protocol::Key> key) const {
  return {.uid = uid,
          .address = {},
          .sequence = config_.first_sequence,
          .boots = {},
          .key = std::move(key),
          .due = {},
          .deferral = {},
          .last_reading = {},
          .pauses = Backoff{config_.silent_first, config_.silent_last}};
}

std::optional<std::size_t> BusEngine::index_of(NodeUid uid) const {
  const auto at =
      std::find_if(nodes_.begin(), nodes_.end(), [&](const Node& node) { return node.uid == uid; });
  if (at == nodes_.end()) return std::nullopt;
  return static_cast<std::size_t>(at - nodes_.begin());
}

// From the top, so as not to meet those that people hand out from 1. Once all have been handed out
// in the course of time, those that no node has any more, as far as is known, are free again; with
// 247 nodes the last.
Address BusEngine::free_address() {
  for (int round = 0; round < 2; ++round) {
    for (std::uint8_t value = Address::last; value >= Address::first; --value) {
      if (taken_[value]) continue;
      taken_[value] = true;
      return Address{value};
    }
    taken_.reset();
    for (const Node& node : nodes_) taken_[node.address.value] = true;
    for (const protocol::Found& found : found_) taken_[found.address.value] = true;
  }
  return Address{Address::last};
}

void BusEngine::pump(TimePoint now) {
  if (!up_ || exchange_ || is_quiet() || now < quiet_until_) return;
  if (start_move(now)) return;
  // A change goes first, but a long row of them must not let the readings grow old unseen.
  if (commands_in_row_ >= commands_before_a_reading) {
    commands_in_row_ = 0;
    if (start_poll(now, config_.reading_age * 3 / 2)) return;
  }
  if (start_command(now)) {
    ++commands_in_row_;
    return;
  }
  commands_in_row_ = 0;
  const bool search_first = std::exchange(search_next_, !search_next_);
  if (search_first && start_search(now)) return;
  if (start_poll(now, Micros{0})) return;
  if (!search_first) start_search(now);
}

bool BusEngine::start_command(TimePoint now) {
  std::vector<NodeUid> held;  // nodes whose earlier command is not done: order is kept
  for (auto it = queue_.begin(); it != queue_.end(); ++it) {
    const NodeUid uid = it->command.node;
    if (uid == NodeUid::everyone() && !held.empty()) return false;
    if (std::find(held.begin(), held.end(), uid) != held.end()) continue;
    if (it->not_before > now) {
      held.push_back(uid);
      continue;
    }
    if (const auto place = index_of(uid); place && !nodes_[*place].met) {
      // Not before it is known who sits at that address.
      start_contact(*place, config_.tries, true, now);
      return true;
    }
    Queued queued = std::move(*it);
    queue_.erase(it);
    const auto index = index_of(uid);
    // Who reads by a command wants to know, and is not told from memory.
    if (!queued.talk) queued.talk.emplace(queued.command.request);
    const Request request = queued.talk->request();
    Exchange exchange;
    exchange.purpose = Purpose::command;
    if (uid == NodeUid::everyone()) {
      exchange.answered = false;
      exchange.queued = std::move(queued);
      start(std::move(exchange), request, Address::broadcast(), broadcast_sequence_++,
            config_.broadcasts, now);
      return true;
    }
    Node& node = nodes_[*index];
    const std::uint8_t sequence = queued.packet ? queued.packet->header.sequence : node.sequence++;
    exchange.node = index;
    exchange.queued = std::move(queued);
    start(std::move(exchange), proved(request, uid, node.boots.value_or(0), node.key), node.address,
          sequence, config_.tries, now);
    exchange_->queued->packet = exchange_->packet;
    return true;
  }
  return false;
}

bool BusEngine::start_move(TimePoint now) {
  if (moves_.empty()) return false;
  const protocol::Assign move = moves_.front();
  moves_.pop_front();
  Exchange exchange;
  exchange.purpose = Purpose::move;
  start(std::move(exchange), move, Address::broadcast(), broadcast_sequence_++, config_.tries, now);
  return true;
}

bool BusEngine::start_poll(TimePoint now, Micros overdue) {
  std::size_t best = nodes_.size();
  for (std::size_t i = 0; i < nodes_.size(); ++i) {
    if (nodes_[i].borrowed || nodes_[i].due + overdue > now) continue;
    if (best == nodes_.size() || nodes_[i].due < nodes_[best].due) best = i;
  }
  if (best == nodes_.size()) return false;
  Node& node = nodes_[best];
  // A node that is known to be silent gets one try a time, so as not to hold up the others.
  const int tries = node.silent ? 1 : config_.tries;
  if (!node.met) {
    start_contact(best, tries, false, now);
    return true;
  }
  if (!node.poll) node.poll.emplace(protocol::Read{}, node.known);
  Exchange exchange;
  exchange.purpose = Purpose::read;
  exchange.node = best;
  start(std::move(exchange), node.poll->request(), node.address, node.sequence++, tries, now);
  return true;
}

void BusEngine::start_contact(std::size_t index, int tries, bool for_command, TimePoint now) {
  Node& node = nodes_[index];
  Exchange exchange;
  exchange.node = index;
  exchange.for_command = for_command;
  if (node.assign) {
    exchange.purpose = Purpose::assign;
    node.assigned = true;
    start(std::move(exchange), protocol::Assign{node.uid, node.address}, Address::broadcast(),
          broadcast_sequence_++, tries, now);
  } else {
    exchange.purpose = Purpose::identify;
    start(std::move(exchange), protocol::Identify{}, node.address, node.sequence++, tries, now);
  }
}

void BusEngine::start(Exchange exchange, const Request& request, Address to, std::uint8_t sequence,
                      int tries, TimePoint now) {
  exchange.packet = protocol::Packet{{to, sequence}, request};
  exchange.frame = protocol::to_frame(protocol::encode(exchange.packet));
  exchange.tries_left = std::max(tries, 1);
  exchange_ = std::move(exchange);
  transmit(now);
}

void BusEngine::transmit(TimePoint now) {
  Exchange& exchange = *exchange_;
  --exchange.tries_left;
  exchange.garbage = false;
  reader_.reset();
  exchange.sent = now;
  exchange.deadline = now + on_wire(exchange.frame.size());
  if (exchange.answered) {
    const auto& request = std::get<Request>(exchange.packet.message);
    exchange.deadline +=
        on_wire(longest_answer(request)) + config_.turn_round + latency_.patience();
  } else {
    exchange.deadline += on_wire(bus_gap_characters);
  }
  ++counters_.frames_sent;
  counters_.bytes_sent += exchange.frame.size();
  out_.send.push_back(Transmission{exchange.frame, {}});
}

}  // namespace catwalk::drivers
