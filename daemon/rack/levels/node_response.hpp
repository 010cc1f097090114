// SPDX-License-Identifier: Apache-2.0
#pragma once
// What a node does to any frequency: its gain from the antenna's terminals to its output, lead and
// filter counted. What is behind it is not: feed, combiner, chain.

#include <optional>
#include <vector>

#include "daemon/plan/rack_plan.hpp"
#include "daemon/plan/settings.hpp"
#include "daemon/rf/sampled_curve.hpp"

namespace catwalk::rack {

// The gain at one frequency: for settings that its datasheet reaches, the same numbers as
// node_physics.hpp has for a carrier there. Beyond them, and without power, a node is what the
// datasheet says of a passive one, at all frequencies.
class NodeGain {
 public:
  // Keeps a reference to `node`.
  NodeGain(const plan::Node& node, const plan::Settings& settings);
  rf::Decibel at(rf::Frequency frequency) const;  // frequency > 0

  bool passive() const { return !filter_; }

 private:
  const plan::Node* node_;
  rf::Decibel amplifier_;  // or what the passive node does
  std::optional<plan::TunedFilter> filter_;
};

// What one looks at: all lanes and carriers of all segments, and a twentieth more at each side.
// Without any, what the nodes' filters can pass. low < high, low > 0.
rf::Band span_of_show(const plan::RackPlan& plan);

struct NodeResponse {
  std::optional<rf::Band> passband;    // absent: passive, and passes everything
  std::vector<rf::CurvePoint> points;  // frequencies rising, at most 800
};
// Over `span`, and over as much again as the passband is wide where it reaches beyond. The edges of
// the passband are points. Lines between the points are within 0.02 dB of what is computed down to
// 3 dB below the highest, ripples of up to 15 resonators included.
NodeResponse response_of(const plan::Node& node, const plan::Settings& settings,
                         const rf::Band& span);

}  // namespace catwalk::rack
