// SPDX-License-Identifier: Apache-2.0
#pragma once
// Between antenna and receiver: cable, connectors, splitters, and what combining several antennas
// into one receiver costs.

#include <span>
#include <string>
#include <vector>

#include "daemon/rf/cascade.hpp"

namespace catwalk::rf {

// A coaxial cable type: attenuation k1·√f + k2·f per 100 m, f in MHz, at 20 °C. k1 stands for the
// conductor, k2 for the dielectric. Source of the form: ac6la.com/bestfit.html.
// Between sources the same RG number differs by 10 to 40 % at UHF: a measured loss is better.
struct CableType {
  std::string name;
  double k1 = 0.0;  // dB/100 m per √MHz, ≥ 0
  double k2 = 0.0;  // dB/100 m per MHz, ≥ 0
  Band valid;       // where the figures behind it lie
  std::string source;
  friend bool operator==(const CableType&, const CableType&) = default;
};

// The same published per 100 ft: k ÷ 0.3048.
CableType cable_per_100_feet(std::string name, double k1, double k2, Band valid,
                             std::string source);

inline constexpr double longest_cable_metres = 10'000.0;

// Matched loss. Errors: `length` outside 0 to longest_cable_metres; `frequency` outside `valid`.
Checked<Decibel> cable_loss(const CableType& type, Metres length, Frequency frequency);

// Loss of a line with this matched loss into a load with this standing wave ratio at the load:
// 10·lg[(α² − ρ²)/(α(1 − ρ²))], α the matched loss as a ratio, ρ = (s−1)/(s+1). Source: the ARRL
// Antenna Book (from memory), as programmed in github.com/sfeek/rfassistant.
// Errors: `matched_loss` outside 0 to 1000 dB; `standing_wave_ratio` outside 1 to 1000.
Checked<Decibel> mismatched_line_loss(Decibel matched_loss, double standing_wave_ratio);

// `count` connectors of `each`. Good UHF connectors are near 0.1 dB (common practice, no source);
// a land-mobile training guide allows 0.5 dB a connection at 450 MHz.
// Errors: `connectors` outside 0 to 1000; `connector_loss` outside 0 to 10 dB.
Checked<Decibel> connectors_loss(int count, Decibel each);

// From the common port of a matched n-way splitter to one of the others, or back: 10·lg(n) because
// the power is shared, and the excess that a real one adds. The same for a combiner, for signals
// that know nothing of each other.
// Errors: `ways` outside 1 to 1024; `excess_loss` outside 0 to 30 dB.
Checked<Decibel> splitter_loss(int ways, Decibel excess);

// One antenna's way to the combiner: everything between its terminals and the combiner's port.
struct Branch {
  Decibel gain;
  Decibel noise_figure;
  friend bool operator==(const Branch&, const Branch&) = default;
};

struct Combiner {
  int ways = 2;         // ports, used or terminated; at least as many as branches
  Decibel excess_loss;  // beyond 10·lg(ways)
  Kelvin physical = reference_temperature;
  friend bool operator==(const Combiner&, const Combiner&) = default;
};

// Several antennas into one receiver: the noise of every branch, its antenna's kT0 included,
// arrives with the signal of each. The answer is one stage per branch, from that branch's antenna
// terminals to the combiner's output; its noise figure holds the noise of all. Put it before the
// receiver's stages and go on with cascade().
//
// Model: matched ports, a lossless n-way combiner (all terminations at T0 give kT0 out: it adds no
// noise of its own), then a matched pad of the excess loss at `physical`. Unused ports are
// terminated at T0. Every source, antenna or termination, is at T0. Linear: no intercepts.
// So n equal branches lose exactly 10·lg(n) of signal-to-noise ratio. Source: conservation of noise
// power; no published figures were found.
// Errors: as splitter_loss; `branches` outside 1 to ways.
Checked<std::vector<Stage>> combined_branches(std::span<const Branch> branches,
                                              const Combiner& combiner);

// The same model seen from one branch: the combiner as a stage of its own, whose noise figure holds
// what the `others` bring. Whatever stands before it on this branch, cascade() gives what
// combined_branches() gives for that branch.
// Errors: as splitter_loss; `branches` (this one counted) outside 1 to ways.
Checked<Stage> combiner_stage(std::span<const Branch> others, const Combiner& combiner);

// The formulas alone, for figures that were checked when they came in, as config checks those of a
// plan. Defined for any numbers; outside the ranges above without meaning, but never an error.
namespace plain {
Decibel cable_loss(const CableType& type, Metres length, Frequency frequency);
Decibel connectors_loss(int count, Decibel each);
Decibel splitter_loss(int ways, Decibel excess);
Stage combiner_stage(std::span<const Branch> others, const Combiner& combiner);
}  // namespace plain

}  // namespace catwalk::rf
