// SPDX-License-Identifier: Apache-2.0
#include "daemon/control/show_control.hpp"

#include <algorithm>
#include <utility>

#include "daemon/base/overloaded.hpp"
#include "daemon/control/osc_codec.hpp"
#include "daemon/control/state.hpp"

namespace catwalk::control {
namespace {

constexpr std::size_t longest_echo = 128;

std::string in_seconds(std::chrono::microseconds time) {
  const auto tenths =
      std::chrono::ceil<std::chrono::duration<std::int64_t, std::deci>>(time).count();
  return std::to_string(tenths / 10) + '.' + std::to_string(tenths % 10) + " s";
}

Peer at_port(Peer peer, std::optional<std::uint16_t> port) {
  peer.port = port.value_or(peer.port);
  return peer;
}

const About whole_packet{"", "#bundle"};

}  // namespace

struct ShowControl::Turn {
  Steady now;
  rack::TimePoint wall{};  // of a datagram
  Effects effects = {};
};

ShowControl::ShowControl(const Setup& setup, rack::SnapshotPtr snapshot)
    : senders_{setup.senders}, snapshot_{std::move(snapshot)}, feedback_{setup.subscribers} {}

bool ShowControl::knows(const Peer& peer) const {
  return std::ranges::any_of(senders_, [&](const Sender& sender) {
    return sender.host == peer.host && sender.port.value_or(peer.port) == peer.port;
  });
}

Effects ShowControl::received(const Peer& from, protocol::ByteView datagram, Moment now) {
  Turn turn{now.steady, now.wall};
  ++counters_.received;
  if (!knows(from)) {
    ++counters_.stranger;
    dropped(turn, "a datagram from " + from.text() + ", which is not among the senders");
    return std::move(turn.effects);
  }
  const auto packet = read_packet(datagram);
  if (!packet) {
    ++counters_.malformed;
    dropped(turn, "a datagram from " + from.text() + ": " + std::string{packet.error().why});
    return std::move(turn.effects);
  }
  if (packet->unread > 0) {
    counters_.unread += packet->unread;
    dropped(turn,
            "a message from " + from.text() + ": its arguments are of a type that is not read");
  }
  take(turn, from, *packet);
  look(turn);
  return std::move(turn.effects);
}

// Understands everything before anything is done.
void ShowControl::take(Turn& turn, const Peer& from, const Packet& packet) {
  std::vector<std::pair<std::chrono::microseconds, Order>> orders;
  std::chrono::microseconds furthest{0};
  std::size_t later = 0;
  for (const auto& [when, message] : packet.messages) {
    const auto ahead = ahead_of(when, turn.wall);
    furthest = std::max(furthest, ahead);
    later += ahead.count() > 0 ? 1 : 0;
    auto command = command_of(message, *snapshot_);
    const auto name = name_in(message.address);
    if (!command) {
      ++counters_.not_understood;
      tell(turn.effects, from,
           reply(name.empty() ? About{"", message.address.substr(0, longest_echo)}
                              : About{std::string{name}, ""},
                 not_understood, command.error()));
      continue;
    }
    orders.push_back({ahead, {from, about(name, *command), std::move(command).value()}});
  }
  if (const auto wrong = packet.messages.size() - orders.size(); wrong > 0) {
    if (!orders.empty())
      tell(
          turn.effects, from,
          reply(whole_packet, not_understood,
                "Nothing of the bundle was done: " + std::to_string(wrong) + " of its " +
                    std::to_string(packet.messages.size()) + " messages could not be understood."));
    return;
  }
  if (furthest > furthest_ahead) {
    ++counters_.too_far_ahead;
    tell(turn.effects, from,
         reply(whole_packet, rack::name_of(rack::Outcome::refused),
               "Its time tag is " + in_seconds(furthest) + " ahead; allowed: up to " +
                   in_seconds(furthest_ahead) + '.'));
    return;
  }
  if (scheduled_.size() + later > most_scheduled) {
    counters_.crowded_out += orders.size();
    tell(turn.effects, from,
         reply(whole_packet, rack::name_of(rack::Outcome::busy),
               std::to_string(scheduled_.size()) +
                   " messages wait for their time already; allowed: " +
                   std::to_string(most_scheduled) + '.'));
    return;
  }
  for (auto& [ahead, order] : orders) {
    if (ahead.count() <= 0) {
      carry_out(turn, order);
      continue;
    }
    tell(turn.effects, from, reply(order.about, scheduled, "In " + in_seconds(ahead) + '.'));
    scheduled_.emplace(turn.now + ahead, std::move(order));
  }
}

void ShowControl::carry_out(Turn& turn, const Order& order) {
  ++counters_.commands;
  const auto who = "osc " + order.from.text();
  const auto done = [&](std::string sentence) {
    tell(turn.effects, order.from,
         reply(order.about, rack::name_of(rack::Outcome::done), std::move(sentence)));
  };
  std::visit(
      Overloaded{
          [&](const AskPreview& what) { preview(turn, order, what.segment); },
          [&](const Go& what) {
            rack::SwitchRequested request;
            request.segment = what.segment;
            request.who = who;
            ask(turn, order, std::move(request));
          },
          [&](const Arm& what) {
            rack::ArmRequested request;
            request.cue = what.cue;
            request.who = who;
            ask(turn, order, std::move(request));
          },
          [&](const Disarm&) {
            ask(turn, order, rack::DisarmRequested{0, who});
          },
          [&](const Abort&) {
            drop_scheduled(turn.effects);
            ask(turn, order, rack::AbortRequested{0, who, {}});
          },
          [&](const SetLock& what) {
            ask(turn, order, rack::LockRequested{0, what.locked, who, {}});
          },
          [&](const Say& what) {
            ask(turn, order, rack::MessageReceived{0, what.text, who});
          },
          [&](const Subscribe& what) { subscribe(turn, order, what); },
          [&](const Unsubscribe& what) { unsubscribe(turn, order, what); },
          [&](const AskStatus&) {
            done("");
            ++counters_.sent;
            turn.effects.emplace_back(Transmission{order.from, write_bundle(state_of(*snapshot_))});
          },
          [&](const Ping&) { done(snapshot_->plan->name); },
      },
      order.command);
}

// An abort is never refused for being one too many.
void ShowControl::ask(Turn& turn, const Order& order, rack::Event request) {
  if (asked_.size() >= most_asked && !std::holds_alternative<Abort>(order.command)) {
    ++counters_.crowded_out;
    return tell(turn.effects, order.from,
                reply(order.about, rack::name_of(rack::Outcome::busy),
                      std::to_string(asked_.size()) + " requests have no answer yet."));
  }
  asked_.emplace(++last_ticket_, Waiting{order.from, order.about});
  turn.effects.emplace_back(Ask{last_ticket_, std::move(request)});
}

void ShowControl::preview(Turn& turn, const Order& order, const plan::SegmentName& segment) {
  if (previews_.size() >= most_previews) {
    ++counters_.crowded_out;
    return tell(turn.effects, order.from,
                reply(order.about, rack::name_of(rack::Outcome::busy),
                      std::to_string(previews_.size()) + " previews are being computed."));
  }
  // It may have waited for its time while the show was replaced.
  if (snapshot_->plan->find(segment) == nullptr)
    return tell(turn.effects, order.from,
                reply(order.about, rack::name_of(rack::Outcome::unknown_name),
                      "There is no such segment any more."));
  previews_.emplace(++last_ticket_, Waiting{order.from, order.about});
  turn.effects.emplace_back(ComputePreview{last_ticket_, snapshot_, segment});
}

void ShowControl::subscribe(Turn& turn, const Order& order, const Subscribe& what) {
  const auto peer = at_port(order.from, what.port);
  const bool taken = feedback_.subscribe(peer, turn.now);
  if (!taken) ++counters_.crowded_out;
  const auto outcome = rack::name_of(taken ? rack::Outcome::done : rack::Outcome::busy);
  tell(turn.effects, order.from,
       reply(order.about, outcome,
             taken ? peer.text() + " is told the state; to be renewed within " +
                         std::to_string(Feedback::subscription_lasts.count()) + " s."
                   : "There are " + std::to_string(Feedback::most_subscribers) +
                         " subscribers already."));
}

void ShowControl::unsubscribe(Turn& turn, const Order& order, const Unsubscribe& what) {
  const auto peer = at_port(order.from, what.port);
  const bool was = feedback_.unsubscribe(peer);
  tell(turn.effects, order.from,
       reply(order.about, rack::name_of(was ? rack::Outcome::done : rack::Outcome::refused),
             peer.text() + (was ? " is told no more." : " had not subscribed.")));
}

Effects ShowControl::answered(Ticket ticket, const rack::Answer& answer) {
  Effects effects;
  const auto found = asked_.find(ticket);
  if (found == asked_.end()) return effects;
  tell(effects, found->second.from, reply(found->second.about, answer));
  if (answer.outcome != rack::Outcome::accepted) asked_.erase(found);
  return effects;
}

Effects ShowControl::previewed(Ticket ticket, const rack::Preview& preview) {
  Effects effects;
  const auto found = previews_.find(ticket);
  if (found == previews_.end()) return effects;
  tell(effects, found->second.from, reply(found->second.about, preview));
  previews_.erase(found);
  return effects;
}

Effects ShowControl::published(rack::SnapshotPtr snapshot, Steady now) {
  snapshot_ = std::move(snapshot);
  feedback_.changed();
  return tick(now);
}

Effects ShowControl::aborted() {
  Effects effects;
  drop_scheduled(effects);
  return effects;
}

void ShowControl::drop_scheduled(Effects& effects) {
  for (const auto& [due, order] : std::exchange(scheduled_, {}))
    tell(effects, order.from,
         reply(order.about, rack::name_of(rack::Outcome::refused), "Aborted before its time."));
}

Effects ShowControl::tick(Steady now) {
  Turn turn{now};
  while (!scheduled_.empty() && scheduled_.begin()->first <= now) {
    const auto next = scheduled_.extract(scheduled_.begin());
    carry_out(turn, next.mapped());
  }
  look(turn);
  return std::move(turn.effects);
}

void ShowControl::look(Turn& turn) {
  for (auto& transmission : feedback_.look(*snapshot_, turn.now)) {
    ++counters_.sent;
    turn.effects.emplace_back(std::move(transmission));
  }
}

std::optional<Steady> ShowControl::deadline() const {
  auto first = feedback_.deadline();
  if (!scheduled_.empty())
    first = std::min(first.value_or(Steady::max()), scheduled_.begin()->first);
  return first;
}

void ShowControl::tell(Effects& effects, const Peer& to, const Message& message) {
  ++counters_.sent;
  effects.emplace_back(Transmission{to, write_message(message)});
}

void ShowControl::dropped(Turn& turn, std::string what) {
  ++unnoted_;
  if (noted_at_ && turn.now - *noted_at_ < note_pause) return;
  auto line = "show control: dropped " + std::move(what);
  if (unnoted_ > 1) line += " (and " + std::to_string(unnoted_ - 1) + " more since the last line)";
  noted_at_ = turn.now;
  unnoted_ = 0;
  turn.effects.emplace_back(Note{std::move(line)});
}

}  // namespace catwalk::control
