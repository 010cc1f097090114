// SPDX-License-Identifier: Apache-2.0
#include "drivers/datagrams/datagram_engine.hpp"

#include <algorithm>
#include <stdexcept>
#include <utility>

#include "drivers/line/command_check.hpp"
#include "protocol/codec.hpp"

namespace catwalk::drivers {

using protocol::NodeUid;
using protocol::Request;

namespace {

constexpr Micros most_patience{1'600'000};

}  // namespace

// ---- the outside -------------------------------------------------------------------------------

DatagramEngine::DatagramEngine(DatagramConfig config)
    : config_{std::move(config)},
      speaks_{!config_.asks_first || config_.speaks},
      visits_{config_.visitor_seed} {
  for (const DatagramNode& node : config_.nodes) {
    if (!index_.emplace(node.uid, nodes_.size()).second) {
      throw std::invalid_argument{"node " + node.uid.text() + " is on this line twice"};
    }
    nodes_.push_back(node_of(node));
  }
}

DatagramEngine::Node DatagramEngine::node_of(const DatagramNode& node) const {
  return {.uid = node.uid,
          .endpoint = node.endpoint,
          .configured = node.endpoint,
          .key = node.key.value_or(config_.key),
          .has_own_key = node.key.has_value(),
          .heard = {},
          .rumoured = {},
          .heed_rumours = {},
          .window = {},
          .sequence = config_.first_sequence,
          .asked = !config_.asks_first,
          .due = {},
          .deferral = {},
          .brake = {},
          .thinned = {},
          .pauses = Backoff{config_.silent_first, config_.silent_last},
          .latency = LatencyEstimate{config_.shortest_patience, config_.longest_patience},
          .queue = {},
          .exchange = {}};
}

void DatagramEngine::up(TimePoint now) {
  if (up_) return;
  up_ = true;
  down_reason_.clear();
  out_.notices.push_back(LineUp{});
  for (Node& node : nodes_) {
    node.silent = false;  // it is told again, should it be so
    node.due = now;
    node.pauses.succeeded();
    pump(node, now);
  }
  say_if_all_asked();
}

void DatagramEngine::speak_as(protocol::Epoch epoch, bool takes_over, TimePoint now) {
  config_.epoch = epoch.value;
  config_.ours.add(epoch);
  const bool spoke = std::exchange(speaks_, true);
  for (Node& node : nodes_) {
    const bool was_spoken_to = spoke && may_speak_to(node);
    if (takes_over) {
      node.asked = true;
      node.held = false;
      // What it would answer is nobody's question any more.
      if (node.exchange && node.exchange->purpose == Purpose::ask) node.exchange.reset();
    }
    // The others hear of it when their time comes: a line that is opened anew under this epoch
    // counts from the beginning.
    if (was_spoken_to || !may_speak_to(node)) continue;
    node.due = std::min(node.due, now);
    pump(node, now);
  }
}

void DatagramEngine::fall_quiet(TimePoint now) {
  speaks_ = false;
  for (Node& node : nodes_) {
    node.ask_again = now;
    if (node.exchange && node.exchange->purpose == Purpose::command) {
      Exchange exchange = *std::exchange(node.exchange, std::nullopt);
      if (!exchange.queued->part_of_broadcast)
        out_.notices.emplace_back(CommandFailed{exchange.queued->command.id, Fault::other_speaks});
    }
    fail_waiting(node, Fault::other_speaks);
    node.due = std::min(node.due, now);
    pump(node, now);
  }
}

// Those that cannot be asked, since nobody has told yet where they are, are asked when they report.
void DatagramEngine::say_if_all_asked() {
  if (!config_.asks_first || all_asked_) return;
  for (const Node& node : nodes_)
    if (node.endpoint && !node.borrowed && !node.asked && !node.missed) return;
  all_asked_ = true;
  out_.notices.push_back(LineAsked{});
}

bool DatagramEngine::may_speak_to(const Node& node) const {
  return speaks_ && node.asked && !node.held;
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
    node.poll.reset();
    node.thinned.reset();
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
      if (!node.endpoint || node.borrowed || !may_speak_to(node)) continue;
      ++parts;
      ++waiting_;
      node.queue.push_back(Queued{command, true, std::nullopt, now, {}});
    }
    part_sent(command.id);
    for (Node& node : nodes_) pump(node, now);
    return;
  }
  if (waiting_ >= config_.most_commands) return fail(Fault::queue_full);
  const auto at = index_.find(command.node);
  Node* known = at == index_.end() ? take_in(command.node) : &nodes_[at->second];
  if (known == nullptr || (known->borrowed && !is_for_strangers(command.request)))
    return fail(Fault::node_unknown);
  Node& node = *known;
  // Nobody has told yet where it is: there is nothing to send to.
  if (!node.endpoint) return fail(Fault::timed_out);
  // A reclaim is a person's word that this node is ours.
  if (speaks_ && std::holds_alternative<protocol::Reclaim>(command.request)) {
    node.asked = true;
    node.held = false;
  }
  if (!speaks_ || node.held) return fail(Fault::other_speaks);
  if (!may_speak_to(node)) node.due = std::min(node.due, now);  // to be asked first
  ++waiting_;
  node.queue.push_back(Queued{std::move(command), false, std::nullopt, now, {}});
  pump(node, now);
}

void DatagramEngine::tick(TimePoint now) {
  if (!up_) return;
  for (Node& node : nodes_) {
    if (node.exchange && now >= node.exchange->deadline) expired(node, now);
    let_go(node, now);
    pump(node, now);
  }
  if (!search_) return;
  if (now >= search_->end) {
    out_.notices.push_back(DiscoveryEnded{search_->found.size(), search_->trouble});
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
    if (node.thinned) consider(node.brake.opens());
    if (const auto calm = node.brake.calm_at()) consider(*calm);
    if (node.exchange) {
      consider(node.exchange->deadline);
      continue;
    }
    if (!node.queue.empty() && may_speak_to(node)) consider(node.queue.front().not_before);
    if (!node.borrowed && (node.endpoint || node.rumoured)) consider(node.due);
  }
  if (search_) consider(std::min(search_->next_call, search_->end));
  return first;
}

Output DatagramEngine::take() { return std::exchange(out_, {}); }

// ---- sending -----------------------------------------------------------------------------------

void DatagramEngine::pump(Node& node, TimePoint now) {
  if (!up_ || node.exchange || !(node.endpoint || node.rumoured)) return;
  if (!node.queue.empty() && node.queue.front().not_before <= now && may_speak_to(node)) {
    Queued queued = std::move(node.queue.front());
    node.queue.pop_front();
    --waiting_;
    // Who reads by a command wants to know, and is not told from memory.
    if (!queued.talk) queued.talk.emplace(queued.command.request);
    const Request request = queued.talk->request();
    const std::uint8_t sequence = queued.packet ? queued.packet->header.sequence : node.sequence++;
    const bool part = queued.part_of_broadcast;
    const CommandId id = queued.command.id;
    Exchange exchange;
    exchange.purpose = Purpose::command;
    exchange.queued = std::move(queued);
    node.thinned.reset();  // may be older than what the command does
    start(node, std::move(exchange), proved(request, node.uid, node.session, node.key), sequence,
          config_.tries, now);
    node.exchange->queued->packet = node.exchange->packet;
    if (part) part_sent(id);
    return;
  }
  // A borrowed node is asked whom it obeys before it is told anything, and never polled.
  if (node.borrowed ? node.asked || node.queue.empty() : node.due > now) return;
  const int tries = node.silent ? 1 : config_.tries;
  Exchange exchange;
  Request request = protocol::Identify{};
  exchange.purpose = Purpose::identify;
  if (!node.asked || (!may_speak_to(node) && node.ask_again <= now)) {
    exchange.purpose = Purpose::ask;
    request.emplace<protocol::AskController>();
  } else if (node.met) {
    if (!node.poll) node.poll.emplace(protocol::Read{}, node.known);
    exchange.purpose = Purpose::read;
    request = node.poll->request();
  }
  start(node, std::move(exchange), request, node.sequence++, tries, now);
}

void DatagramEngine::start(Node& node, Exchange exchange, const Request& request,
                           std::uint8_t sequence, int tries, TimePoint now) {
  exchange.packet = protocol::Packet{{{}, sequence}, request};
  exchange.tries_left = std::max(tries, 1);
  // A silent node is asked once, and waited for as long as for the last of several tries: it may be
  // far away, and nobody waits behind it.
  const bool once = node.silent && exchange.purpose != Purpose::command;
  exchange.patience = once ? most_patience : node.latency.patience();
  node.exchange = std::move(exchange);
  transmit(node, now);
}

void DatagramEngine::transmit(Node& node, TimePoint now) {
  Exchange& exchange = *node.exchange;
  --exchange.tries_left;
  exchange.sent = now;
  exchange.deadline = now + exchange.patience;
  exchange.patience = std::min(2 * exchange.patience, most_patience);
  protocol::Envelope envelope{protocol::Direction::to_node, node.uid, config_.epoch, node.session,
                              0};
  if (may_speak_to(node)) {
    envelope.counter = ++node.counter;
  } else {
    envelope.session = 0;
    envelope.counter = new_visit();
    exchange.visits.push_back(envelope.counter);
  }
  const auto bytes = protocol::seal(envelope, protocol::encode(exchange.packet), node.key);
  const auto send_to = [&](const Endpoint& endpoint) {
    ++counters_.frames_sent;
    counters_.bytes_sent += bytes.size();
    out_.send.push_back(Transmission{bytes, endpoint});
  };
  if (node.endpoint) send_to(*node.endpoint);
  const bool asks_there = node.rumoured && node.rumoured != node.endpoint;
  if (asks_there && exchange.purpose != Purpose::command) send_to(*node.rumoured);
}

void DatagramEngine::part_sent(CommandId broadcast) {
  const auto at = broadcasts_.find(broadcast);
  if (at == broadcasts_.end() || --at->second > 0) return;
  broadcasts_.erase(at);
  out_.notices.push_back(CommandAnswered{broadcast, protocol::Done{}});
}

}  // namespace catwalk::drivers
