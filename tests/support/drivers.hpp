// SPDX-License-Identifier: Apache-2.0
#pragma once
// A simulated line in virtual time, with a log of all it said.

#include <algorithm>
#include <chrono>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "drivers/bus/simulated_bus.hpp"
#include "protocol/codec.hpp"
#include "protocol/frame.hpp"

namespace catwalk::test {

inline protocol::NodeUid uid_of(std::size_t index) {
  return protocol::NodeUid{0x7a10, static_cast<std::uint32_t>(0x100 + index)};
}

// Nodes of one type at addresses 1, 2, 3 …
inline drivers::SimulatedLineConfig line_of(std::size_t count) {
  drivers::SimulatedLineConfig config;
  for (std::size_t i = 0; i < count; ++i) {
    config.nodes.push_back({uid_of(i), protocol::Address{static_cast<std::uint8_t>(i + 1)},
                            "tern-inline", "quay " + std::to_string(i)});
  }
  return config;
}

// Of an amplifier. Precondition: it is one.
inline const protocol::Reading& amplifier_in(const drivers::NodeRead& read) {
  return std::get<protocol::Reading>(read.reading);
}

using Log = std::vector<std::pair<drivers::TimePoint, drivers::Notice>>;

// How often a command ended; once is right.
inline std::size_t ends_in(const Log& log, drivers::CommandId id) {
  std::size_t n = 0;
  for (const auto& [at, notice] : log) {
    const auto* answered = std::get_if<drivers::CommandAnswered>(&notice);
    const auto* failed = std::get_if<drivers::CommandFailed>(&notice);
    if ((answered != nullptr && answered->id == id) || (failed != nullptr && failed->id == id)) ++n;
  }
  return n;
}
inline std::optional<protocol::Answer> answer_in(const Log& log, drivers::CommandId id) {
  for (const auto& [at, notice] : log) {
    const auto* answered = std::get_if<drivers::CommandAnswered>(&notice);
    if (answered != nullptr && answered->id == id) return answered->reply;
  }
  return std::nullopt;
}

// What a search told: the last word on each uid.
inline std::map<protocol::NodeUid, drivers::NodeDiscovered> found_in(const Log& log) {
  std::map<protocol::NodeUid, drivers::NodeDiscovered> found;
  for (const auto& [at, notice] : log) {
    if (const auto* one = std::get_if<drivers::NodeDiscovered>(&notice)) found[one->node] = *one;
  }
  return found;
}

// Whoever keeps a log, and what is asked of it.
struct Heard {
  Log log;

  template <class T>
  std::size_t count() const {
    std::size_t n = 0;
    for (const auto& [at, notice] : log) n += std::holds_alternative<T>(notice) ? 1 : 0;
    return n;
  }
  // The first of its kind.
  template <class T>
  const T* find() const {
    for (const auto& [at, notice] : log) {
      if (const auto* found = std::get_if<T>(&notice)) return found;
    }
    return nullptr;
  }
  std::size_t ends(drivers::CommandId id) const { return ends_in(log, id); }
  std::optional<protocol::Answer> answer_to(drivers::CommandId id) const {
    return answer_in(log, id);
  }
};

// Runs in virtual time, from event to event.
class VirtualBench : public Heard {
 public:
  using TimePoint = drivers::TimePoint;
  using Duration = TimePoint::duration;

  TimePoint now() const { return now_; }
  TimePoint began() const { return began_; }

  void run_for(Duration time) {
    run_until([] { return false; }, time);
  }

  // True as soon as it holds; false if it never did within this time.
  template <class Predicate>
  bool run_until(Predicate holds, Duration within) {
    const TimePoint end = now_ + within;
    collect();
    while (!holds()) {
      const auto next = next_event();
      if (!next || *next > end) {
        now_ = end;
        step();
        return holds();
      }
      now_ = std::max(now_, *next);
      step();
    }
    return true;
  }

 protected:
  VirtualBench() = default;
  ~VirtualBench() = default;

  virtual std::optional<TimePoint> next_event() const = 0;
  // Everything that is due now.
  virtual void step() = 0;
  // What there is to send and to say.
  virtual void collect() = 0;

 private:
  static constexpr TimePoint began_{std::chrono::hours{1}};

 protected:
  TimePoint now_ = began_;
};

class Bench : public VirtualBench {
 public:
  explicit Bench(drivers::SimulatedLineConfig config) : bus{std::move(config), now_} {
    bus.start(now_);
    collect();
  }

  void submit(drivers::CommandId id, protocol::NodeUid node, protocol::Ask request) {
    bus.submit({id, node, std::move(request)}, now_);
    collect();
  }

  drivers::SimulatedBus bus;

 private:
  std::optional<TimePoint> next_event() const override { return bus.deadline(); }
  void step() override {
    bus.advance(now_);
    collect();
  }
  void collect() override {
    for (auto& notice : bus.take().notices) log.emplace_back(now_, std::move(notice));
  }
};

// The node's present settings with another gain, ready to be staged.
inline protocol::Stage stage_of(Bench& bench, std::size_t index, std::uint32_t epoch,
                                std::uint32_t ticket, std::int16_t gain_cdb) {
  protocol::Settings settings = bench.bus.node(uid_of(index))->settings();
  settings.gain_cdb = gain_cdb;
  return protocol::Stage{{epoch}, {ticket}, settings};
}

// As if somebody had set it on a bench before: by the node's own protocol.
inline void give_address(drivers::EmulatedNode& node, protocol::Address address) {
  const auto packet =
      protocol::encode(protocol::Packet{{protocol::Address::broadcast(), 0xEE},
                                        protocol::Request{protocol::Assign{node.uid(), address}}});
  const auto answer =
      node.answer(packet, {drivers::Arrival::Way::broadcast, 0xBEEF, true}, drivers::Moment{});
  static_cast<void>(answer);
}

}  // namespace catwalk::test
