// SPDX-License-Identifier: Apache-2.0
#include "config/line_timing.hpp"

namespace catwalk::config {
namespace {

using std::chrono::microseconds;

// What an 8-bit node takes to read a request and to turn its driver round (our estimate; the
// simulated nodes take as long). The protocol allows 2 ms.
constexpr microseconds thinking_time{300};

// A local network: a switch or two, and a node that thinks (our estimate).
constexpr microseconds network_round_trip{1'000};

// The speed of simulated lines.
constexpr std::uint32_t simulated_baud = 115'200;

// No node answers earlier (PROTOCOL.md, section 2). 10 bits a character.
microseconds two_characters(std::uint32_t baud) { return microseconds{20'000'000 / baud}; }

struct Timing {
  plan::LineTiming operator()(const SerialSetup& line) const {
    return {.baud = line.baud, .turn_round = two_characters(line.baud) + thinking_time};
  }
  plan::LineTiming operator()(const UdpSetup&) const {
    return {.baud = 0, .turn_round = network_round_trip, .all_at_once = true};
  }
  // Delays are of each direction, and on average in the middle.
  plan::LineTiming operator()(const SimulatedSetup& line) const {
    return {.baud = simulated_baud,
            .turn_round = thinking_time + line.delay_least + line.delay_most};
  }
};

}  // namespace

plan::LineTiming timing_of(const LineSetup& line) { return std::visit(Timing{}, line); }

}  // namespace catwalk::config
