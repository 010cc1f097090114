// SPDX-License-Identifier: Apache-2.0
#pragma once
// What can be set on a matrix: which inputs each of its outputs takes, and of each input its trim,
// what it feeds up the cable, and its label. Inputs and outputs are counted from 1, as on the unit.

#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "daemon/rf/units.hpp"

namespace catwalk::plan {

using Inputs = std::vector<std::size_t>;  // rising, each once

struct InputSettings {
  rf::Gain trim;                // at most 0 dB
  std::uint16_t supply_mv = 0;  // mV up the cable; 0: off
  std::string label;            // at most 16 bytes of UTF-8, kept on the unit
  friend bool operator==(const InputSettings&, const InputSettings&) = default;
};

struct MatrixSettings {
  std::vector<Inputs> outputs;        // what each takes; as many as the unit has
  std::vector<InputSettings> inputs;  // likewise
  std::string label;                  // of the unit
  friend bool operator==(const MatrixSettings&, const MatrixSettings&) = default;
};

// What somebody asks to be different, socket by socket; what is absent stays as it is.
struct MatrixPatch {
  std::map<std::size_t, Inputs> routes = {};   // by output
  std::map<std::size_t, rf::Gain> trims = {};  // by input, as are the others
  std::map<std::size_t, std::uint16_t> supplies_mv = {};
  std::map<std::size_t, std::string> labels = {};
  std::optional<std::string> label = {};
  friend bool operator==(const MatrixPatch&, const MatrixPatch&) = default;

  bool empty() const { return *this == MatrixPatch{}; }
  // This, and what `more` asks for on top.
  MatrixPatch with(const MatrixPatch& more) const;
};

// Of sockets that the settings do not have nothing is taken.
MatrixSettings patched(MatrixSettings base, const MatrixPatch& patch);

}  // namespace catwalk::plan
