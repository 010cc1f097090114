// SPDX-License-Identifier: Apache-2.0
#pragma once
// Show control without a socket, in front of a real core and its nodes (hall.hpp). The desk sends,
// and looks at what it is told.

#include <chrono>
#include <map>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

#include "daemon/base/overloaded.hpp"
#include "daemon/control/osc_codec.hpp"
#include "daemon/control/show_control.hpp"
#include "tests/support/hall.hpp"

namespace catwalk::test {

// speeches by hand, finale by hand, home (speeches again) when a message says "curtain".
inline plan::RackPlan called_show() {
  auto rack = moving_rack(0);
  rack.line_timings[{"bus"}] = {115'200, std::chrono::microseconds{500}, false};
  rack.running_order.cues = {{{"opening"}, {"speeches"}, plan::ByHand{}},
                             {{"big end"}, {"finale"}, plan::ByHand{}},
                             {{"home"}, {"speeches"}, plan::ByMessage{"curtain"}}};
  return rack;
}

class Booth {
 public:
  explicit Booth(const plan::RackPlan& plan = called_show(),
                 const control::Setup& setup = {{{"10.0.0.1", {}}, {"10.0.0.2", 7000}}, {}})
      : hall{plan, {.epoch = {1}}, all_at_home()}, control{setup, hall.snapshot()} {
    hall.meet();
    publish();
  }

  // What somebody was sent: one message, or those of a bundle.
  struct Told {
    control::Peer to;
    std::vector<control::Message> messages;
  };

  // Everything that this leads to happens, except what `hold` holds back.
  void send(const protocol::Bytes& bytes, const control::Peer& from) {
    carry_out(control.received(from, bytes, {hall.now, steady}));
    settle();
  }
  void send(const control::Message& message) { send(control::write_message(message), desk); }
  void send(const control::Message& message, const control::Peer& from) {
    send(control::write_message(message), from);
  }
  void pass(std::chrono::microseconds time) {
    const auto until = steady + time;
    while (true) {
      const auto due = control.deadline();
      const auto at = due && *due < until ? std::max(*due, steady) : until;
      hall.now += std::chrono::duration_cast<std::chrono::microseconds>(at - steady);
      steady = at;
      carry_out(control.tick(steady));
      settle();
      if (at == until) return;
    }
  }
  // What the core and the nodes still have to do.
  void settle() {
    if (!hold) hall.run();
    answer();
    publish();
  }
  void publish() {
    if (hall.snapshot() == shown_) return;
    shown_ = hall.snapshot();
    carry_out(control.published(shown_, steady));
  }
  void compute_previews() {
    for (const auto& what : std::exchange(previews, {}))
      carry_out(control.previewed(what.ticket, rack::preview(*what.snapshot, what.segment)));
  }

  // The messages that the desk got since it was last asked, states aside.
  std::vector<control::Message> replies() { return replies(desk); }
  std::vector<control::Message> replies(const control::Peer& peer) {
    std::vector<control::Message> found;
    std::erase_if(told, [&](const Told& one) {
      if (one.to != peer || one.messages[0].address.starts_with("/catwalk/state")) return false;
      found.insert(found.end(), one.messages.begin(), one.messages.end());
      return true;
    });
    return found;
  }
  // The states that a peer was told since it was last asked.
  std::vector<Told> states(const control::Peer& peer) {
    std::vector<Told> found;
    std::erase_if(told, [&](const Told& one) {
      if (one.to != peer || !one.messages[0].address.starts_with("/catwalk/state")) return false;
      found.push_back(one);
      return true;
    });
    return found;
  }
  static control::Message in(const Told& state, std::string_view name) {
    for (const auto& message : state.messages)
      if (message.address == "/catwalk/state/" + std::string{name}) return message;
    return {};
  }
  // "done", "refused" …; its second argument.
  static std::string outcome(const control::Message& reply) {
    return std::get<std::string>(reply.arguments.at(1));
  }
  static std::string sentence(const control::Message& reply) {
    return std::get<std::string>(reply.arguments.at(2));
  }
  std::string segment() const { return hall.snapshot()->segment.text; }

  Hall hall;
  control::ShowControl control;
  control::Peer desk{"10.0.0.1", 53'000};
  control::Steady steady{std::chrono::hours{1000}};
  bool hold = false;
  bool hold_previews = false;
  std::vector<Told> told;
  std::vector<std::string> notes;
  std::vector<control::ComputePreview> previews;

 private:
  void carry_out(control::Effects effects) {
    for (auto& effect : effects)
      std::visit(Overloaded{
                     [this](const control::Transmission& what) {
                       const auto packet = control::read_packet(what.bytes);
                       Told one{what.to, {}};
                       for (const auto& [when, message] : packet.value().messages)
                         one.messages.push_back(message);
                       told.push_back(std::move(one));
                     },
                     [this](control::Ask& what) {
                       const auto id = ++hall.last_request;
                       tickets_[id] = what.ticket;
                       std::visit(
                           [id](auto& event) {
                             if constexpr (requires { event.request; }) event.request = id;
                           },
                           what.request);
                       hall.give(what.request);
                       answer();
                     },
                     [this](const control::ComputePreview& what) { previews.push_back(what); },
                     [this](const control::Note& what) { notes.push_back(what.line); },
                 },
                 effect);
    if (!hold_previews && !previews.empty()) compute_previews();
  }

  void answer() {
    for (const auto& [id, answers] : hall.answers)
      for (auto& passed = passed_[id]; passed < answers.size();)
        carry_out(control.answered(tickets_.at(id), answers[passed++]));
  }

  rack::SnapshotPtr shown_;
  std::map<rack::RequestId, control::Ticket> tickets_;
  std::map<rack::RequestId, std::size_t> passed_;
};

inline const control::Message go_finale{"/catwalk/go", {std::string{"finale"}}};

}  // namespace catwalk::test
