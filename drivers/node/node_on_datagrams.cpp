// SPDX-License-Identifier: Apache-2.0
#include "drivers/node/node_on_datagrams.hpp"

#include <algorithm>
#include <array>
#include <utility>

#include "protocol/codec.hpp"

namespace catwalk::drivers {

using protocol::Direction;
using protocol::MessageType;
using protocol::OpenError;
using protocol::ReplayWindow;

namespace {

constexpr Millis repeat_after{250};
constexpr Millis heartbeat{5'000};
constexpr int most_visitors = 20;  // in a second

// Precondition: the packet has a header.
bool is_of_type(const protocol::Datagram& datagram, MessageType type) {
  return datagram.packet[3] == static_cast<std::uint8_t>(type);
}

}  // namespace

NodeOnDatagrams::NodeOnDatagrams(EmulatedNode& node, protocol::Key line, Moment now,
                                 std::optional<protocol::Key> own)
    : node_{&node},
      line_key_{std::move(line)},
      has_own_key_{own.has_value()},
      key_{own ? *std::move(own) : line_key_},
      next_report_{now} {
  notice_restart();
}

void NodeOnDatagrams::notice_restart() {
  if (boots_ == node_->boots()) return;
  boots_ = node_->boots();
  counter_ = 0;
  reports_to_ = 0;
  heard_.reset();
  // The highest epoch obeyed survives a restart: recordings from before it stay void.
  window_ = ReplayWindow{node_->memory().epoch.value};
  search_window_ = {};
}

protocol::Bytes NodeOnDatagrams::sealed(protocol::ByteView packet, std::uint32_t peer,
                                        const protocol::Key& key) {
  const protocol::Envelope envelope{Direction::to_controller, node_->uid(), boots_, peer,
                                    ++counter_};
  return protocol::seal(envelope, packet, key);
}

NodeOnDatagrams::Heard NodeOnDatagrams::receive(protocol::ByteView bytes, Moment now) {
  notice_restart();
  if (node_->is_silent()) return {};
  if (has_own_key_ && protocol::claimed_uid(bytes) == protocol::NodeUid::everyone())
    return receive_search(bytes, now);
  const auto datagram = protocol::open(bytes, Direction::to_node, key_);
  if (!datagram) {
    ++(datagram.error() == OpenError::forged ? faults_.forged : faults_.malformed);
    return {};
  }
  const protocol::Envelope& envelope = datagram->envelope;
  const auto header = protocol::header_of(datagram->packet);
  if (!header) {
    ++faults_.malformed;
    return {};
  }
  const bool to_all = envelope.uid == protocol::NodeUid::everyone();
  if (envelope.uid != node_->uid() && !(to_all && is_of_type(*datagram, MessageType::identify))) {
    ++faults_.stranger;
    return {};
  }

  if (envelope.session == 0) return receive_visitor(*datagram, key_, now);
  const auto verdict = window_.accept(envelope.session, envelope.counter);
  if (verdict == ReplayWindow::Verdict::session_over) {
    if (auto reclaimed = receive_reclaim(*datagram, now)) return *std::move(reclaimed);
    // May be a recording, or a controller that was overtaken and should hear why.
    ++faults_.replayed;
    const protocol::Packet refusal{
        {{}, header->sequence},
        protocol::Refusal{protocol::RefusalReason::epoch_too_low, window_.session()}};
    return {sealed(protocol::encode(refusal), envelope.session, key_), false};
  }
  if (verdict != ReplayWindow::Verdict::fresh) {
    ++faults_.replayed;
    return {};
  }

  const bool current = envelope.peer_session == boots_;
  if (current) reports_to_ = envelope.session;
  heard_ = now;
  const Arrival arrival{Arrival::Way::datagram, envelope.session, current, window_.session(),
                        Millis{0}};
  Heard heard;
  heard.report_here = current;
  if (const auto reply = node_->answer(datagram->packet, arrival, now)) {
    heard.reply = sealed(*reply, envelope.session, key_);
  }
  return heard;
}

// No window is kept for visitors: a recording of one draws an answer, which is why they are few.
// The answer is fresh for whoever made up its number.
NodeOnDatagrams::Heard NodeOnDatagrams::receive_visitor(const protocol::Datagram& datagram,
                                                        const protocol::Key& key, Moment now) {
  if (now - visitors_from_ >= std::chrono::seconds{1}) {
    visitors_from_ = now;
    visitors_ = 0;
  }
  if (++visitors_ > most_visitors) {
    ++faults_.replayed;
    return {};
  }
  const auto answer = [&]() -> std::optional<protocol::Bytes> {
    constexpr std::array open_to_visitors{MessageType::identify, MessageType::read,
                                          MessageType::ask_controller, MessageType::ask_kind,
                                          MessageType::read_part};
    if (std::ranges::none_of(open_to_visitors,
                             [&](MessageType type) { return is_of_type(datagram, type); }))
      return protocol::encode({{{}, datagram.packet[2]},
                               protocol::Refusal{protocol::RefusalReason::unknown_message, 0}});
    std::optional<Millis> ago;
    if (heard_) ago = std::chrono::duration_cast<Millis>(now - *heard_);
    return node_->answer(datagram.packet,
                         {Arrival::Way::datagram, 0, false, window_.session(), ago}, now);
  };
  const auto reply = answer();
  if (!reply) return {};
  return {sealed(*reply, datagram.envelope.counter, key), false};
}

// Under the line's key, of a node that has one of its own: who is there, and no more. Neither the
// session nor the place of whoever asks is kept.
NodeOnDatagrams::Heard NodeOnDatagrams::receive_search(protocol::ByteView bytes, Moment now) {
  const auto datagram = protocol::open(bytes, Direction::to_node, line_key_);
  if (!datagram) {
    ++(datagram.error() == OpenError::forged ? faults_.forged : faults_.malformed);
    return {};
  }
  const protocol::Envelope& envelope = datagram->envelope;
  if (!is_of_type(*datagram, MessageType::identify)) {
    ++faults_.stranger;
    return {};
  }
  if (envelope.session == 0) return receive_visitor(*datagram, line_key_, now);
  if (search_window_.accept(envelope.session, envelope.counter) != ReplayWindow::Verdict::fresh) {
    ++faults_.replayed;
    return {};
  }
  const auto reply =
      node_->answer(datagram->packet, {Arrival::Way::datagram, envelope.session, false}, now);
  if (!reply) return {};
  return {sealed(*reply, envelope.session, line_key_), false};
}

// Of a controller whose session is over: a proved reclaim makes it the present one. Nothing: it is
// something else, or is not for these boots.
std::optional<NodeOnDatagrams::Heard> NodeOnDatagrams::receive_reclaim(
    const protocol::Datagram& datagram, Moment now) {
  const protocol::Envelope& envelope = datagram.envelope;
  if (!is_of_type(datagram, MessageType::reclaim) || envelope.peer_session != boots_)
    return std::nullopt;
  const Arrival arrival{Arrival::Way::datagram, envelope.session, true, window_.session()};
  const auto reply = node_->answer(datagram.packet, arrival, now);
  const bool reclaimed = node_->memory().epoch.value == envelope.session;
  if (reclaimed) {
    heard_ = now;
    window_ = ReplayWindow{envelope.session};
    // Marks its counter as seen.
    (void)window_.accept(envelope.session, envelope.counter);
    reports_to_ = envelope.session;
  }
  Heard heard;
  heard.report_here = reclaimed;
  if (reply) heard.reply = sealed(*reply, envelope.session, key_);
  return heard;
}

std::optional<protocol::Bytes> NodeOnDatagrams::report(Moment now) {
  notice_restart();
  if (node_->is_silent()) {
    if (now >= next_report_) next_report_ = now + heartbeat;
    return std::nullopt;
  }
  const bool news = node_->news() != news_told_;
  if (!news && now < next_report_) return std::nullopt;
  if (news) {
    news_told_ = node_->news();
    repeats_left_ = 1;
    next_report_ = now + repeat_after;
  } else if (repeats_left_ > 0) {
    --repeats_left_;
    next_report_ = now + heartbeat;
  } else {
    next_report_ = now + heartbeat;
  }
  const protocol::Packet packet{{}, node_->report(now)};
  return sealed(protocol::encode(packet), reports_to_, key_);
}

Moment NodeOnDatagrams::next_report() const {
  // News are due at once; a silent node has nothing to say until it is silent no more.
  return node_->news() != news_told_ && !node_->is_silent() ? Moment::min() : next_report_;
}

}  // namespace catwalk::drivers
