// SPDX-License-Identifier: Apache-2.0
#include "daemon/rf/sampled_curve.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <queue>
#include <tuple>
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

// What lies between two points, and where the curve is farthest from the line between them.
struct Gap {
  CurvePoint low;
  CurvePoint farthest;
  CurvePoint high;
  bool read_finely = false;  // there; such gaps come first, if points run out
  double off = 0.0;          // times the tolerance
  friend bool operator<(const Gap& a, const Gap& b) {
    return std::tuple{a.read_finely, a.off, a.low.frequency} <
           std::tuple{b.read_finely, b.off, b.low.frequency};
  }
};

// Of what is allowed, so that between the places looked at a little more is still within it.
constexpr double held = 0.75;
constexpr double finely = 3.0;  // dB below the top, so far everybody reads

class Sampler {
 public:
  Sampler(const std::function<Decibel(Frequency)>& curve, const Band& span,
          const Sampling& sampling)
      : curve_{curve}, sampling_{sampling} {
    for (const auto at : sampling.looks)
      if (span.low < at && at < span.high) looks_.push_back({on_raster(at), {}});
    std::ranges::sort(looks_, {}, &CurvePoint::frequency);
    for (auto& look : looks_) look.gain = ask(look.frequency);
  }

  void take(Frequency at) { points_.emplace(at, ask(at)); }

  void refine() {
    if (points_.size() < 2) return;
    for (auto point = points_.begin(); std::next(point) != points_.end(); ++point)
      look_between({point->first, point->second},
                   {std::next(point)->first, std::next(point)->second});
    while (!gaps_.empty() && points_.size() < sampling_.most_points) {
      const auto gap = gaps_.top();
      gaps_.pop();
      points_.emplace(gap.farthest.frequency, gap.farthest.gain);
      look_between(gap.low, gap.farthest);
      look_between(gap.farthest, gap.high);
    }
  }

  std::vector<CurvePoint> points() const {
    std::vector<CurvePoint> all;
    all.reserve(points_.size());
    for (const auto& [at, gain] : points_) all.push_back({at, gain});
    return all;
  }

 private:
  Decibel ask(Frequency at) {
    const auto gain = curve_(at);
    top_ = std::max(top_, gain);
    return gain;
  }

  Frequency on_raster(Frequency at) const {
    const auto raster = sampling_.raster.hertz();
    return Frequency::hertz(at.hertz() / raster * raster);
  }

  void look_between(const CurvePoint& low, const CurvePoint& high) {
    Gap gap{low, {}, high};
    const auto look_at = [&](const CurvePoint& point) {
      if (point.frequency <= low.frequency || point.frequency >= high.frequency) return;
      const auto deep = std::max(0.0, (top_ - point.gain).value() - finely);
      const auto allowed = held * sampling_.tolerance.value() * (1.0 + deep / 10.0);
      const auto off =
          std::abs((point.gain - on_the_line(low, high, point.frequency)).value()) / allowed;
      const bool read_finely = deep == 0.0 && off > 1.0;
      if (std::pair{read_finely, off} <= std::pair{gap.read_finely, gap.off}) return;
      gap.read_finely = read_finely;
      gap.off = off;
      gap.farthest = point;
    };
    const auto first = std::ranges::upper_bound(looks_, low.frequency, {}, &CurvePoint::frequency);
    const auto last = std::ranges::lower_bound(looks_, high.frequency, {}, &CurvePoint::frequency);
    for (auto look = first; look < last; ++look) look_at(*look);
    for (const std::int64_t quarter : {1, 2, 3}) {
      const auto at = on_raster(low.frequency + quarter * (high.frequency - low.frequency) / 4);
      if (low.frequency < at && at < high.frequency) look_at({at, ask(at)});
    }
    if (gap.off > 1.0) gaps_.push(gap);
  }

  const std::function<Decibel(Frequency)>& curve_;
  const Sampling& sampling_;
  std::vector<CurvePoint> looks_;
  std::map<Frequency, Decibel> points_;
  std::priority_queue<Gap> gaps_;
  Decibel top_ = Decibel::of(-1e9);
};

}  // namespace

std::vector<CurvePoint> sampled(const std::function<Decibel(Frequency)>& curve, const Band& span,
                                std::span<const Frequency> exact, const Sampling& sampling) {
  Sampler sampler{curve, span, sampling};
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
