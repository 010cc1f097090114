// SPDX-License-Identifier: Apache-2.0
#pragma once
// The response of the filter that is really there: one that was measured, or one that is tuned and
// whose width and loss follow its centre; and one type for any of them.

#include <variant>
#include <vector>

#include "daemon/rf/filter.hpp"

namespace catwalk::rf {

struct ResponsePoint {
  Frequency frequency;
  Decibel attenuation;  // −100 to 300 dB; negative where the filter has gain
  friend bool operator==(const ResponsePoint&, const ResponsePoint&) = default;
};

// A measured table, joined by piecewise cubics that keep its shape: between two points the curve
// rises or falls only as they do, so no ripple is invented. Outside the table the nearest end
// holds. Source: F. N. Fritsch and R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238 (conditions
// for monotone cubics), with the slopes of F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput.
// 5 (1984) 300 (both from memory); the same curve as scipy.interpolate.PchipInterpolator.
class MeasuredResponse {
 public:
  // Errors: `points` outside 2 to 100 000; `points[i].frequency` not above the one before;
  // `points[i].attenuation` out of range.
  static Checked<MeasuredResponse> make(std::vector<ResponsePoint> points);
  const std::vector<ResponsePoint>& points() const { return points_; }
  Decibel attenuation(Frequency frequency) const;
  friend bool operator==(const MeasuredResponse&, const MeasuredResponse&) = default;

 private:
  explicit MeasuredResponse(std::vector<ResponsePoint> points);
  std::vector<ResponsePoint> points_;
  std::vector<double> slopes_;  // dB per Hz at each point
};

using FilterResponse = std::variant<IdealBandPass, LossyBandPass, MeasuredResponse>;

// Attenuation in dB, any kind. Precondition: frequency > 0.
Decibel attenuation(const FilterResponse& response, Frequency frequency);

// What a datasheet says of a tunable filter tuned to one centre.
struct TuningPoint {
  Frequency centre;      // arithmetic middle of the passband
  Frequency width;       // between the edges, where the design's edge loss is reached
  Decibel midband_loss;  // over that of the lossless filter
  friend bool operator==(const TuningPoint&, const TuningPoint&) = default;
};

// A filter whose centre can be set. Between the given centres width and loss follow straight lines;
// outside them the nearest end holds. One point: constant width and loss at any centre. Constant
// quality factor: see constant_q().
class TunableFilter {
 public:
  // Errors: as check(BandPassDesign) for each point; `tuning` outside 1 to 1000 points;
  // `tuning[i].centre` not above the one before; `tuning[i].midband_loss` as with_midband_loss.
  static Checked<TunableFilter> make(FilterShape shape, int order, Decibel edge_loss,
                                     std::vector<TuningPoint> tuning);
  // Width in proportion to the centre, from `lowest` (a centre) to `highest`; the same loss
  // everywhere. `width` is that at `lowest`.
  static Checked<TunableFilter> constant_q(FilterShape shape, int order, Decibel edge_loss,
                                           Frequency lowest, Frequency highest, Frequency width,
                                           Decibel midband_loss);

  TuningPoint tuned_to(Frequency centre) const;
  // Errors as LossyBandPass::with_midband_loss, in practice only for a centre so low that the
  // lower edge is not above 0 Hz.
  Checked<LossyBandPass> response(Frequency centre) const;
  friend bool operator==(const TunableFilter&, const TunableFilter&) = default;

 private:
  TunableFilter(const BandPassDesign& design, std::vector<TuningPoint> tuning);
  BandPassDesign design_;  // its edges are set for each centre
  std::vector<TuningPoint> tuning_;
};

}  // namespace catwalk::rf
