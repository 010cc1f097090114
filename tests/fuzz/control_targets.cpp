// SPDX-License-Identifier: Apache-2.0
// Show control. "osc": the codec. "show_control": datagrams into the machine behind the socket,
// with a core that answers some requests, others not.
#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <set>
#include <string>
#include <variant>

#include "daemon/base/overloaded.hpp"
#include "daemon/control/osc_codec.hpp"
#include "daemon/control/show_control.hpp"
#include "daemon/rack/core/core.hpp"
#include "tests/fuzz/byte_targets.hpp"
#include "tests/support/rack_fixture.hpp"

namespace catwalk::fuzz {
namespace {

using namespace control;
using namespace std::chrono_literals;
using protocol::Bytes;
using protocol::ByteView;

void promise(bool kept, const char* what) {
  if (kept) return;
  std::fprintf(stderr, "broken: %s\n", what);
  std::abort();
}

// ---- osc ---------------------------------------------------------------------------------------

void run_osc(ByteView input) {
  const auto packet = read_packet(input);
  if (!packet) return promise(!packet.error().why.empty(), "what is malformed says why");
  promise(input.size() <= longest_packet && input.size() % 4 == 0, "only whole packets are taken");
  promise(packet->messages.size() + packet->unread <= most_messages, "messages are bounded");
  for (const auto& [when, message] : packet->messages) {
    promise(message.address.starts_with('/'), "an address begins with a slash");
    // Bytes are compared, since a float may be no number.
    const auto written = write_message(message);
    promise(written.size() <= input.size() + 4, "a message grows by empty type tags at most");
    const auto again = read_packet(written);
    promise(again && again->messages.size() == 1, "what was written is read");
    promise(write_message(again->messages[0].message) == written,
            "what was read is written as the same bytes");
  }
}

Bytes tagged(const std::vector<Message>& messages, std::uint64_t tag) {
  auto bytes = write_bundle(messages);
  Bytes big;
  protocol::put(big, tag, 8);
  std::copy(big.begin(), big.end(), bytes.begin() + 8);
  return bytes;
}

// `inner` as one more element of the bundle.
Bytes with(Bytes bundle, const Bytes& inner) {
  protocol::put(bundle, inner.size(), 4);
  bundle.insert(bundle.end(), inner.begin(), inner.end());
  return bundle;
}

std::vector<Bytes> osc_seeds() {
  std::vector<Bytes> seeds;
  const std::string finale = "finale";
  for (const auto* name : {"next", "arm", "disarm", "abort", "lock", "unlock", "subscribe",
                           "unsubscribe", "status", "ping"})
    seeds.push_back(write_message({"/catwalk/" + std::string{name}, {}}));
  for (const auto* name : {"preview", "go", "message", "arm"})
    seeds.push_back(write_message({"/catwalk/" + std::string{name}, {finale}}));
  seeds.push_back(write_message({"/catwalk/subscribe", {std::int32_t{8000}}}));
  seeds.push_back(write_message({"/all",
                                 {std::int32_t{1}, 1.5F, finale, std::int64_t{2}, 2.5, true, false,
                                  'c', TimeTag{77}, Nil{}, Infinitum{}}}));
  const auto two = tagged({{"/catwalk/lock", {}}, {"/catwalk/go", {finale}}}, 1);
  seeds.push_back(two);
  seeds.push_back(
      with(with(tagged({{"/catwalk/abort", {}}}, 1), two), write_message({"/catwalk/ping", {}})));
  return seeds;
}

// ---- show_control ------------------------------------------------------------------------------

// An input is a sequence of datagrams, each behind three bytes: two with its size, one with what
// comes with it.
enum : std::uint8_t {
  ahead_mask = 0x03,  // its time tag, if it has one: as it is, has passed, is 3 s or 9 s ahead
  from_other = 0x04,
  from_stranger = 0x08,
  time_passes = 0x10,      // 4 s before it
  core_is_silent = 0x20,   // requests are not answered …
  core_catches_up = 0x40,  // … until now
  other_door_aborts = 0x80,
};

const Peer desk{"10.0.0.1", 53'000};
const Peer other{"10.0.0.2", 7'000};
const Peer stranger{"10.0.0.3", 53'000};

plan::RackPlan show() {
  auto rack = test::small_rack();
  rack.running_order.cues = {{{"opening"}, {"speeches"}, plan::ByHand{}},
                             {{"finale"}, {"finale"}, plan::ByMessage{"finale"}}};
  return rack;
}

rack::SnapshotPtr a_snapshot() {
  static const auto snapshot =
      rack::Core{std::make_shared<const plan::RackPlan>(show()), {.epoch = {1}}, {}}.snapshot();
  return snapshot;
}

class Session {
 public:
  void take(ByteView datagram, std::uint8_t mode) {
    if ((mode & time_passes) != 0) pass(4s);
    if ((mode & core_catches_up) != 0) answer_all();
    if ((mode & other_door_aborts) != 0) carry_out(control_.aborted());
    silent_ = (mode & core_is_silent) != 0;
    const auto before = control_.counters();
    const auto& from = (mode & from_stranger) != 0 ? stranger
                       : (mode & from_other) != 0  ? other
                                                   : desk;
    const auto effects = control_.received(from, datagram, {wall_for(datagram, mode), now_});
    const auto& after = control_.counters();
    promise(after.received == before.received + 1, "every datagram is counted");
    const bool dropped = after.stranger + after.malformed > before.stranger + before.malformed;
    promise((&from == &stranger) == (after.stranger > before.stranger), "strangers are counted");
    if (dropped)
      promise(effects.size() <= 1 && after.sent == before.sent && after.commands == before.commands,
              "what is dropped does nothing, and is not replied to");
    promise(after.commands <= before.commands + most_messages,
            "no more is carried out than was asked for");
    carry_out(effects);
  }

  void end() {
    answer_all();
    pass(ShowControl::furthest_ahead + 1s);
    answer_all();
    promise(asked_.empty() && previews_.empty(), "everything that was asked is answered");
    pass(2 * Feedback::subscription_lasts);
    promise(!control_.deadline(), "nothing waits when all have gone");
  }

 private:
  // So that the time tag of a bundle lies where the mode says.
  static rack::TimePoint wall_for(ByteView datagram, std::uint8_t mode) {
    constexpr std::chrono::microseconds ahead[] = {0us, -1s, 3s, 9s};
    const rack::TimePoint reference{std::chrono::sys_days{std::chrono::year{2026} / 8 / 14}};
    if ((mode & ahead_mask) == 0 || datagram.size() < 16) return reference;
    const TimeTag tag{protocol::get(datagram, 8, 8)};
    return reference + ahead_of(tag, reference) - ahead[mode & ahead_mask];
  }

  void pass(std::chrono::microseconds time) {
    const auto until = now_ + time;
    while (true) {
      const auto due = control_.deadline();
      now_ = due && *due < until ? std::max(*due, now_) : until;
      carry_out(control_.tick(now_));
      promise(control_.deadline().value_or(Steady::max()) > now_, "a tick leaves nothing undone");
      if (now_ == until) return;
    }
  }

  void carry_out(const Effects& effects) {
    for (const auto& effect : effects)
      std::visit(Overloaded{
                     [](const Transmission& what) {
                       promise(what.to.host != stranger.host, "strangers are told nothing");
                       promise(static_cast<bool>(read_packet(what.bytes)),
                               "what is sent is an OSC packet");
                     },
                     [this](const Ask& what) {
                       promise(asked_.insert(what.ticket).second, "tickets are used once");
                       promise(asked_.size() <= ShowControl::most_asked + most_messages,
                               "requests are bounded");
                       std::visit(
                           [](const auto& event) {
                             if constexpr (requires { event.who; })
                               promise(event.who.starts_with("osc 10.0.0."), "who asks is known");
                           },
                           what.request);
                       if (!silent_ || std::holds_alternative<rack::AbortRequested>(what.request))
                         answer(what.ticket);
                     },
                     [this](const ComputePreview& what) {
                       promise(previews_.insert(what.ticket).second, "tickets are used once");
                       promise(previews_.size() <= ShowControl::most_previews,
                               "previews are bounded");
                       promise(what.snapshot->plan->find(what.segment) != nullptr,
                               "a segment that is previewed is in the show");
                       if (!silent_) preview(what.ticket);
                     },
                     [](const Note& what) { promise(!what.line.empty(), "a line says something"); },
                 },
                 effect);
  }

  void answer(Ticket ticket) {
    static const rack::Answer accepted{rack::Outcome::accepted, {}, {}, 0, nullptr};
    static const rack::Answer refused{rack::Outcome::refused, "No.", {}, 0, nullptr};
    if (ticket % 2 == 0) carry_out(control_.answered(ticket, accepted));
    carry_out(control_.answered(ticket, refused));
    asked_.erase(ticket);
  }
  void preview(Ticket ticket) {
    carry_out(control_.previewed(ticket, {}));
    previews_.erase(ticket);
  }
  void answer_all() {
    silent_ = false;
    while (!asked_.empty()) answer(*asked_.begin());
    while (!previews_.empty()) preview(*previews_.begin());
  }

  ShowControl control_{{{{desk.host, {}}, {other.host, other.port}}, {}}, a_snapshot()};
  Steady now_{1'000h};
  bool silent_ = false;
  std::set<Ticket> asked_;
  std::set<Ticket> previews_;
};

void run_show_control(ByteView input) {
  constexpr std::size_t head = 3;
  Session session;
  while (input.size() >= head) {
    const auto size = std::min<std::size_t>(protocol::get(input, 0, 2), input.size() - head);
    session.take(input.subspan(head, size), input[2]);
    input = input.subspan(head + size);
  }
  session.end();
}

std::vector<Bytes> show_control_seeds() {
  std::vector<Bytes> seeds;
  Bytes all;
  std::uint8_t mode = 0;
  for (const auto& datagram : osc_seeds()) {
    Bytes one;
    protocol::put(one, datagram.size(), 2);
    one.push_back(mode);
    one.insert(one.end(), datagram.begin(), datagram.end());
    mode = static_cast<std::uint8_t>(mode + 0x1B);
    all.insert(all.end(), one.begin(), one.end());
    seeds.push_back(std::move(one));
  }
  seeds.push_back(std::move(all));
  return seeds;
}

}  // namespace

const std::vector<Target>& targets() {
  static const std::vector<Target> all = {{"osc", run_osc, osc_seeds},
                                          {"show_control", run_show_control, show_control_seeds}};
  return all;
}

}  // namespace catwalk::fuzz
