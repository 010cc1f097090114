// SPDX-License-Identifier: Apache-2.0
#pragma once
// The shortest script that still breaks the same invariant: pieces are left
// out, smaller and smaller ones, as long as it does. Delta debugging after
// Zeller and Hildebrandt, "Simplifying and isolating failure-inducing input",
// IEEE Transactions on Software Engineering 28(2), 2002 (from memory).

#include <functional>

#include "tests/simulation/script.hpp"

namespace catwalk::simulation {

// Does it still fail, in the same way?
using Fails = std::function<bool(const Script&)>;

// Precondition: fails(script). At most `most_runs` calls of `fails`.
Script shrunk(Script script, const Fails& fails, int most_runs);

}  // namespace catwalk::simulation
