// SPDX-License-Identifier: Apache-2.0
#pragma once
// if-power-fails, as a note: without its supply an amplifier at an antenna is a plain one.

#include <string>

#include "daemon/rack/levels/budget.hpp"
#include "daemon/rack/rules/rules.hpp"
#include "daemon/rack/values/verdict.hpp"

namespace catwalk::rack {

// Somebody hears something through the node.
bool is_heard(const Budget& budget);

// What would be lost if the node's power failed now: a note. Precondition: is_heard(now), and
// `passive` is of the same carriers.
Finding if_power_fails(const plan::NodeName& name, const Budget& now, const Budget& passive);

// Which receivers hear less through the node without its power than in these settings: of each the
// carrier that is left with the least, and by how many dB that stands lower over what the receiver
// needs; where no margin is known, over noise and interference. Who loses most comes first.
//   "vocals hears voice 9.2 dB less by it, with 3.0 dB of margin left; talk hears call …"
// Empty: nobody, or it cannot be computed. Takes some hundred microseconds.
std::string heard_less_without_power(const Surroundings& around, const plan::Node& node,
                                     const plan::Settings& settings);

}  // namespace catwalk::rack
