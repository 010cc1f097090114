// SPDX-License-Identifier: Apache-2.0
#pragma once
// A matrix as JSON: what it can do, what it is set to, what ends at its inputs and who hears at its
// outputs.

#include "daemon/plan/matrix.hpp"
#include "web/server/documents/render.hpp"

namespace catwalk::web {

Json render(const plan::MatrixSettings& settings, const plan::MatrixSheet& sheet);
// What is asked of it alone.
Json render(const plan::MatrixPatch& patch);
// Precondition: the snapshot's plan has the matrix.
Json render(const plan::Matrix& matrix, const rack::Snapshot& snapshot, rack::TimePoint now);
// All of them, those that are set by hand too.
Json render_matrices(const rack::Snapshot& snapshot, rack::TimePoint now);

}  // namespace catwalk::web
