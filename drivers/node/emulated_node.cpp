// SPDX-License-Identifier: Apache-2.0
#include "drivers/node/emulated_node.hpp"

#include <algorithm>

#include "protocol/codec.hpp"
#include "protocol/discovery.hpp"
#include "protocol/matrix_codec.hpp"
#include "protocol/reclaim.hpp"

namespace catwalk::drivers {

using protocol::Done;
using protocol::Refusal;
using protocol::RefusalReason;
using protocol::Reply;

namespace {

// PROTOCOL.md, section 6.1: an answer is kept this long after it was last asked for.
constexpr auto keep_answer = std::chrono::seconds{5};
// An 8-bit node keeps one; this one can be watched by a few controllers at once.
constexpr std::size_t most_kept = 4;

template <class T>
bool is(const protocol::Request& request) {
  return std::holds_alternative<T>(request);
}

// Requests that change nothing are served afresh each time: a reading must not be an old one.
bool only_asks(const protocol::Request& request) {
  return is<protocol::Identify>(request) || is<protocol::Read>(request) ||
         is<protocol::AskController>(request) || is<protocol::Find>(request) ||
         is<protocol::Unmute>(request) || is<protocol::AskKind>(request) ||
         is<protocol::ReadPart>(request);
}

bool is_for_buses(const protocol::Request& request) {
  return is<protocol::Find>(request) || is<protocol::Mute>(request) ||
         is<protocol::Unmute>(request) || is<protocol::Assign>(request);
}

}  // namespace

NodeMemory factory_memory(const NodeConfig& config, protocol::Address address, std::string label) {
  NodeMemory memory;
  memory.address = address;
  memory.stored = factory_settings(config.type);
  std::visit([&](auto& stored) { stored.label = std::move(label); }, memory.stored);
  return memory;
}

EmulatedNode::EmulatedNode(NodeConfig config, NodeMemory memory, Moment now)
    : config_{std::move(config)}, memory_{std::move(memory)} {
  if (const auto* matrix = std::get_if<MatrixType>(&config_.type.can)) {
    measured_.assign(matrix->inputs, {matrix->measures_current, matrix->measures_level});
    sockets_.resize(matrix->inputs);
  }
  restart(now);
}

void EmulatedNode::restart(Moment now) {
  ++memory_.boots;
  put_in_force(memory_.stored);
  void_what_is_staged();
  applied_.reset();
  kept_.clear();
  started_ = now;
  locating_until_ = now;
  powered_ = true;
  locally_changed_ = false;
  muted_ = false;
  ++news_;
}

void EmulatedNode::cut_power() {
  powered_ = false;
  ++news_;
}

void EmulatedNode::restore_power(Moment now) { restart(now); }

void EmulatedNode::put_in_force(const NodeSettings& settings) {
  if (in_force_ != settings) ++settings_number_;
  in_force_ = settings;
}

void EmulatedNode::void_what_is_staged() {
  staged_.reset();
  arriving_.reset();
}

void EmulatedNode::find_at_input(std::size_t input, const protocol::InputMeasured& found) {
  auto& known = measured_.at(input - 1);
  if (known.limited != found.limited || (known.supply_ma == 0) != (found.supply_ma == 0)) ++news_;
  known = found;
}

std::optional<Refusal> EmulatedNode::turn(const NodeSettings& settings) {
  if (const auto refusal = refusal_of(config_.type, settings)) return refusal;
  put_in_force(settings);
  locally_changed_ = true;
  ++news_;
  return std::nullopt;
}

std::optional<protocol::Bytes> EmulatedNode::answer(protocol::ByteView packet,
                                                    const Arrival& arrival, Moment now) {
  if (silent_) return std::nullopt;
  const auto header = protocol::header_of(packet);
  if (!header || !protocol::is_request_type(packet[3])) return std::nullopt;

  const auto decoded = protocol::decode(packet);
  std::optional<Reply> reply;
  if (decoded) {
    reply = once(std::get<protocol::Request>(decoded->message), packet, arrival, now);
  } else if (arrival.way != Arrival::Way::broadcast) {
    const bool unknown = decoded.error().code == protocol::ParseCode::type_unknown;
    reply = Refusal{unknown ? RefusalReason::unknown_message : RefusalReason::malformed,
                    static_cast<std::uint32_t>(decoded.error().offset)};
  }
  if (!reply) return std::nullopt;
  if (mouth_) reply = mouth_(*std::move(reply));
  const auto from = arrival.way == Arrival::Way::datagram ? protocol::Address{} : memory_.address;
  return protocol::encode(protocol::Packet{{from, header->sequence}, *std::move(reply)});
}

std::optional<Reply> EmulatedNode::once(const protocol::Request& request, protocol::ByteView packet,
                                        const Arrival& arrival, Moment now) {
  if (only_asks(request) ||
      (arrival.way == Arrival::Way::broadcast && is<protocol::Apply>(request))) {
    return serve(request, arrival, now);
  }
  if (!arrival.session_current) {
    return Refusal{RefusalReason::session_unknown, memory_.boots};
  }
  Kept* kept = kept_for(arrival.controller, packet, now);
  if (kept == nullptr) {
    auto reply = serve(request, arrival, now);
    if (!reply) return std::nullopt;
    const Millis busy = slow_by_ + (is<protocol::Store>(request) ? config_.store_time : Millis{0});
    if (kept_.size() == most_kept) kept_.erase(kept_.begin());
    kept_.push_back(
        {arrival.controller, {packet.begin(), packet.end()}, *std::move(reply), now + busy, now});
    kept = &kept_.back();
  }
  kept->asked_at = now;
  if (now < kept->ready_at) {
    const auto left = std::chrono::ceil<Millis>(kept->ready_at - now).count();
    return protocol::Wait{
        static_cast<std::uint8_t>(std::clamp<long long>((left + 9) / 10, 1, 255))};
  }
  return kept->reply;
}

EmulatedNode::Kept* EmulatedNode::kept_for(std::uint32_t controller, protocol::ByteView packet,
                                           Moment now) {
  const auto at = std::find_if(kept_.begin(), kept_.end(),
                               [&](const Kept& kept) { return kept.controller == controller; });
  if (at == kept_.end()) return nullptr;
  const bool same =
      std::equal(packet.begin(), packet.end(), at->request.begin(), at->request.end());
  if (same && now - at->asked_at <= keep_answer) return &*at;
  kept_.erase(at);
  return nullptr;
}

std::optional<Reply> EmulatedNode::serve(const protocol::Request& request, const Arrival& arrival,
                                         Moment now) {
  if (arrival.way != Arrival::Way::broadcast) {
    if (is<protocol::Identify>(request)) {
      return protocol::Identity{config_.uid, memory_.address, memory_.boots, config_.firmware,
                                config_.type.name};
    }
    if (is<protocol::Read>(request)) return now_reading(now);
    if (is<protocol::AskKind>(request)) return kind();
    if (const auto* part = std::get_if<protocol::ReadPart>(&request)) return read_part(*part);
    if (is<protocol::AskController>(request)) return controller_heard(arrival);
    if (is_for_buses(request)) return Refusal{RefusalReason::unknown_message, 0};
    return act(request, arrival, now);
  }
  // Broadcast: only one of the nodes may speak, if any.
  if (is<protocol::Apply>(request)) {
    act(request, arrival, now);
    return std::nullopt;
  }
  if (const auto* find = std::get_if<protocol::Find>(&request)) {
    if (muted_ || !protocol::matches(*find, config_.uid)) return std::nullopt;
    return protocol::Found{config_.uid, memory_.address};
  }
  if (const auto* mute = std::get_if<protocol::Mute>(&request)) {
    if (mute->uid != config_.uid) return std::nullopt;
    muted_ = true;
    return Done{};
  }
  if (const auto* assign = std::get_if<protocol::Assign>(&request)) {
    if (assign->uid != config_.uid) return std::nullopt;
    memory_.address = assign->address;
    return Done{};
  }
  if (is<protocol::Unmute>(request)) muted_ = false;
  return std::nullopt;
}

Reply EmulatedNode::controller_heard(const Arrival& arrival) const {
  if (arrival.way != Arrival::Way::datagram) return Refusal{RefusalReason::unknown_message, 0};
  protocol::ControllerHeard heard{{std::max(memory_.epoch.value, arrival.highest)}};
  if (arrival.heard_ago && arrival.heard_ago->count() < protocol::ControllerHeard::never)
    heard.ago_ms = static_cast<std::uint32_t>(arrival.heard_ago->count());
  return heard;
}

// An epoch higher than any before is a new controller: what the old one has staged is void.
std::optional<Refusal> EmulatedNode::hear(protocol::Epoch epoch) {
  if (epoch < memory_.epoch) return Refusal{RefusalReason::epoch_too_low, memory_.epoch.value};
  if (epoch > memory_.epoch) {
    memory_.epoch = epoch;
    void_what_is_staged();
  }
  return std::nullopt;
}

Reply EmulatedNode::act(const protocol::Request& request, const Arrival& arrival, Moment now) {
  if (refuses_with_) return Refusal{*refuses_with_, 0};
  if (const auto* locate = std::get_if<protocol::Locate>(&request)) {
    locating_until_ = now + std::chrono::seconds{locate->seconds};
    return Done{};
  }
  if (const auto* m = std::get_if<protocol::Stage>(&request)) {
    if (is_matrix()) return Refusal{RefusalReason::unknown_message};
    if (const auto refusal = hear(m->epoch)) return *refusal;
    return stage({m->epoch, m->ticket, m->settings});
  }
  if (const auto* m = std::get_if<protocol::StagePart>(&request)) return stage_part(*m);
  if (const auto* m = std::get_if<protocol::Apply>(&request)) return apply(*m);
  if (const auto* m = std::get_if<protocol::Discard>(&request)) {
    if (const auto refusal = hear(m->epoch)) return *refusal;
    // Nothing under this ticket is what was asked for, so that is no fault.
    if (staged_ && staged_->ticket == m->ticket) staged_.reset();
    if (arriving_ && arriving_->ticket == m->ticket) arriving_.reset();
    return Done{};
  }
  if (const auto* m = std::get_if<protocol::Reclaim>(&request)) return reclaim(*m, arrival);
  if (const auto* m = std::get_if<protocol::Store>(&request)) {
    if (const auto refusal = hear(m->epoch)) return *refusal;
    memory_.stored = in_force_;
    return Done{};
  }
  return Refusal{RefusalReason::unknown_message, 0};
}

// The one way down for an epoch. What was heard and the boots are in the proof, so that a recording
// works once at most: afterwards neither is as it was.
Reply EmulatedNode::reclaim(const protocol::Reclaim& request, const Arrival& arrival) {
  if (!config_.key) return Refusal{RefusalReason::unknown_message, 0};
  const protocol::Epoch heard{std::max(memory_.epoch.value, arrival.highest)};
  if (request.highest != heard || request.boots != memory_.boots ||
      !protocol::is_proved(request, config_.uid, *config_.key)) {
    return Refusal{RefusalReason::proof_wrong, heard.value};
  }
  memory_.epoch = request.epoch;
  void_what_is_staged();
  applied_.reset();
  return Done{};
}

Reply EmulatedNode::stage(Staged asked) {
  if (const auto refusal = refusal_of(config_.type, asked.settings)) return *refusal;
  if (applied_ && applied_->epoch == asked.epoch && applied_->ticket == asked.ticket) {
    // A retry that comes late must not make the node ready to act a second time.
    if (applied_->settings == asked.settings) return Done{};
    return Refusal{RefusalReason::ticket_used, asked.ticket.value};
  }
  staged_ = std::move(asked);
  return Done{};
}

Reply EmulatedNode::stage_part(const protocol::StagePart& request) {
  if (!is_matrix()) return Refusal{RefusalReason::unknown_message};
  if (const auto refusal = hear(request.epoch)) return *refusal;
  const bool goes_on =
      arriving_ && arriving_->epoch == request.epoch && arriving_->ticket == request.ticket;
  auto arriving = goes_on ? *arriving_ : Arriving{request.epoch, request.ticket, {}};
  if (!arriving.parts.add(request.part, request.parts, protocol::largest_staged_part,
                          request.bytes))
    return Refusal{RefusalReason::part_unknown, arriving.parts.next()};
  // What was staged before is replaced by the first part, not by a late one that is there already.
  if (!goes_on) staged_.reset();
  arriving_ = std::move(arriving);
  if (!arriving_->parts.complete()) return Done{};
  const auto settings =
      protocol::decode_matrix_settings(arriving_->parts.bytes(), protocol::Labels::plain);
  auto reply = settings ? stage({request.epoch, request.ticket, *settings})
                        : Reply{Refusal{RefusalReason::malformed,
                                        static_cast<std::uint32_t>(settings.error().offset)}};
  if (!std::holds_alternative<Done>(reply)) arriving_.reset();
  return reply;
}

Reply EmulatedNode::apply(const protocol::Apply& request) {
  if (const auto refusal = hear(request.epoch)) return *refusal;
  if (staged_ && staged_->ticket == request.ticket) {
    put_in_force(staged_->settings);
    applied_ = std::exchange(staged_, std::nullopt);
    arriving_.reset();
    locally_changed_ = false;
    return Done{};
  }
  if (applied_ && applied_->epoch == request.epoch && applied_->ticket == request.ticket) {
    return Done{};
  }
  return Refusal{RefusalReason::ticket_unknown, request.ticket.value};
}

}  // namespace catwalk::drivers
