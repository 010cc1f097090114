// SPDX-License-Identifier: Apache-2.0
// DatagramEngine, continued: the search, and what is known of those that it found.

#include <algorithm>
#include <utility>

#include "drivers/datagrams/datagram_engine.hpp"
#include "protocol/codec.hpp"

namespace catwalk::drivers {

using protocol::NodeUid;
using protocol::ReplayWindow;
using protocol::Reply;
using protocol::Request;

namespace {

constexpr Micros between_calls{200'000};

// What an answer to the search says; nothing if it can be understood by nobody.
std::optional<protocol::Identity> identity_in(
    const Result<protocol::Packet, protocol::ParseError>& packet) {
  if (!packet) return std::nullopt;
  const auto* reply = std::get_if<Reply>(&packet->message);
  const auto* identity = reply == nullptr ? nullptr : std::get_if<protocol::Identity>(reply);
  return identity == nullptr ? std::nullopt : std::optional{*identity};
}

}  // namespace

void DatagramEngine::discover(TimePoint now, std::vector<Endpoint> points) {
  if (!up_) {
    out_.notices.push_back(DiscoveryEnded{0, "the line is down"});
    return;
  }
  if (!speaks_) {
    out_.notices.push_back(DiscoveryEnded{0, "another controller speaks on the line"});
    return;
  }
  if (search_) return;
  forget_guests();
  found_.clear();
  // Full of those that searches before this one found, it would have no room for others.
  if (strangers_.size() >= most_discovered) strangers_.clear();
  search_ =
      Search{search_sequence_++, std::move(points), {}, {}, now, now + config_.search_time, {}};
  call(now);
}

void DatagramEngine::call(TimePoint now) {
  search_->next_call = now + between_calls;
  std::set<Endpoint> points(config_.search_points.begin(), config_.search_points.end());
  points.insert(search_->points.begin(), search_->points.end());
  for (const Node& node : nodes_)
    if (node.endpoint) points.insert(*node.endpoint);
  const auto packet =
      protocol::encode(protocol::Packet{{{}, search_->sequence}, Request{protocol::Identify{}}});
  for (const Endpoint& point : points) {
    // As a visitor: who hears it may obey another controller.
    const protocol::Envelope envelope{protocol::Direction::to_node, NodeUid::everyone(), 0, 0,
                                      *search_->visits.insert(new_visit()).first};
    auto bytes = protocol::seal(envelope, packet, config_.key);
    ++counters_.frames_sent;
    counters_.bytes_sent += bytes.size();
    out_.send.push_back(Transmission{std::move(bytes), point});
  }
}

// In a search nodes answer under the key that they were asked under: that of the line, also those
// with one of their own. Who has the line's key learns and tells nothing by that but who is there,
// and where a node might be asked under its own.
bool DatagramEngine::is_found_under_line_key(Node& node, protocol::ByteView bytes,
                                             const Endpoint& from, TimePoint now) {
  if (!node.has_own_key || !search_) return false;
  const auto datagram = protocol::open(bytes, protocol::Direction::to_controller, config_.key);
  if (!datagram || !is_to_search(datagram->envelope.peer_session)) return false;
  const auto packet = protocol::decode(datagram->packet);
  const auto identity = identity_in(packet);
  if (!identity || packet->header.sequence != search_->sequence) return false;
  (void)discovered(node.uid, true, from, identity);
  rumour(node, from, now);
  pump(node, now);
  return true;
}

void DatagramEngine::on_stranger(const protocol::Datagram& datagram, const Endpoint& from) {
  const protocol::Envelope& envelope = datagram.envelope;
  if (!is_to_search(envelope.peer_session)) {
    ++counters_.unexpected;
    return;
  }
  const bool room = strangers_.contains(envelope.uid) || strangers_.size() < most_discovered;
  if (!room && search_) {
    search_->trouble =
        "more than " + std::to_string(most_discovered) + " nodes answer: the others are left out";
  }
  if (!room || strangers_[envelope.uid].window.accept(envelope.session, envelope.counter) !=
                   ReplayWindow::Verdict::fresh) {
    ++counters_.replayed;
    return;
  }
  const auto header = protocol::header_of(datagram.packet);
  if (!search_ || envelope.uid == NodeUid::everyone() || !header ||
      header->sequence != search_->sequence) {
    ++counters_.unexpected;
    return;
  }
  const auto identity = identity_in(protocol::decode(datagram.packet));
  if (!discovered(envelope.uid, false, from, identity)) return;
  found_.insert(envelope.uid);
  strangers_[envelope.uid].from = from;
  strangers_[envelope.uid].session = envelope.session;
}

// One row for each uid, whoever answers under it and how often; but what was not understood at
// first may be later.
bool DatagramEngine::discovered(NodeUid uid, bool known, const Endpoint& from,
                                const std::optional<protocol::Identity>& identity) {
  const Doubt doubt = !identity              ? Doubt::not_understood
                      : identity->uid != uid ? Doubt::another_answers
                                             : Doubt::none;
  const auto [row, fresh] = search_->found.try_emplace(uid, doubt);
  if (!fresh && (row->second == Doubt::none || doubt != Doubt::none)) return false;
  row->second = doubt;
  NodeDiscovered notice{uid, protocol::Address::unassigned(), known, from, {}, doubt};
  if (doubt == Doubt::none) {
    notice.address = identity->address;
    notice.identity = identity;
  }
  out_.notices.emplace_back(std::move(notice));
  return true;
}

DatagramEngine::Node* DatagramEngine::take_in(NodeUid uid) {
  if (!found_.contains(uid)) return nullptr;
  const Stranger& stranger = strangers_.at(uid);
  Node borrowed = node_of({uid, stranger.from});
  borrowed.borrowed = true;
  borrowed.window = stranger.window;
  borrowed.session = stranger.session;
  borrowed.counter = borrowed_counter_;
  index_.emplace(uid, nodes_.size());
  nodes_.push_back(std::move(borrowed));
  return &nodes_.back();
}

// Those that nobody waits for.
void DatagramEngine::forget_guests() {
  // What comes later must be higher than what they have heard, too.
  for (const Node& node : nodes_) borrowed_counter_ = std::max(borrowed_counter_, node.counter);
  std::erase_if(nodes_, [](const Node& node) {
    return node.borrowed && !node.exchange && node.queue.empty();
  });
  index_.clear();
  for (std::size_t i = 0; i < nodes_.size(); ++i) index_.emplace(nodes_[i].uid, i);
}

}  // namespace catwalk::drivers
