// SPDX-License-Identifier: Apache-2.0
#pragma once
// What happens in the simulation, in one line each, for its trace. Nothing in
// them depends on where in memory something is, or on the order of a hash
// table.

#include <string>

#include "daemon/rack/core/effect.hpp"
#include "daemon/rack/core/event.hpp"

namespace catwalk::simulation {

// The shortest text that gives the same number: "566.125".
std::string number(double value);
// "gain=6 filter=0 centre=566.125 power=on label="""
std::string words(const plan::Settings& settings);
std::string words(const plan::NodeSettings& settings);
std::string words(const protocol::Settings& settings);
// "[n0 gain n1 whole][n0 window]"
std::string words(const rack::Way& way);
std::string words(const protocol::Ask& request);
std::string words(const protocol::Answer& reply);
std::string words(const rack::Event& event);
std::string words(const rack::Effect& effect);

}  // namespace catwalk::simulation
