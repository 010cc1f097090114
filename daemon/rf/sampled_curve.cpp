// SPDX-License-Identifier: Apache-2.0
#include "daemon/rf/sampled_curve.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <queue>
#include <utility>

namespace catwalk::rf {
namespace {

// So that a curve that happens to lie on the first line everywhere one looks is looked at again.
constexpr std::int64_t first_pieces = 16;

double share(const CurvePoint& low, const CurvePoint& high, Frequency at) {
  return static_cast<double>((at - low.frequency).hertz()) /
         static_cast<double>((high.frequency - low.frequency).hertz());
}

Decibel on_the_line(const CurvePoint& low, const CurvePoint& high, Frequency at) {
  return low.gain + share(low, high, at) * (high.gain - low.gain);
}

// What lies between two points, and how far its middle is from the line between them.
struct Gap {
  CurvePoint low;
  CurvePoint middle;
  CurvePoint high;
  double off = 0.0;  // times the tolerance
  friend bool operator<(const Gap& a, const Gap& b) {
    return std::pair{a.off, a.low.frequency} < std::pair{b.off, b.low.frequency};
  }
};

class Sampler {
 public:
  Sampler(const std::function<Decibel(Frequency)>& curve, const Sampling& sampling)
      : curve_{curve}, sampling_{sampling} {}

  void take(Frequency at) {
    const auto gain = curve_(at);
    points_.emplace(at, gain);
    top_ = std::max(top_, gain);
  }

  void refine() {
    if (points_.size() < 2) return;
    for (auto point = points_.begin(); std::next(point) != points_.end(); ++point)
      look_between({point->first, point->second},
                   {std::next(point)->first, std::next(point)->second});
    while (!gaps_.empty() && points_.size() < sampling_.most_points) {
      const auto gap = gaps_.top();
      gaps_.pop();
      points_.emplace(gap.middle.frequency, gap.middle.gain);
      look_between(gap.low, gap.middle);
      look_between(gap.middle, gap.high);
    }
  }

  std::vector<CurvePoint> points() const {
    std::vector<CurvePoint> all;
    all.reserve(points_.size());
    for (const auto& [at, gain] : points_) all.push_back({at, gain});
    return all;
  }

 private:
  void look_between(const CurvePoint& low, const CurvePoint& high) {
    const auto raster = sampling_.raster.hertz();
    const auto half = (low.frequency.hertz() + high.frequency.hertz()) / 2;
    const auto at = Frequency::hertz(half / raster * raster);
    if (at <= low.frequency || at >= high.frequency) return;
    const CurvePoint middle{at, curve_(at)};
    const auto deep = std::max(0.0, (top_ - middle.gain).value());
    const auto off = std::abs((middle.gain - on_the_line(low, high, at)).value()) /
                     (sampling_.tolerance.value() * (1.0 + deep / 10.0));
    if (off > 1.0) gaps_.push({low, middle, high, off});
  }

  const std::function<Decibel(Frequency)>& curve_;
  const Sampling& sampling_;
  std::map<Frequency, Decibel> points_;
  std::priority_queue<Gap> gaps_;
  Decibel top_ = Decibel::of(-1e9);
};

}  // namespace

std::vector<CurvePoint> sampled(const std::function<Decibel(Frequency)>& curve, const Band& span,
                                std::span<const Frequency> exact, const Sampling& sampling) {
  Sampler sampler{curve, sampling};
  sampler.take(span.low);
  sampler.take(span.high);
  for (const auto at : exact)
    if (span.low < at && at < span.high) sampler.take(at);
  const auto raster = sampling.raster.hertz();
  for (std::int64_t i = 1; i < first_pieces; ++i) {
    const auto at = span.low.hertz() + span.width().hertz() / first_pieces * i;
    const auto on_raster = Frequency::hertz(at / raster * raster);
    if (span.low < on_raster && on_raster < span.high) sampler.take(on_raster);
  }
  sampler.refine();
  return sampler.points();
}

Decibel interpolated(std::span<const CurvePoint> points, Frequency at) {
  const auto above = std::ranges::upper_bound(points, at, {}, &CurvePoint::frequency);
  if (above == points.begin()) return points.front().gain;
  if (above == points.end()) return points.back().gain;
  return on_the_line(*std::prev(above), *above, at);
}

}  // namespace catwalk::rf
