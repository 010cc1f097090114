// SPDX-License-Identifier: Apache-2.0
#pragma once
// A matrix: the unit in the rack that antennas end in, and that decides which receivers hear which
// of them. Values only.
//
// What a route does to a signal, in order:
//   input | trim | combiner of all inputs of the output | amplifier | output
// All matched. The combiner is a passive one, so that its loss is at least 10·lg of its ports
// (conservation of power, rf/feed.hpp); what an active unit makes up for belongs to `gain`.

#include <cstddef>
#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "daemon/base/uid.hpp"
#include "daemon/base/words.hpp"
#include "daemon/plan/chain.hpp"
#include "daemon/plan/matrix_settings.hpp"
#include "daemon/plan/names.hpp"
#include "daemon/plan/on_return.hpp"
#include "daemon/plan/steps.hpp"
#include "daemon/rf/units.hpp"

namespace catwalk::plan {

inline constexpr std::size_t most_inputs = 32;  // PROTOCOL.md, section 4.4
inline constexpr std::size_t most_outputs = 32;

// What the supply of an input can do.
struct InputSupply {
  std::vector<std::uint16_t> millivolts;  // to choose from, rising, 1 to 8 of them
  std::uint16_t most_ma = 0;              // that one input gives, > 0
  std::uint32_t most_ma_of_all = 0;       // together, ≥ most_ma
  friend bool operator==(const InputSupply&, const InputSupply&) = default;
};

// What still passes when its own supply is gone.
struct PassiveRoutes {
  std::vector<Inputs> outputs;  // of each at most one; as many as it has
  rf::Decibel loss;             // from input to output, 0 to 60 dB
  friend bool operator==(const PassiveRoutes&, const PassiveRoutes&) = default;
};

// When it is told to apply new routes: all its outputs in one instant, or each in its own time.
// Supplies and trims settle in their own time with either.
enum class Applies { one_after_another, at_once };
constexpr auto words_of(Applies) {
  using enum Applies;
  return WordTable<Applies, 2>{{{"one after another", one_after_another}, {"at once", at_once}}};
}
using catwalk::name_of;

struct MatrixSheet {
  std::string type;  // what the unit says of itself when it is asked
  std::string title;
  std::size_t inputs = 1;   // 1 to most_inputs
  std::size_t outputs = 1;  // 1 to most_outputs
  // Of 1, 2, 3 … inputs on one output: from one of them to where they are together. As many as an
  // output may take; the first is 0 dB, the others at least 10·lg of their number, at most 60 dB.
  std::vector<rf::Decibel> combining_losses;
  // Of the route of one input alone, without trim:
  rf::Decibel gain;          // −30 to 60 dB
  rf::Decibel noise_figure;  // 0 to 40 dB
  rf::PowerLevel output_p1db;
  rf::PowerLevel output_ip3;
  std::optional<rf::PowerLevel> output_ip5 = {};
  // A signal at one input is at every other one as well, so much weaker, and one at an output at
  // every other output; 0 to 150 dB. Absent: not known, and no rule counts it.
  std::optional<rf::Decibel> isolation_of_inputs = {};
  std::optional<rf::Decibel> isolation_of_outputs = {};
  std::optional<Steps<rf::Gain>> trims = {};  // of each input: a pad, −60 to 0 dB; absent: none
  std::optional<InputSupply> supply = {};     // of each input; absent: it feeds nothing
  bool measures_current = false;
  bool measures_level = false;
  Applies applies = Applies::one_after_another;
  std::optional<PassiveRoutes> unsupplied = {};  // absent: nothing passes then
  friend bool operator==(const MatrixSheet&, const MatrixSheet&) = default;

  // Of so many inputs, 1 or more. Of more than it can take, which only a unit of another type would
  // show: as if the rest were combined after the last.
  rf::Decibel combining_loss(std::size_t count) const;
  std::size_t most_summed() const { return combining_losses.size(); }
  // Nothing routed, no trim, no supply.
  MatrixSettings nothing_set() const {
    return {std::vector<Inputs>(outputs), std::vector<InputSettings>(inputs), {}};
  }
  // Has it as many sockets as these settings speak of?
  bool fits(const MatrixSettings& settings) const {
    return settings.outputs.size() == outputs && settings.inputs.size() == inputs;
  }
};

// Where a feed ends.
struct InputOf {
  NodeName matrix;
  std::size_t input = 1;
  friend auto operator<=>(const InputOf&, const InputOf&) = default;
};
// Where the branch of a receiver begins.
struct OutputOf {
  NodeName matrix;
  std::size_t output = 1;
  friend auto operator<=>(const OutputOf&, const OutputOf&) = default;
};

// Of one that is set from here.
struct OnLine {
  NodeUid uid;
  LineName line;
  OnReturn on_return = OnReturn::hold;
  bool simulated = false;
};

// An output that ends at an input of another matrix. That one's outputs end at receivers: two
// matrices in a row are the most.
struct Onward {
  InputOf to;
  Chain chain = {};  // from the output to that input
  friend bool operator==(const Onward&, const Onward&) = default;
};

struct Matrix {
  NodeName name;
  std::shared_ptr<const MatrixSheet> sheet;  // never null
  std::string stands;                        // where: "rack 1, unit 12"
  // As it is set: by hand, as the file says, or from here; of the latter nothing is routed until it
  // is known.
  MatrixSettings settings;
  std::optional<OnLine> on_line = {};         // absent: set by hand
  std::map<std::size_t, Onward> onward = {};  // by output; of those that end at another matrix
  bool supplied = true;                       // else it is passive: MatrixSheet::unsupplied
};

}  // namespace catwalk::plan
