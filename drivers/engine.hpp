// SPDX-License-Identifier: Apache-2.0
#pragma once
// What the two engines share. An engine is a line without its device: no socket, no clock, no
// thread. The caller hands it bytes and the time, sends what it wants sent, and wakes it at its
// deadline. The same inputs always give the same outputs.

#include <array>
#include <chrono>
#include <cstdint>
#include <deque>
#include <vector>

#include "drivers/line.hpp"
#include "protocol/bytes.hpp"
#include "protocol/message.hpp"

namespace catwalk::drivers {

using Micros = std::chrono::microseconds;

// As a node says how long to wait.
constexpr Micros tens_of_ms(std::uint8_t count) { return Micros{10'000} * count; }

// Where a datagram goes or comes from. IPv4 addresses as ::ffff:a.b.c.d.
struct Endpoint {
  std::array<std::uint8_t, 16> ip{};
  std::uint16_t port = 0;
  friend auto operator<=>(const Endpoint&, const Endpoint&) = default;
};

// What an engine wants done; taken with take(), which leaves it empty.
struct Transmission {
  protocol::Bytes bytes;
  Endpoint to;  // datagrams only
};
struct Output {
  std::vector<Transmission> send;
  std::vector<Notice> notices;
};

// How long an answer takes over the time its bytes need: smoothed, with its variation, after
// RFC 6298, section 2. Until something was measured, the longest.
class LatencyEstimate {
 public:
  LatencyEstimate(Micros shortest, Micros longest) : shortest_{shortest}, longest_{longest} {}

  void measured(Micros latency);
  // What to wait before an answer counts as missing. Within shortest and longest.
  Micros patience() const;

 private:
  Micros shortest_;
  Micros longest_;
  Micros mean_{0};
  Micros variation_{0};
  bool any_ = false;
};

// Pauses between attempts at something that fails: the first, then twice that, up to the last.
//   1, 2, 4, 8, 8, 8 … s          and after success again from the first
class Backoff {
 public:
  Backoff(Micros first, Micros last) : first_{first}, last_{last}, next_{first} {}

  Micros next();
  void succeeded() { next_ = first_; }

 private:
  Micros first_;
  Micros last_;
  Micros next_;
};

// Is this a reply that may come to this request?
bool answers(const protocol::Reply& reply, const protocol::Request& request);

}  // namespace catwalk::drivers
