// SPDX-License-Identifier: Apache-2.0
#pragma once
// What the sender of a command is told: a message to /catwalk/reply/<command> with the subject (a
// segment, a cue, a text), the outcome in a word, and a sentence.

#include <chrono>
#include <string>
#include <string_view>

#include "daemon/control/command.hpp"
#include "daemon/control/osc_packet.hpp"
#include "daemon/rack/core/effect.hpp"
#include "daemon/rack/outlook/preview.hpp"

namespace catwalk::control {

// Outcomes of our own, beside those of the core.
inline constexpr std::string_view not_understood = "not-understood";
inline constexpr std::string_view scheduled = "scheduled";

// Which command a reply belongs to.
struct About {
  std::string name;     // "go"; empty: the packet as a whole
  std::string subject;  // empty: it has none
};
About about(std::string_view name, const Command& command);

Message reply(const About& about, std::string_view outcome, std::string sentence);
Message reply(const About& about, const rack::Answer& answer);
// After the sentence: steps, milliseconds, nodes that move, and each obstacle as a string.
Message reply(const About& about, const rack::Preview& preview);

}  // namespace catwalk::control
