// SPDX-License-Identifier: Apache-2.0
#pragma once
// A curve over frequency as few points that straight lines join: many where it bends, as at the
// edges of a passband, few where it does not.

#include <cstddef>
#include <functional>
#include <span>
#include <vector>

#include "daemon/rf/decibel.hpp"

namespace catwalk::rf {

struct CurvePoint {
  Frequency frequency;
  Decibel gain;
  friend bool operator==(const CurvePoint&, const CurvePoint&) = default;
};

struct Sampling {
  // Straight lines stay this near to the curve down to 3 dB below where it is highest, and farther
  // by a tenth of that for each decibel that it lies deeper: where little comes through, nobody
  // reads it that finely. Held at `looks` and at the quarters between two points, a quarter finer
  // than said, so that it holds between these as well.
  Decibel tolerance = Decibel::of(0.02);  // > 0
  std::size_t most_points = 800;  // ≥ 2; fewer than `exact` has, and those are all there are
  Frequency raster = Frequency::kilohertz(1);  // what points between `exact` ones lie on, > 0
  // Where the curve may turn between points that see nothing of it, as ripples do; in any order.
  std::vector<Frequency> looks = {};
};

// Frequencies rise, and none comes twice. `span`: 0 < low < high; both ends are points, and so is
// each of `exact` that lies between. `curve` is asked a few thousand times at most.
std::vector<CurvePoint> sampled(const std::function<Decibel(Frequency)>& curve, const Band& span,
                                std::span<const Frequency> exact, const Sampling& sampling = {});

// Between two points a straight line, beyond them the nearest. Precondition: there is a point.
Decibel interpolated(std::span<const CurvePoint> points, Frequency at);

}  // namespace catwalk::rf
