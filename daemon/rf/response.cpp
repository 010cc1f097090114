// SPDX-License-Identifier: Apache-2.0
#include "daemon/rf/response.hpp"

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>

namespace catwalk::rf {
namespace {

double hertz(Frequency frequency) { return static_cast<double>(frequency.hertz()); }

// Slope at an end from the two nearest pieces, widths h0, h1, slopes d0, d1; three-point formula,
// held back where it would overshoot.
double end_slope(double h0, double h1, double d0, double d1) {
  const double slope = ((2.0 * h0 + h1) * d0 - h0 * d1) / (h0 + h1);
  if (slope * d0 <= 0.0) return 0.0;
  if (d0 * d1 <= 0.0 && std::abs(slope) > 3.0 * std::abs(d0)) return 3.0 * d0;
  return slope;
}

// Slope between two pieces: 0 at a turning point, otherwise their weighted harmonic mean.
double inner_slope(double h0, double h1, double d0, double d1) {
  if (d0 * d1 <= 0.0) return 0.0;
  const double w0 = 2.0 * h1 + h0;
  const double w1 = h1 + 2.0 * h0;
  return (w0 + w1) / (w0 / d0 + w1 / d1);
}

std::vector<double> monotone_slopes(const std::vector<ResponsePoint>& points) {
  const std::size_t pieces = points.size() - 1;
  std::vector<double> h(pieces), d(pieces), slopes(points.size());
  for (std::size_t i = 0; i < pieces; ++i) {
    h[i] = hertz(points[i + 1].frequency - points[i].frequency);
    d[i] = (points[i + 1].attenuation - points[i].attenuation).value() / h[i];
  }
  if (pieces == 1) return {d[0], d[0]};
  slopes.front() = end_slope(h[0], h[1], d[0], d[1]);
  for (std::size_t i = 1; i < pieces; ++i) slopes[i] = inner_slope(h[i - 1], h[i], d[i - 1], d[i]);
  slopes.back() = end_slope(h[pieces - 1], h[pieces - 2], d[pieces - 1], d[pieces - 2]);
  return slopes;
}

std::string indexed(const char* list, std::size_t i, const std::string& member) {
  return std::string{list} + "[" + std::to_string(i) + "]." + member;
}

BandPassDesign centred(BandPassDesign design, const TuningPoint& at) {
  design.edges = Band::around(at.centre, at.width);
  return design;
}

}  // namespace

MeasuredResponse::MeasuredResponse(std::vector<ResponsePoint> points)
    : points_{std::move(points)}, slopes_{monotone_slopes(points_)} {}

Checked<MeasuredResponse> MeasuredResponse::make(std::vector<ResponsePoint> points) {
  const auto count = static_cast<double>(points.size());
  if (auto fault = check_range("points", count, 2, 100'000, "")) return Failure{*fault};
  double lowest = 1.0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const double at = hertz(points[i].frequency);
    const double attenuation = points[i].attenuation.value();
    auto fault = check_range("frequency", at, lowest, 1e12, "Hz");
    if (!fault) fault = check_range("attenuation", attenuation, -100.0, 300.0, "dB");
    if (fault) {
      fault->field = indexed("points", i, fault->field);
      return Failure{*fault};
    }
    lowest = at + 1.0;
  }
  return MeasuredResponse{std::move(points)};
}

Decibel MeasuredResponse::attenuation(Frequency frequency) const {
  if (frequency <= points_.front().frequency) return points_.front().attenuation;
  if (frequency >= points_.back().frequency) return points_.back().attenuation;
  const auto above = std::upper_bound(
      points_.begin(), points_.end(), frequency,
      [](Frequency at, const ResponsePoint& point) { return at < point.frequency; });
  const auto i = static_cast<std::size_t>(above - points_.begin()) - 1;
  const double width = hertz(points_[i + 1].frequency - points_[i].frequency);
  const double t = hertz(frequency - points_[i].frequency) / width;
  const double y0 = points_[i].attenuation.value();
  const double y1 = points_[i + 1].attenuation.value();
  // Cubic Hermite.
  const double s = 1.0 - t;
  return Decibel::of(s * s * (1.0 + 2.0 * t) * y0 + t * t * (3.0 - 2.0 * t) * y1 +
                     t * s * width * (s * slopes_[i] - t * slopes_[i + 1]));
}

Decibel attenuation(const FilterResponse& response, Frequency frequency) {
  return std::visit([frequency](const auto& filter) { return filter.attenuation(frequency); },
                    response);
}

TunableFilter::TunableFilter(const BandPassDesign& design, std::vector<TuningPoint> tuning)
    : design_{design}, tuning_{std::move(tuning)} {}

Checked<TunableFilter> TunableFilter::make(FilterShape shape, int order, Decibel edge_loss,
                                           std::vector<TuningPoint> tuning) {
  const auto count = static_cast<double>(tuning.size());
  if (auto fault = check_range("tuning", count, 1, 1000, "")) return Failure{*fault};
  const BandPassDesign design{shape, order, edge_loss, {}};
  double lowest = 1.0;
  for (std::size_t i = 0; i < tuning.size(); ++i) {
    auto fault = check_range("centre", hertz(tuning[i].centre), lowest, 1e12, "Hz");
    if (!fault) {
      const auto filter =
          LossyBandPass::with_midband_loss(centred(design, tuning[i]), tuning[i].midband_loss);
      if (!filter) fault = filter.error();
    }
    if (fault) {
      fault->field = indexed("tuning", i, fault->field);
      return Failure{*fault};
    }
    lowest = hertz(tuning[i].centre) + 1.0;
  }
  return TunableFilter{design, std::move(tuning)};
}

Checked<TunableFilter> TunableFilter::constant_q(FilterShape shape, int order, Decibel edge_loss,
                                                 Frequency lowest, Frequency highest,
                                                 Frequency width, Decibel midband_loss) {
  const double wider = hertz(width) * hertz(highest) / hertz(lowest);
  return make(shape, order, edge_loss,
              {{lowest, width, midband_loss},
               {highest, Frequency::hertz(std::llround(wider)), midband_loss}});
}

TuningPoint TunableFilter::tuned_to(Frequency centre) const {
  const auto above =
      std::upper_bound(tuning_.begin(), tuning_.end(), centre,
                       [](Frequency at, const TuningPoint& point) { return at < point.centre; });
  if (above == tuning_.begin()) return {centre, above->width, above->midband_loss};
  const auto& low = *(above - 1);
  if (above == tuning_.end()) return {centre, low.width, low.midband_loss};
  const double t = hertz(centre - low.centre) / hertz(above->centre - low.centre);
  const double width = hertz(low.width) + t * hertz(above->width - low.width);
  return {centre, Frequency::hertz(std::llround(width)),
          low.midband_loss + t * (above->midband_loss - low.midband_loss)};
}

Checked<LossyBandPass> TunableFilter::response(Frequency centre) const {
  const auto at = tuned_to(centre);
  return LossyBandPass::with_midband_loss(centred(design_, at), at.midband_loss);
}

}  // namespace catwalk::rf
