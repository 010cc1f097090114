// SPDX-License-Identifier: Apache-2.0
#pragma once
// One antenna on the way: the settings that its amplifier may be in, with the supply that it has
// before the matrices move and with that of after.

#include <optional>

#include "daemon/plan/node_settings.hpp"
#include "daemon/plan/rack_plan.hpp"

namespace catwalk::rack {

struct NodeOnTheWay {
  const plan::Node* node = nullptr;  // as its matrix is set before …
  const plan::Node* then = nullptr;  // … and after; the same, where no matrix moves
  std::optional<plan::Settings> present;
  std::optional<plan::Settings> target;  // as present, if it stays
  std::optional<std::size_t> mover;      // its number, if it moves itself
  std::optional<std::size_t> matrix;     // of the matrix at which its cable ends, if that moves
  bool fed_before = true;                // gets the supply that it takes
  bool fed_after = true;

  bool supply_moves() const { return fed_before != fed_after; }
  // Before its own move and after, `late`: with the supply of after. One that gets its supply back
  // is taken to run, one that loses it is passive.
  std::optional<plan::Settings> old_settings(bool late) const;
  std::optional<plan::Settings> new_settings(bool late) const;
  // As it is at the beginning and at the end of the way.
  std::optional<plan::Settings> first() const { return old_settings(false); }
  std::optional<plan::Settings> last() const { return new_settings(true); }

  bool surely_passes(const std::optional<plan::Settings>& settings, const rf::Band& band) const;
  // With its amplifier running.
  bool lets_in(const std::optional<plan::Settings>& settings, const rf::Band& band) const;
  bool perhaps_passes(const std::optional<plan::Settings>& settings, const rf::Band& band) const;
  // Null: not known, or beyond what its datasheet reaches, and nothing is counted on.
  const plan::Filter* filter(const std::optional<plan::Settings>& settings) const;
};

}  // namespace catwalk::rack
