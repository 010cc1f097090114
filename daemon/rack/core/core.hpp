// SPDX-License-Identifier: Apache-2.0
#pragma once
// The core: one owner of truth, one door. Events go in, effects come out; it does no I/O, reads no
// clock, starts no thread. What goes in is all that decides what comes out, so any run can be
// replayed, and a test needs no mocks.
//
// Promises, held by the property tests:
//  - every request is answered once (a change that is accepted: once `accepted`, then its fate);
//  - every change that was accepted ends in settled, failed or unreachable once its commands and
//    records have ended;
//  - nothing is sent to a node before the intent is durable, and nothing that the verdict refused;
//  - `settled` is only ever said after the node read back exactly the wanted settings.

#include <chrono>
#include <memory>
#include <optional>
#include <vector>

#include "daemon/rack/core/effect.hpp"
#include "daemon/rack/core/event.hpp"
#include "daemon/rack/values/time.hpp"

namespace catwalk::rack {

struct State;

// Lines that ask whom their nodes obey, and how long they may take for it. One that is not there by
// then asks when it comes up.
struct AskFirst {
  std::vector<plan::LineName> lines = {};
  std::chrono::milliseconds longest{3'000};
};

class Core {
 public:
  // Precondition: the plan has at least one segment. Nothing is sent until readings come in, and
  // nothing that moves a node before the lines that ask first have asked (watching.cpp).
  Core(std::shared_ptr<const plan::RackPlan> plan, Restored restored, TimePoint now,
       AskFirst ask_first = {});
  Core(Core&&) noexcept;
  Core& operator=(Core&&) noexcept;
  ~Core();

  // To be carried out in this order: what nodes wait for, a new snapshot, answers, records.
  std::vector<Effect> on(const Event& event, TimePoint now);
  SnapshotPtr snapshot() const;
  // When to come with a TimePassed, if nothing else happens before; in the past: at once. Changes
  // with every event.
  std::optional<TimePoint> deadline() const;

 private:
  std::unique_ptr<State> state_;
};

}  // namespace catwalk::rack
