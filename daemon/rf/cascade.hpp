// SPDX-License-Identifier: Apache-2.0
#pragma once
// What a chain of stages does to signal, noise and distortion: gain, noise figure, third-order
// intercept, 1 dB compression, and from these the weakest and the strongest signal it can serve.
// All stages are matched; each is described at the one frequency that is being looked at.
//
// Sources, all in linear powers:
//   noise       F = F1 + (F2−1)/G1 + (F3−1)/(G1·G2) + …   (H. T. Friis, Proc. IRE 1944, from
//   memory;
//               numeric examples: MathWorks RF Toolbox documentation, rfchain.cumnoisefig)
//   intercept   1/IIP3 = 1/IIP3_1 + G1/IIP3_2 + G1·G2/IIP3_3 + …, OIP3 = IIP3·G
//               (MathWorks rfchain.cumiip3, cumoip3). Distortion of all stages is taken to add in
//               phase: the worst case.
//   fifth order likewise, 1/IIP5² = 1/IIP5_1² + (G1/IIP5_2)² + …: amplitudes of 3a−2b go with the
//               inverse square of an intercept (fifth_order.hpp)
//   compression the same sum over the stages' input P1dB; output P1dB = input P1dB + gain − 1 dB.
//               An estimate on the safe side for soft limiting; common practice, no source.

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "daemon/rf/noise.hpp"
#include "daemon/rf/out_of_range.hpp"

namespace catwalk::rf {

// What a stage or a chain is known by at its input; no_limit(): it makes nothing of that order.
struct Intercepts {
  PowerLevel third = no_limit();
  PowerLevel fifth = no_limit();
  bool finite() const { return third < no_limit() || fifth < no_limit(); }
};
inline Intercepts operator-(const Intercepts& at, Decibel gain) {
  return {at.third - gain, at.fifth - gain};
}
// Of two stages that distort the same signals in phase, both referred to one input.
Intercepts in_cascade(const Intercepts& a, const Intercepts& b);

// One element of a chain. Valid: gain −150 to +100 dB, noise figure 0 to 150 dB. An element without
// an intercept or a compression point is linear at any level.
struct Stage {
  std::string name;
  Decibel gain;
  Decibel noise_figure;
  std::optional<PowerLevel> output_ip3 = {};
  std::optional<PowerLevel> output_p1db = {};
  std::optional<PowerLevel> output_ip5 = {};
  friend bool operator==(const Stage&, const Stage&) = default;

  PowerLevel input_ip3() const { return output_ip3 ? *output_ip3 - gain : no_limit(); }
  PowerLevel input_ip5() const { return output_ip5 ? *output_ip5 - gain : no_limit(); }
  Intercepts intercepts() const { return {input_ip3(), input_ip5()}; }
  // At the compression point the gain is 1 dB down.
  PowerLevel input_p1db() const {
    return output_p1db ? *output_p1db - gain + Decibel::of(1.0) : no_limit();
  }
};

// A matched loss (≥ 0 dB): cable, connector, splitter, filter, an amplifier with its power gone.
Stage passive_stage(std::string name, Decibel loss, Kelvin physical = reference_temperature);

// Names the stage and what is wrong with it; nothing if it can be computed with.
std::optional<OutOfRange> check(const Stage& stage);

// From the input of the chain to the output of one stage, that stage counted.
struct Cascade {
  Decibel gain;
  Decibel noise_figure;
  PowerLevel input_ip3 = no_limit();
  PowerLevel input_p1db = no_limit();
  PowerLevel input_ip5 = no_limit();
  friend bool operator==(const Cascade&, const Cascade&) = default;

  Intercepts intercepts() const { return {input_ip3, input_ip5}; }
  PowerLevel output_ip3() const { return input_ip3 + gain; }
  PowerLevel output_p1db() const { return input_p1db + gain - Decibel::of(1.0); }
  Kelvin noise_temperature() const { return rf::noise_temperature(noise_figure); }
};

// The running result after each stage, in order; empty for no stages.
// Precondition: every stage passes check().
std::vector<Cascade> running_cascade(std::span<const Stage> stages);

// The whole chain; 0 dB gain and noise figure for no stages.
Cascade cascade(std::span<const Stage> stages);

// The signal at the input that equals the chain's own noise in `bandwidth` (> 0): kT0B + noise
// figure. The source is taken to be at T0.
PowerLevel minimum_discernible_signal(const Cascade& chain, Frequency bandwidth);

// From the minimum discernible signal up to two equal signals whose third-order products reach it:
// 2/3·(IIP3 − MDS). +∞ for a linear chain. Source: "Spurious free dynamic range", rfcafe.com.
Decibel spurious_free_dynamic_range(const Cascade& chain, Frequency bandwidth);

// One line of a level budget: what holds at the output of a stage.
struct BudgetRow {
  std::string stage;
  Decibel stage_gain;
  Cascade so_far;
  PowerLevel input_level;   // all signals together, where they enter the stage
  PowerLevel output_level;  // and where they leave it
  PowerLevel noise;         // in the bandwidth, at the stage's output
  Decibel headroom;         // the stage's own output P1dB over output_level; +∞ without one
  friend bool operator==(const BudgetRow&, const BudgetRow&) = default;
};

// `at_input`: level of all signals together at the input of the chain, source at T0.
// Preconditions as running_cascade; bandwidth > 0.
std::vector<BudgetRow> level_budget(std::span<const Stage> stages, PowerLevel at_input,
                                    Frequency bandwidth);

}  // namespace catwalk::rf
