// SPDX-License-Identifier: Apache-2.0
#pragma once
// The response of a band-pass filter as designed: closed form, and as an LC ladder whose
// resonators have losses.
//
// Sources: attenuation 10·lg[1 + ε²Ω^2n] (Butterworth) and 10·lg[1 + ε²T_n²(Ω)] (Chebyshev) with
// Ω = (f0/BW)(f/f0 − f0/f), f0 = √(f1·f2): Matthaei, Young, Jones, Microwave Filters,
// Impedance-Matching Networks, and Coupling Structures, ch. 4 (from memory); the same formulas at
// novasolver.jp/microwave-filter. Prototype values: the same book; tables of RF Cafe.

#include <complex>
#include <vector>

#include "daemon/base/words.hpp"
#include "daemon/rf/out_of_range.hpp"
#include "daemon/rf/quantities.hpp"

namespace catwalk::rf {

enum class FilterShape { butterworth, chebyshev };
constexpr auto words_of(FilterShape) {
  using enum FilterShape;
  return WordTable<FilterShape, 2>{{{"butterworth", butterworth}, {"chebyshev", chebyshev}}};
}

// What a filter is designed to be. The edges are where the attenuation of the lossless filter is
// `edge_loss`: for a Chebyshev filter that is its ripple, for a Butterworth filter usually
// 3.0103 dB. The centre is the geometric mean of the edges.
struct BandPassDesign {
  FilterShape shape = FilterShape::chebyshev;
  int order = 3;                         // number of resonators, 1 to 15
  Decibel edge_loss = Decibel::of(0.1);  // 0.0001 to 10 dB
  Band edges;                            // 0 < low < high ≤ 1 THz
  friend bool operator==(const BandPassDesign&, const BandPassDesign&) = default;

  double centre_hertz() const;
  double fractional_bandwidth() const;  // width over centre
};

// Names what is outside its range; nothing if the filter can be built.
std::optional<OutOfRange> check(const BandPassDesign& design);

// Element values g1 … gn of the low-pass prototype, then g(n+1): for an odd order the load
// resistance 1, for an even Chebyshev order coth²(β/4), a conductance since the ladder ends in a
// series element. Precondition: the design passes check().
std::vector<double> prototype_values(const BandPassDesign& design);

// The two filters below are built once and asked often; attenuation is positive in dB, relative to
// the power available from a matched source. `frequency` must be > 0.

// No losses. An even Chebyshev order has its ripple at mid-band.
class IdealBandPass {
 public:
  static Checked<IdealBandPass> make(const BandPassDesign& design);
  const BandPassDesign& design() const { return design_; }
  Decibel attenuation(Frequency frequency) const;

 private:
  explicit IdealBandPass(const BandPassDesign& design);
  BandPassDesign design_;
  double centre_ = 0.0;
  double fractional_ = 0.0;
  double ripple_ = 0.0;  // ε²
};

// Every resonator has the unloaded quality factor `unloaded_q` at the centre: a resistance
// ω0·L/Q in series with each series resonator, Q·ω0·L across each shunt one, constant over
// frequency. Evaluated exactly, as the doubly terminated ladder it is, so that the mid-band loss,
// the rounded edges and the filled stop-band notches come out together. To first order the mid-band
// loss is 4.343·Σg/(FBW·Q) dB (S. B. Cohn, Proc. IRE 1959, from memory).
class LossyBandPass {
 public:
  // Errors: as check(); `unloaded_q` outside 1 to 1e9.
  static Checked<LossyBandPass> make(const BandPassDesign& design, double unloaded_q);
  // The same filter, known by the loss a datasheet gives for mid-band, over that of the lossless
  // filter. Errors: as check(); `midband_loss` outside 0 to 20 dB, or more than this filter can
  // have at Q = 1.
  static Checked<LossyBandPass> with_midband_loss(const BandPassDesign& design, Decibel loss);

  const BandPassDesign& design() const { return design_; }
  double unloaded_q() const { return 1.0 / dissipation_; }
  Decibel attenuation(Frequency frequency) const;

 private:
  LossyBandPass(const BandPassDesign& design, double unloaded_q);
  Decibel attenuation_at(double detuning) const;  // f/f0 − f0/f
  BandPassDesign design_;
  double centre_ = 0.0;
  double dissipation_ = 0.0;    // 1/Q
  std::vector<double> slopes_;  // g/FBW of each resonator
  double load_ = 1.0;           // resistance, source = 1
};

}  // namespace catwalk::rf
