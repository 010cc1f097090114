// SPDX-License-Identifier: Apache-2.0
#pragma once
// A wire with faults: loss, delay, duplication, corruption and reordering, the same in every run
// with the same seed.

#include <chrono>
#include <cstdint>
#include <optional>
#include <random>
#include <vector>

#include "protocol/bytes.hpp"

namespace catwalk::drivers {

struct FaultRates {
  // Chances, 0 to 1, for each frame.
  double loss = 0;
  double corrupt = 0;
  double duplicate = 0;
  // Each frame takes a time between the two.
  std::chrono::microseconds delay_min{0};
  std::chrono::microseconds delay_max{0};
  // Frames may overtake each other, as datagrams do; a serial line keeps them in order.
  bool reorder = false;

  friend bool operator==(const FaultRates&, const FaultRates&) = default;
};

// The same numbers on every platform: standard engine, own distributions.
class Dice {
 public:
  explicit Dice(std::uint64_t seed) : engine_{seed} {}

  bool chance(double probability) { return unit() < probability; }
  double unit() { return static_cast<double>(engine_() >> 11) * 0x1p-53; }
  // 0 to below - 1. Precondition: below > 0.
  std::uint64_t below(std::uint64_t below) { return engine_() % below; }

 private:
  std::mt19937_64 engine_;
};

// One direction of a wire.
class FaultyWire {
 public:
  using Time = std::chrono::steady_clock::time_point;

  struct Parcel {
    protocol::Bytes bytes;
    std::uint64_t tag = 0;  // the caller's own, carried along
  };

  FaultyWire(FaultRates rates, std::uint64_t seed) : rates_{rates}, dice_{seed} {}

  void set_rates(const FaultRates& rates) { rates_ = rates; }
  // The dice are new from now on, whatever they have shown until now.
  void set_luck(std::uint64_t seed) { dice_ = Dice{seed}; }
  const FaultRates& rates() const { return rates_; }

  // `on_wire`: how long the bytes take to pass, before any other delay.
  void send(protocol::Bytes bytes, Time now, std::chrono::microseconds on_wire = {},
            std::uint64_t tag = 0);

  // What has arrived by now, in order of arrival.
  std::vector<Parcel> arrived(Time now);
  std::optional<Time> next_arrival() const;
  void clear() { under_way_.clear(); }

 private:
  struct UnderWay {
    Time at;
    std::uint64_t number;  // keeps frames of the same moment in order
    Parcel parcel;
  };
  void post(protocol::Bytes bytes, Time now, std::chrono::microseconds on_wire, std::uint64_t tag);
  protocol::Bytes corrupted(protocol::Bytes bytes);

  FaultRates rates_;
  Dice dice_;
  std::vector<UnderWay> under_way_;
  Time last_;
  std::uint64_t number_ = 0;
};

}  // namespace catwalk::drivers
