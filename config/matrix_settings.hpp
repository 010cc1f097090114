// SPDX-License-Identifier: Apache-2.0
#pragma once
// What a file says that a matrix is to be set to, held against its datasheet:
//   {"label": "A", "routes": {"1": [3, 7]}, "trims_db": {"3": -4.5}, "supplies_mv": {"3": 12000},
//    "labels": {"3": "quay"}}
// A show that could never be switched to is refused when it is read.

#include "config/reader.hpp"
#include "daemon/plan/matrix.hpp"

namespace catwalk::config {

// What is written, over `before` it. What could be read; what is wrong with the rest has been
// reported.
plan::MatrixPatch read_matrix_patch(const Cursor& at, const plan::MatrixSheet& sheet,
                                    const plan::MatrixPatch& before = {});

// "routes" and "trims_db" of an object with other members as well.
void read_routes(const Cursor& at, const plan::MatrixSheet& sheet, plan::MatrixPatch& patch);
void read_trims(const Cursor& at, const plan::MatrixSheet& sheet, plan::MatrixPatch& patch);

}  // namespace catwalk::config
