// SPDX-License-Identifier: Apache-2.0
#include "drivers/node_on_datagrams.hpp"

#include "protocol/codec.hpp"

namespace catwalk::drivers {

using protocol::Direction;
using protocol::OpenError;
using protocol::ReplayWindow;

namespace {

constexpr Millis repeat_after{250};
constexpr Millis heartbeat{5'000};

}  // namespace

NodeOnDatagrams::NodeOnDatagrams(EmulatedNode& node, protocol::Key key, Moment now)
    : node_{&node}, key_{std::move(key)}, next_report_{now} {
  notice_restart();
}

void NodeOnDatagrams::notice_restart() {
  if (boots_ == node_->boots()) return;
  boots_ = node_->boots();
  counter_ = 0;
  reports_to_ = 0;
  // The highest epoch obeyed survives a restart: recordings from before it stay void.
  window_ = ReplayWindow{node_->memory().epoch.value};
}

protocol::Bytes NodeOnDatagrams::sealed(protocol::ByteView packet, std::uint32_t peer) {
  const protocol::Envelope envelope{Direction::to_controller, node_->uid(), boots_, peer,
                                    ++counter_};
  return protocol::seal(envelope, packet, key_);
}

NodeOnDatagrams::Heard NodeOnDatagrams::receive(protocol::ByteView bytes, Moment now) {
  notice_restart();
  if (node_->is_silent()) return {};
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
  const bool identify =
      datagram->packet[3] == static_cast<std::uint8_t>(protocol::MessageType::identify);
  if (envelope.uid != node_->uid() && !(to_all && identify)) {
    ++faults_.stranger;
    return {};
  }

  const auto verdict = window_.accept(envelope.session, envelope.counter);
  if (verdict == ReplayWindow::Verdict::session_over) {
    // May be a recording, or a controller that was overtaken and should hear why.
    ++faults_.replayed;
    const protocol::Packet refusal{
        {{}, header->sequence},
        protocol::Refusal{protocol::RefusalReason::epoch_too_low, window_.session()}};
    return {sealed(protocol::encode(refusal), envelope.session), false};
  }
  if (verdict != ReplayWindow::Verdict::fresh) {
    ++faults_.replayed;
    return {};
  }

  const bool current = envelope.peer_session == boots_;
  if (current) reports_to_ = envelope.session;
  const Arrival arrival{Arrival::Way::datagram, envelope.session, current};
  Heard heard;
  heard.report_here = current;
  if (const auto reply = node_->answer(datagram->packet, arrival, now)) {
    heard.reply = sealed(*reply, envelope.session);
  }
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
  const protocol::Packet packet{{}, protocol::Report{node_->reading(now)}};
  return sealed(protocol::encode(packet), reports_to_);
}

Moment NodeOnDatagrams::next_report() const {
  // News are due at once; a silent node has nothing to say until it is silent no more.
  return node_->news() != news_told_ && !node_->is_silent() ? Moment::min() : next_report_;
}

}  // namespace catwalk::drivers
