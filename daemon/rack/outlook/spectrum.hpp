// SPDX-License-Identifier: Apache-2.0
#pragma once
// A segment as one looks at it over frequency: how strong each carrier arrives at each antenna,
// what each node makes of any frequency, and which products, of its amplifier and of all that
// follows, land on carriers that it has to hear.

#include <optional>
#include <string>
#include <vector>

#include "daemon/rack/levels/node_response.hpp"
#include "daemon/rack/levels/tuned_node.hpp"
#include "daemon/rack/outlook/recommend.hpp"
#include "daemon/rack/values/carriers_at.hpp"

namespace catwalk::rack {

struct SpectrumProduct {
  std::vector<std::string> carriers;  // as ExplainedProduct has them
  rf::Frequency at;
  rf::PowerLevel level;  // referred to the antenna's terminals, as carriers are
  plan::CarrierName lands_on;
  rf::Order order = rf::Order::third;
};

// How a carrier comes through a node: the gain at its frequency, and how far below the highest of
// the response that is, 0 or more.
struct ThroughNode {
  rf::Decibel gain;
  rf::Decibel down;
};

// What a node does with certain settings: to any frequency, and to the carriers of a segment.
struct NodePicture {
  NodeResponse response;
  CarrierNames own;
  WindowOnCarriers window;
  std::vector<ThroughNode> through;  // of the segment's carriers in their order
};
// Precondition: the settings are of the node's type, or without power.
NodePicture picture_of(const plan::RackPlan& plan, const plan::Segment& segment,
                       const plan::Node& node, const plan::Settings& settings,
                       const rf::Band& span);

struct NodeSpectrum {
  plan::NodeName node;
  // Of the segment's carriers in their order: each at its strongest, at the antenna's terminals.
  std::vector<std::optional<rf::PowerLevel>> levels;
  bool passive = false;
  // Absent: its settings are not known, or not of its type.
  std::optional<NodePicture> picture;
  // The strongest three on each carrier that the node serves, where all on it together come within
  // `worth_telling` of the thermal noise in its bandwidth; weaker ones harm nobody.
  std::vector<SpectrumProduct> products;
};
constexpr auto worth_telling = rf::Decibel::of(20.0);

// All nodes in the plan's order. Some milliseconds for each where carriers are many and loud.
std::vector<NodeSpectrum> spectrum_of(const plan::RackPlan& plan, const plan::Segment& segment,
                                      const SettingsOf& settings, const rf::Band& span,
                                      const ForEach& for_each = one_after_the_other);

// Of each carrier of `segment`: is it on the air while the rack is in `active`, or, where `entered`
// is not null, between the two (way/live_between.hpp)?
std::vector<bool> live_in(const plan::Segment& segment, const plan::Segment& active,
                          const plan::Segment* entered);

}  // namespace catwalk::rack
