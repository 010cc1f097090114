// SPDX-License-Identifier: Apache-2.0
// DatagramEngine, continued: what is heard, what is missed, and what follows from it.

#include <algorithm>
#include <optional>
#include <utility>

#include "drivers/datagrams/datagram_engine.hpp"
#include "protocol/codec.hpp"

namespace catwalk::drivers {

using protocol::ReplayWindow;
using protocol::Reply;
using protocol::Request;

namespace {

constexpr int most_session_repeats = 3;
constexpr auto too_many_heard =
    "more datagrams of strangers came than are heeded: some nodes may be missing";
constexpr Micros between_rumours{250'000};

}  // namespace

void DatagramEngine::received(protocol::ByteView bytes, const Endpoint& from, TimePoint now) {
  if (!up_) return;
  counters_.bytes_received += bytes.size();
  const auto claimed = protocol::claimed_uid(bytes);
  const auto at = claimed ? index_.find(*claimed) : index_.end();
  if (at == index_.end() && !strangers_heeded_.take(now)) {
    ++counters_.thinned;
    if (search_) search_->trouble = too_many_heard;
    return;
  }
  const auto& key = at == index_.end() ? config_.key : nodes_[at->second].key;
  const auto datagram = protocol::open(bytes, protocol::Direction::to_controller, key);
  if (!datagram) {
    const bool forged = datagram.error() == protocol::OpenError::forged;
    if (forged && at != index_.end() &&
        is_found_under_line_key(nodes_[at->second], bytes, from, now))
      return;
    ++(forged ? counters_.forged : counters_.malformed);
    return;
  }
  const protocol::Envelope& envelope = datagram->envelope;
  if (at == index_.end()) {
    on_stranger(*datagram, from);
    return;
  }
  Node& node = nodes_[at->second];
  if (envelope.session < node.session) {
    ++counters_.replayed;  // of a life of the node before this one
    return;
  }
  if (!is_to_us(node, envelope.peer_session)) {
    // Said to somebody else, or to nobody: authentic, but for all that is known ages old.
    ++counters_.unexpected;
    rumour(node, from, now);
    pump(node, now);
    return;
  }
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
  node.endpoint = node.heard = from;
  node.rumoured.reset();
  if (node.session != envelope.session) {
    // It has restarted: it is asked anew who it is.
    node.session = envelope.session;
    node.met = false;
    node.poll.reset();
    node.due = node.restarts.told(now, node.due);
  }
  on_packet(node, *packet, now);
  pump(node, now);
}

bool DatagramEngine::is_to_us(const Node& node, std::uint32_t peer_session) const {
  if (peer_session == config_.epoch || is_to_search(peer_session)) return true;
  return node.exchange &&
         std::ranges::find(node.exchange->visits, peer_session) != node.exchange->visits.end();
}

bool DatagramEngine::is_to_search(std::uint32_t peer_session) const {
  return search_ && search_->visits.contains(peer_session);
}

void DatagramEngine::on_packet(Node& node, const protocol::Packet& packet, TimePoint now) {
  const auto& reply = std::get<Reply>(packet.message);
  if (const auto* report = std::get_if<protocol::Report>(&reply)) {
    if (node.met)
      reported(node, report->reading, now);
    else  // it has not said who it is in this session: ask, rather than believe it
      node.due = node.restarts.told(now, node.due);
    return;
  }
  if (std::holds_alternative<protocol::MatrixReport>(reply)) {
    // It tells that there is something to read, which is more than it holds.
    if (!node.met || node.brake.pass(now))
      node.due = node.met ? now : node.restarts.told(now, node.due);
    return;
  }
  const auto* identity = std::get_if<protocol::Identity>(&reply);
  if (search_ && packet.header.sequence == search_->sequence && identity != nullptr &&
      !(node.exchange && node.exchange->packet.header.sequence == packet.header.sequence)) {
    (void)discovered(node.uid, !node.borrowed, *node.heard, *identity);
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
    auto& request = std::get<Request>(node.exchange->packet.message);
    request = proved(request, node.uid, node.session, node.key);
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
    if (node.deferral.put_off(*wait, now, config_.longest_wait, node.due)) return;
    gone_silent(node, now);
    if (exchange.purpose == Purpose::ask) tells_nobody(node);
    return;
  }
  if (exchange.purpose == Purpose::ask) return told_whom_it_obeys(node, reply, now);
  if (exchange.purpose == Purpose::read && read_answered(node, reply, now)) return;
  if (const auto* identity = std::get_if<protocol::Identity>(&reply);
      identity != nullptr && identity->uid == node.uid) {
    node.met = true;
    node.due = now;
    node.deferral.over();
    node.pauses.succeeded();
    out_.notices.push_back(NodeIdentified{node.uid, *identity});
    return;
  }
  // A visitor is refused nothing for its epoch: one that does so all the same waits like a silent
  // one.
  if (const auto other = other_of(node, reply); other && !node.held)
    return is_held_by(node, *other, now);
  ++counters_.unexpected;
  gone_silent(node, now);
}

// False: that is no reading, and nothing to go on with.
bool DatagramEngine::read_answered(Node& node, const Reply& reply, TimePoint now) {
  if (!node.poll) {
    // It has restarted since it was asked: a part of what it had before is no use.
    if (std::holds_alternative<protocol::Part>(reply)) return true;
    node.poll.emplace(protocol::Read{}, node.known);
  }
  const auto answer = node.poll->heard(reply);
  if (!answer) {
    node.due = now;
    node.deferral.over();
    return true;
  }
  const auto poll = *std::exchange(node.poll, std::nullopt);
  const auto reading = protocol::reading_in(*answer);
  if (!reading) return false;
  node.known = poll.known();
  note_reading(node, now);
  out_.notices.push_back(NodeRead{node.uid, *reading});
  return true;
}

// One that does not know the question, or refuses it, obeys nobody who could be told from us; one
// that says that our session is over obeys somebody, since nobody knows when.
void DatagramEngine::told_whom_it_obeys(Node& node, const Reply& reply, TimePoint now) {
  const auto other = other_of(node, reply);
  node.asked = true;
  if (other) {
    is_held_by(node, *other, now);
  } else {
    answers_again(node, now);
    node.held = false;
    out_.notices.emplace_back(NodeFree{node.uid});
  }
  say_if_all_asked();
}

// Who has spoken for long to nobody has the node all the same while it takes nothing from us.
std::optional<OtherSpeaks> DatagramEngine::other_of(const Node& node, const Reply& reply) const {
  const auto is_higher = [&](protocol::Epoch epoch) {
    return speaks_ && epoch.value > config_.epoch && !config_.ours.have(epoch);
  };
  if (const auto* heard = std::get_if<protocol::ControllerHeard>(&reply)) {
    if (protocol::other_speaks(*heard, config_.ours) || is_higher(heard->epoch))
      return OtherSpeaks{node.uid,
                         heard->epoch,
                         heard->ago_ms == protocol::ControllerHeard::never
                             ? std::nullopt
                             : std::optional{heard->ago_ms},
                         {config_.epoch}};
  } else if (const auto* refusal = std::get_if<protocol::Refusal>(&reply)) {
    const protocol::Epoch epoch{refusal->detail};
    if (refusal->reason == protocol::RefusalReason::epoch_too_low && !config_.ours.have(epoch))
      return OtherSpeaks{node.uid, epoch, std::nullopt, {config_.epoch}};
  }
  return std::nullopt;
}

void DatagramEngine::answers_again(Node& node, TimePoint now) {
  node.silent = false;
  node.due = now;
  node.ask_again = now + between_hearings;
  node.deferral.over();
  node.pauses.succeeded();
}

void DatagramEngine::is_held_by(Node& node, const OtherSpeaks& other, TimePoint now) {
  answers_again(node, now);
  node.held = true;
  out_.notices.emplace_back(other);
  fail_waiting(node, Fault::other_speaks);
}

// Nobody waits for it any longer.
void DatagramEngine::tells_nobody(Node& node) {
  node.missed = true;
  fail_waiting(node, Fault::timed_out);
  say_if_all_asked();
}

void DatagramEngine::fail_waiting(Node& node, Fault fault) {
  for (const Queued& queued : node.queue) {
    --waiting_;
    if (queued.part_of_broadcast)
      part_sent(queued.command.id);
    else
      out_.notices.emplace_back(CommandFailed{queued.command.id, fault});
  }
  node.queue.clear();
}

void DatagramEngine::expired(Node& node, TimePoint now) {
  if (node.exchange->tries_left > 0) {
    // The others do not wait for one that lets two tries pass; should it answer later, it is told
    // of then.
    if (node.exchange->purpose == Purpose::ask && node.exchange->retried) {
      node.missed = true;
      say_if_all_asked();
    }
    ++counters_.retries;
    node.exchange->retried = true;
    transmit(node, now);
    return;
  }
  ++counters_.time_outs;
  Exchange exchange = *std::exchange(node.exchange, std::nullopt);
  if (exchange.purpose != Purpose::command) {
    gone_silent(node, now);
    if (exchange.purpose == Purpose::ask) tells_nobody(node);
  } else if (!exchange.queued->part_of_broadcast) {
    out_.notices.emplace_back(CommandFailed{exchange.queued->command.id, Fault::timed_out});
  }
}

void DatagramEngine::command_answered(Node& node, Exchange exchange, const Reply& reply,
                                      TimePoint now) {
  Queued& queued = *exchange.queued;
  if (const auto* wait = std::get_if<protocol::Wait>(&reply)) {
    if (queued.deferral.put_off(*wait, now, config_.longest_wait, queued.not_before)) {
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
  const auto answer = queued.talk->heard(reply);
  if (!answer) {
    queued.packet.reset();
    queued.not_before = now;
    queued.deferral.over();
    ++waiting_;
    node.queue.push_front(std::move(queued));
    return;
  }
  node.thinned.reset();                               // may be older than what the command has done
  if (node.silent && node.due > now) node.due = now;  // it speaks again
  if (protocol::reading_in(*answer)) {
    node.known = queued.talk->known();
    if (node.met)
      note_reading(node, now);
    else
      node.silent =
          false;  // whoever asked takes it for heard; should it be silent again, it is told
  }
  if (!queued.part_of_broadcast) {
    out_.notices.push_back(CommandAnswered{queued.command.id, *answer});
  }
}

// A report by itself is news; a flood of them is the newest, now and then.
void DatagramEngine::reported(Node& node, const protocol::Reading& reading, TimePoint now) {
  note_reading(node, now);
  const bool babbled = node.brake.babbles();
  if (node.brake.pass(now)) {
    out_.notices.push_back(NodeRead{node.uid, reading});
  } else {
    ++counters_.thinned;
    node.thinned = reading;
  }
  if (node.brake.babbles() != babbled) out_.notices.push_back(NodeBabbles{node.uid, !babbled});
}

void DatagramEngine::let_go(Node& node, TimePoint now) {
  if (node.thinned && now >= node.brake.opens()) {
    node.brake.passed(now);
    out_.notices.push_back(NodeRead{node.uid, *std::exchange(node.thinned, std::nullopt)});
  }
  if (const auto calm = node.brake.calm_at(); calm && now >= *calm) {
    node.brake.calm_down(now);
    if (!node.brake.babbles()) out_.notices.push_back(NodeBabbles{node.uid, false});
  }
}

// Recordings come by the hundred: one in a while is heeded.
void DatagramEngine::rumour(Node& node, const Endpoint& from, TimePoint now) {
  if (now < node.heed_rumours) return;
  node.heed_rumours = now + between_rumours;
  node.rumoured = from;
  node.due = std::min(node.due, now);
}

void DatagramEngine::note_reading(Node& node, TimePoint now) {
  node.silent = false;
  node.thinned.reset();
  node.deferral.over();
  node.due = now + config_.reading_age / 2;
  node.pauses.succeeded();
}

void DatagramEngine::gone_silent(Node& node, TimePoint now) {
  if (!node.silent) out_.notices.push_back(NodeSilent{node.uid});
  node.silent = true;
  node.met = false;
  node.poll.reset();
  node.rumoured.reset();
  node.deferral.over();
  node.due = now + node.pauses.next();
  if (node.configured && node.heard)
    node.endpoint = node.endpoint == node.heard ? node.configured : node.heard;
}

}  // namespace catwalk::drivers
