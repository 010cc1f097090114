// SPDX-License-Identifier: Apache-2.0
#pragma once
// if-power-fails, as a note: without its supply an amplifier at an antenna is a plain one.

#include "daemon/rack/levels/budget.hpp"
#include "daemon/rack/values/verdict.hpp"

namespace catwalk::rack {

// Somebody hears something through the node.
bool is_heard(const Budget& budget);

// What would be lost if the node's power failed now: a note. Precondition: is_heard(now), and
// `passive` is of the same carriers.
Finding if_power_fails(const plan::NodeName& name, const Budget& now, const Budget& passive);

}  // namespace catwalk::rack
