// SPDX-License-Identifier: Apache-2.0
#pragma once
// What has come through the door since the start, and what has not.

#include <cstdint>
#include <string>
#include <utility>
#include <vector>

namespace catwalk::control {

struct Counters {
  std::uint64_t received = 0;        // datagrams, all of them
  std::uint64_t stranger = 0;        // of these: from nobody that is configured
  std::uint64_t malformed = 0;       // of these: no OSC packets
  std::uint64_t too_far_ahead = 0;   // of these: for later than we wait
  std::uint64_t unread = 0;          // messages with arguments of a type that we do not read
  std::uint64_t not_understood = 0;  // messages with an unknown address or wrong arguments
  std::uint64_t commands = 0;        // messages that were carried out, or handed to the core
  std::uint64_t crowded_out = 0;     // messages refused since too many wait already
  std::uint64_t sent = 0;            // datagrams: replies and states
  std::uint64_t unsent = 0;          // of these: the system did not take
  friend bool operator==(const Counters&, const Counters&) = default;

  // By name, as above.
  std::vector<std::pair<std::string, std::uint64_t>> figures() const {
    return {{"received", received},   {"stranger", stranger},
            {"malformed", malformed}, {"too_far_ahead", too_far_ahead},
            {"unread", unread},       {"not_understood", not_understood},
            {"commands", commands},   {"crowded_out", crowded_out},
            {"sent", sent},           {"unsent", unsent}};
  }
};

}  // namespace catwalk::control
