// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/levels/node_response.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "daemon/rack/levels/chain_stages.hpp"

namespace catwalk::rack {
namespace {

using rf::Band;
using rf::Frequency;

constexpr auto lowest_frequency = Frequency::kilohertz(1);

Band together(const std::optional<Band>& a, const Band& b) {
  return a ? Band{std::min(a->low, b.low), std::max(a->high, b.high)} : b;
}

// Where the ripples of a filter of that many resonators are looked for, and some between: Chebyshev
// polynomials turn at the cosines of equal angles, so that ripples crowd at the edges.
constexpr int most_resonators = 15;
std::vector<Frequency> looks_within(const Band& passband) {
  constexpr int looks = 4 * most_resonators;
  const auto middle = passband.low + passband.width() / 2;
  const double half = static_cast<double>(passband.width().hertz()) / 2.0;
  std::vector<Frequency> all;
  for (int k = 1; k < looks; ++k)
    all.push_back(middle +
                  Frequency::hertz(std::llround(half * std::cos(k * std::numbers::pi / looks))));
  return all;
}

Band sensible(Band band) {
  band.low = std::max(band.low, lowest_frequency);
  band.high = std::max(band.high, band.low + Frequency::kilohertz(1'000));
  return band;
}

}  // namespace

NodeGain::NodeGain(const plan::Node& node, const plan::Settings& settings)
    : node_{&node},
      amplifier_{passive_node(*node.datasheet).gain},
      filter_{node.datasheet->tuned(settings)} {
  if (filter_) amplifier_ = rf::Decibel::of(settings.gain);
}

rf::Decibel NodeGain::at(Frequency frequency) const {
  auto gain = amplifier_;
  for (const auto& part : node_->lead) gain = gain + stage_of(part, frequency).gain;
  return filter_ ? gain - filter_->attenuation(frequency) : gain;
}

Band span_of_show(const plan::RackPlan& plan) {
  std::optional<Band> all;
  for (const auto& segment : plan.segments) {
    for (const auto& lane : segment.lanes) all = together(all, lane.band);
    for (const auto& carrier : segment.carriers) all = together(all, carrier.band());
  }
  for (const auto& node : plan.nodes)
    for (const auto& filter : node.datasheet->filters) {
      if (all) break;
      all = filter.tuning ? together(filter.passband(filter.tuning->lowest),
                                     filter.passband(filter.tuning->highest))
                          : filter.fixed;
    }
  if (!all) return {Frequency::megahertz(1), Frequency::megahertz(1'000)};
  return sensible(all->widened(all->width() / 20));
}

NodeResponse response_of(const plan::Node& node, const plan::Settings& settings, const Band& span) {
  const NodeGain gain{node, settings};
  NodeResponse response;
  auto over = span;
  std::vector<Frequency> exact;
  rf::Sampling sampling;
  if (!gain.passive()) {
    const auto& filter = node.datasheet->filters[settings.filter];
    const auto passband = filter.passband(settings.centre);
    response.passband = passband;
    exact = {passband.low, passband.low + passband.width() / 2, passband.high};
    sampling.looks = looks_within(passband);
    // A ripple at the edge of 15 resonators is a hundredth of the passband wide.
    sampling.raster = std::clamp(passband.width() / 20'000, Frequency::hertz(1), sampling.raster);
    if (!span.contains(passband))
      over = sensible(together(span, passband.widened(passband.width() / 2)));
  }
  response.points =
      rf::sampled([&gain](Frequency at) { return gain.at(at); }, over, exact, sampling);
  return response;
}

}  // namespace catwalk::rack
