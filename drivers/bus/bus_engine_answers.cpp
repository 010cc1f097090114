// SPDX-License-Identifier: Apache-2.0
// BusEngine, continued: what came of an exchange, and what follows from it.

#include <algorithm>
#include <utility>

#include "drivers/bus/bus_engine.hpp"
#include "protocol/codec.hpp"

namespace catwalk::drivers {

using protocol::Address;
using protocol::NodeUid;
using protocol::Reply;
using protocol::Request;

namespace {

constexpr int most_moves = 3;

}  // namespace

void BusEngine::on_packet(protocol::ByteView bytes, std::size_t frame_size, TimePoint now) {
  const auto packet = protocol::decode(bytes);
  if (!packet) {
    ++counters_.malformed;
    if (exchange_) exchange_->garbage = true;
    return;
  }
  if (const auto* request = std::get_if<Request>(&packet->message)) {
    // Many adapters hear what they say themselves; while we say nothing it is somebody else.
    if (is_quiet() && !std::ranges::equal(bytes, last_said_)) heard_other(*request, now);
    return;
  }
  ++counters_.frames_received;
  const auto& reply = std::get<Reply>(packet->message);
  if (!exchange_ || !exchange_->answered ||
      packet->header.sequence != exchange_->packet.header.sequence ||
      !answers(reply, std::get<Request>(exchange_->packet.message))) {
    ++counters_.unexpected;
    return;
  }
  const Address asked = exchange_->packet.header.address;
  if (asked != Address::broadcast() && packet->header.address != asked) {
    ++counters_.unexpected;
    return;
  }
  latency_.measured(std::chrono::duration_cast<Micros>(now - exchange_->sent) -
                    on_wire(exchange_->frame.size() + frame_size));
  quiet_until_ = now + on_wire(bus_gap_characters);
  answered(reply, now);
}

void BusEngine::heard_other(const Request& request, TimePoint now) {
  if (std::exchange(held_, true) && now < tell_next_) return;
  tell_next_ = now + between_hearings;
  listening_until_.reset();
  const auto epoch = std::visit(
      [](const auto& what) {
        if constexpr (requires { what.epoch; })
          return what.epoch;
        else
          return protocol::Epoch{};
      },
      request);
  out_.notices.push_back(OtherSpeaks{NodeUid::everyone(), epoch, 0, config_.epoch});
  fail_all(Fault::other_speaks);
  if (search_) search_ended(std::string{other_on_line});
}

void BusEngine::answered(const Reply& reply, TimePoint now) {
  Exchange exchange = *std::exchange(exchange_, std::nullopt);
  switch (exchange.purpose) {
    case Purpose::command:
      command_answered(std::move(exchange), reply, now);
      break;
    case Purpose::identify:
      identified(exchange, reply, now);
      break;
    case Purpose::read:
      read(nodes_[*exchange.node], reply, now);
      break;
    case Purpose::assign:
      // Whether it worked is seen when the node is asked who it is.
      nodes_[*exchange.node].assign = false;
      nodes_[*exchange.node].due = now;
      break;
    case Purpose::find:
      if (const auto* found = std::get_if<protocol::Found>(&reply)) {
        if (search_) search_->bisection.found(*found);
      } else if (search_) {
        search_->bisection.collision();
      }
      break;
    case Purpose::mute:
      if (search_) search_->bisection.done();
      break;
    case Purpose::introduce:
      introduction_answered(reply, now);
      break;
    case Purpose::move:
    case Purpose::unmute:
      break;
  }
}

void BusEngine::expired(TimePoint now) {
  if (exchange_->tries_left > 0) {
    if (exchange_->answered) ++counters_.retries;
    transmit(now);
    return;
  }
  const bool garbage = exchange_->garbage || reader_.mid_frame();
  Exchange exchange = *std::exchange(exchange_, std::nullopt);
  if (exchange.answered && exchange.purpose != Purpose::find) ++counters_.time_outs;
  switch (exchange.purpose) {
    case Purpose::command:
      if (exchange.answered) {
        out_.notices.emplace_back(CommandFailed{exchange.queued->command.id, Fault::timed_out});
      } else {
        out_.notices.push_back(CommandAnswered{exchange.queued->command.id, protocol::Done{}});
      }
      break;
    case Purpose::identify:
    case Purpose::read:
    case Purpose::assign:
      unreachable(exchange, garbage, now);
      break;
    case Purpose::find:
      if (!search_) break;
      if (garbage) {
        search_->bisection.collision();
      } else {
        search_->bisection.silence();
      }
      break;
    case Purpose::mute:
      if (search_) search_->bisection.silence();
      break;
    case Purpose::unmute:
      if (search_) search_->bisection.done();
      break;
    case Purpose::introduce:
      if (search_) introduced(garbage ? Doubt::not_understood : Doubt::no_answer);
      break;
    case Purpose::move:
      break;
  }
}

void BusEngine::command_answered(Exchange exchange, const Reply& reply, TimePoint now) {
  Queued& queued = *exchange.queued;
  Node& node = nodes_[*exchange.node];
  if (const auto* wait = std::get_if<protocol::Wait>(&reply)) {
    if (!queued.deferral.put_off(*wait, now, config_.longest_wait, queued.not_before)) {
      ++counters_.time_outs;
      out_.notices.emplace_back(CommandFailed{queued.command.id, Fault::timed_out});
      return;
    }
    queue_.push_front(std::move(queued));
    return;
  }
  const auto answer = queued.talk->heard(reply);
  if (!answer) {
    queued.packet.reset();
    queued.not_before = now;
    queued.deferral.over();
    queue_.push_front(std::move(queued));
    return;
  }
  if (const auto reading = protocol::reading_in(*answer)) {
    node.known = queued.talk->known();
    note_reading(node, protocol::telemetry_of(*reading).boots, now);
  }
  out_.notices.push_back(CommandAnswered{queued.command.id, *answer});
}

void BusEngine::identified(const Exchange& exchange, const Reply& reply, TimePoint now) {
  Node& node = nodes_[*exchange.node];
  if (const auto* wait = std::get_if<protocol::Wait>(&reply)) {
    if (!node.deferral.put_off(*wait, now, config_.longest_wait, node.due)) {
      node.assigned = true;  // its address is right: it only will not say who it is
      unreachable(exchange, false, now);
      return;
    }
    for (Queued& queued : queue_) {
      if (queued.command.node == node.uid) queued.not_before = node.due;
    }
    return;
  }
  const auto* identity = std::get_if<protocol::Identity>(&reply);
  if (identity == nullptr) {
    ++counters_.unexpected;
    node.assigned = true;  // its address is right: it only will not say who it is
    unreachable(exchange, false, now);
    return;
  }
  if (identity->uid != node.uid) {
    ++counters_.unexpected;
    clear_address(exchange, identity->uid, now);
    return;
  }
  node.met = true;
  node.poll.reset();
  node.assigned = false;
  node.deferral.over();
  node.moves = 0;
  node.boots = identity->boots;
  node.due = now;
  node.pauses.succeeded();
  if (node.borrowed) return met_borrowed(node, *identity);
  out_.notices.push_back(NodeIdentified{node.uid, *identity});
}

// Somebody else sits at the node's address: it is sent where it belongs, or out of the way. A
// borrowed node goes out of the way itself.
void BusEngine::clear_address(const Exchange& exchange, NodeUid intruder, TimePoint now) {
  Node& node = nodes_[*exchange.node];
  if (++node.moves > most_moves) {
    node.assigned = true;
    unreachable(exchange, false, now);
    return;
  }
  node.assigned = false;
  node.due = now;
  if (node.borrowed) {
    node.address = free_address();
    node.assign = true;
    return;
  }
  const auto known = index_of(intruder);
  const Address to = known ? nodes_[*known].address : free_address();
  moves_.push_back(protocol::Assign{intruder, to});
  moves_.push_back(protocol::Assign{node.uid, node.address});
  node.assign = false;
}

void BusEngine::read(Node& node, const Reply& reply, TimePoint now) {
  if (const auto* wait = std::get_if<protocol::Wait>(&reply)) {
    if (!node.deferral.put_off(*wait, now, config_.longest_wait, node.due)) gone_silent(node, now);
    return;
  }
  const auto answer = node.poll->heard(reply);
  if (!answer) {
    node.due = now;
    node.deferral.over();
    return;
  }
  const auto poll = *std::exchange(node.poll, std::nullopt);
  const auto reading = protocol::reading_in(*answer);
  if (!reading) {
    ++counters_.unexpected;
    gone_silent(node, now);
    return;
  }
  node.known = poll.known();
  note_reading(node, protocol::telemetry_of(*reading).boots, now);
  out_.notices.push_back(NodeRead{node.uid, *reading});
}

void BusEngine::note_reading(Node& node, std::uint32_t boots, TimePoint now) {
  node.silent = false;
  node.deferral.over();
  node.last_reading = now;
  node.due = now + config_.reading_age / 2;
  if (node.boots != boots) {
    // It has restarted, or another stands in its place.
    node.met = false;
    node.due = node.restarts.told(now, node.due);
  }
}

void BusEngine::unreachable(const Exchange& exchange, bool garbage, TimePoint now) {
  Node& node = nodes_[*exchange.node];
  if (exchange.purpose == Purpose::identify && !node.assigned) {
    // Nobody there, or two that talk at once: the uid reaches it all the same.
    if (garbage && ++node.moves <= most_moves) node.address = free_address();
    node.assign = true;
    node.due = now;
    return;
  }
  // One missed poll is no silence yet, as long as the last reading may still stand: a busy machine
  // or a burst of noise is over in a moment.
  if (exchange.purpose == Purpose::read && !exchange.for_command && !node.silent &&
      now < node.last_reading + config_.reading_age) {
    node.due = now + config_.reading_age / 8;
    return;
  }
  gone_silent(node, now);
  if (!exchange.for_command) return;
  std::deque<Queued> others;
  for (Queued& queued : queue_) {
    if (queued.command.node == node.uid) {
      out_.notices.emplace_back(CommandFailed{queued.command.id, Fault::timed_out});
    } else {
      others.push_back(std::move(queued));
    }
  }
  queue_ = std::move(others);
}

void BusEngine::gone_silent(Node& node, TimePoint now) {
  if (!node.silent && !node.borrowed) out_.notices.push_back(NodeSilent{node.uid});
  node.silent = true;
  node.met = false;
  node.poll.reset();
  node.assign = false;
  node.assigned = false;
  node.deferral.over();
  node.moves = 0;
  node.due = now + node.pauses.next();
}

}  // namespace catwalk::drivers
