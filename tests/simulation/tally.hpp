// SPDX-License-Identifier: Apache-2.0
#pragma once
// What happened in a run, in figures: to see that the random walk goes where it
// should.

#include <array>
#include <cstdint>
#include <string>

#include "daemon/rack/core/effect.hpp"

namespace catwalk::simulation {

struct Tally {
  std::uint64_t events = 0;
  std::uint64_t actions = 0;
  std::uint64_t crashes = 0;
  std::uint64_t crashes_in_a_turn = 0;  // with effects of the turn left undone
  std::uint64_t records_lost = 0;       // asked for, and not durable at a crash
  std::uint64_t interrupted = 0;        // changes that a run began with
  std::uint64_t node_changes = 0;
  std::uint64_t ways = 0;                  // that were planned
  std::uint64_t long_ways = 0;             // with more than one step
  std::uint64_t watched_ways = 0;          // that nodes were watched on, from their first step
  std::uint64_t switches_begun_again = 0;  // that a run began with
  std::uint64_t set_aside = 0;             // journals that a run found broken
  std::array<std::uint64_t, 32> outcomes{};

  void count(rack::Outcome outcome) { ++outcomes.at(static_cast<std::size_t>(outcome)); }
  std::uint64_t of(rack::Outcome outcome) const {
    return outcomes.at(static_cast<std::size_t>(outcome));
  }
  void add(const Tally& other) {
    events += other.events;
    actions += other.actions;
    crashes += other.crashes;
    crashes_in_a_turn += other.crashes_in_a_turn;
    records_lost += other.records_lost;
    interrupted += other.interrupted;
    node_changes += other.node_changes;
    ways += other.ways;
    long_ways += other.long_ways;
    watched_ways += other.watched_ways;
    switches_begun_again += other.switches_begun_again;
    set_aside += other.set_aside;
    for (std::size_t i = 0; i < outcomes.size(); ++i) outcomes[i] += other.outcomes[i];
  }
};

}  // namespace catwalk::simulation
