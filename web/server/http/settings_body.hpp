// SPDX-License-Identifier: Apache-2.0
#pragma once
// Settings in the body of a request: what is asked of an amplifier,
//   {"gain_db": 6, "filter": "slide-40", "centre_mhz": 518, "power": true, "label": "bow"}
// and of a matrix, socket by socket,
//   {"label": "A", "routes": {"1": [3, 7]}, "trims_db": {"3": -4.5}, "supplies_mv": {"3": 12000},
//    "labels": {"3": "quay"}}
// What is not there stays as it is.

#include <string>

#include "daemon/plan/datasheet.hpp"
#include "daemon/plan/matrix.hpp"
#include "web/server/http/input.hpp"

namespace catwalk::web {

// "a number of dB from -12 to 27 in steps of 1"
std::string gains_of(const plan::Datasheet& sheet);
// "a number of MHz: with slide-40 from 430 to 740 in steps of 0.025"
std::string centres_of(const plan::Datasheet& sheet);

// Of a node that is known, complaints say what it can do.
plan::SettingsPatch read_patch(Body& body, const plan::Datasheet* node = nullptr);
plan::MatrixPatch read_matrix_patch(Body& body, const plan::MatrixSheet* sheet = nullptr);

}  // namespace catwalk::web
