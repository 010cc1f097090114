// SPDX-License-Identifier: Apache-2.0
#pragma once
// What lines of both kinds do with their engine, which is there while the daemon is: they hand it
// what comes, and pass on what it wants sent. What the wires and the nodes do is each kind's own.

#include <initializer_list>
#include <optional>
#include <utility>

#include "drivers/line/engine.hpp"
#include "tests/simulation/virtual_line.hpp"

namespace catwalk::simulation {

template <class Engine>
class VirtualWire : public VirtualLine {
 public:
  VirtualWire(LineSetup setup, std::vector<NodeHere> nodes) : VirtualLine{std::move(setup)} {
    nodes_ = std::move(nodes);
  }

  void submit(drivers::Command command, Moment now) override {
    engine_->submit(std::move(command), now);
    pass_on(now);
  }
  void discover(Moment now) override {
    engine_->discover(now);
    pass_on(now);
  }
  void speak_as(protocol::Epoch epoch, bool takes_over, Moment now) override {
    engine_->speak_as(epoch, takes_over, now);
    pass_on(now);
  }
  void fall_quiet(Moment now) override {
    engine_->fall_quiet(now);
    pass_on(now);
  }
  drivers::LineCounters counters() const override {
    return engine_ ? engine_->counters() : drivers::LineCounters{};
  }
  std::optional<Moment> next_event() const override {
    return first_of({engine_ ? engine_->deadline() : std::nullopt, to_nodes_.next_arrival(),
                     from_nodes_.next_arrival()});
  }
  void step(Moment now) override {
    step_nodes(now);
    for (const auto& parcel : from_nodes_.arrived(now))
      if (engine_) hear(parcel, now);
    if (!engine_) return;
    engine_->tick(now);
    pass_on(now);
  }

 protected:
  static std::optional<Moment> first_of(std::initializer_list<std::optional<Moment>> moments) {
    std::optional<Moment> first;
    for (const auto& at : moments)
      if (at && (!first || *at < *first)) first = at;
    return first;
  }

  // What has arrived at the nodes, and what they say of themselves.
  virtual void step_nodes(Moment now) = 0;
  // At the engine.
  virtual void hear(const drivers::FaultyWire::Parcel& parcel, Moment now) = 0;
  virtual void send(drivers::Transmission transmission, Moment now) = 0;

  void drop_engine() override { engine_.reset(); }
  void engine_up(Moment now) override {
    engine_->up(now);
    pass_on(now);
  }
  void engine_down(Moment now, const std::string& reason) override {
    engine_->down(now, reason);
    pass_on(now);
  }

  std::optional<Engine> engine_;

 private:
  void pass_on(Moment now) {
    auto out = engine_->take();
    for (auto& transmission : out.send)
      if (plugged_) send(std::move(transmission), now);
    take_notices(std::move(out.notices));
  }
};

}  // namespace catwalk::simulation
