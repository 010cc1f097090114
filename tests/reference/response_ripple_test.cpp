// SPDX-License-Identifier: Apache-2.0
// What is drawn of a node's filter, against the closed form of a Chebyshev band-pass, evaluated
// here by the recurrence of the polynomials:
//   A = 10·lg[1 + ε²·T_n²(Ω)], ε² = 10^(ripple/10) − 1, Ω = (f0/BW)(f/f0 − f0/f), f0 = √(f1·f2);
//   T_0 = 1, T_1 = Ω, T_(n+1) = 2Ω·T_n − T_(n−1)
// Source: Matthaei, Young, Jones, Microwave Filters, Impedance-Matching Networks, and Coupling
// Structures, ch. 4 (from memory); the same formulas at novasolver.jp/microwave-filter.
#include <doctest/doctest.h>

#include <cmath>

#include "daemon/rack/levels/node_response.hpp"
#include "tests/support/physics_rack.hpp"

using namespace catwalk;
using rf::Band;
using rf::Decibel;
using rf::Frequency;

namespace {

double attenuation(int order, double ripple, const Band& edges, double megahertz) {
  const double low = edges.low.megahertz();
  const double high = edges.high.megahertz();
  const double middle = std::sqrt(low * high);
  const double omega = middle / (high - low) * (megahertz / middle - middle / megahertz);
  double before = 1.0;
  double polynomial = omega;
  for (int n = 1; n < order; ++n) {
    const double next = 2.0 * omega * polynomial - before;
    before = polynomial;
    polynomial = next;
  }
  const double squared = (std::pow(10.0, ripple / 10.0) - 1.0) * polynomial * polynomial;
  return 10.0 * std::log10(1.0 + squared);
}

// A node of gain 0 whose only filter is such a one, without losses.
plan::RackPlan rack_with(int order, double ripple, Frequency width, Frequency centre) {
  auto plan = test::physics_rack(2, 16, 1);
  auto sheet = *plan.nodes.front().datasheet;
  auto& filter = sheet.filters.front();
  filter.width = width;
  filter.model = std::make_shared<const plan::FilterModel>(
      rf::TunableFilter::make(rf::FilterShape::chebyshev, order, Decibel::of(ripple),
                              {{centre, width, Decibel{}}})
          .value());
  for (auto& node : plan.nodes) node.datasheet = std::make_shared<plan::Datasheet>(sheet);
  return plan;
}

}  // namespace

TEST_CASE("every ripple of a filter is in the curve, within 0.02 dB down to 3 dB below its top") {
  double worst = 0.0;
  int compared = 0;
  for (int order = 1; order <= 15; ++order)
    for (const double ripple : {0.1, 0.5, 3.0, 10.0})
      for (const int width : {2, 24, 60}) {
        CAPTURE(order);
        CAPTURE(ripple);
        CAPTURE(width);
        const auto centre = Frequency::megahertz(520);
        const auto wide = Frequency::megahertz(width);
        const auto plan = rack_with(order, ripple, wide, centre);
        const auto points =
            rack::response_of(plan.nodes.front(), {{}, 0, centre, true, ""},
                              {Frequency::megahertz(470), Frequency::megahertz(700)})
                .points;
        CHECK(points.size() <= 800);
        const auto edges = Band::around(centre, wide);
        double here = 0.0;
        constexpr int steps = 3'000;
        for (int i = 0; i <= steps; ++i) {
          const auto at = edges.low - wide / 10 + i * (wide + wide / 5) / steps;
          const double truly = -attenuation(order, ripple, edges, at.megahertz());
          if (truly < -3.0) continue;
          here = std::max(here, std::abs(rf::interpolated(points, at).value() - truly));
          ++compared;
        }
        CHECK(here <= 0.02);
        worst = std::max(worst, here);
      }
  MESSAGE("farthest from the closed form: " << worst << " dB, of " << compared << " figures");
  CHECK(compared > 100'000);
}
