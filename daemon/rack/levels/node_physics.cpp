// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/levels/node_physics.hpp"

#include <algorithm>
#include <functional>
#include <span>
#include <utility>

#include "daemon/rack/levels/chain_stages.hpp"
#include "daemon/rack/levels/other_branch.hpp"
#include "daemon/rack/levels/other_node.hpp"
#include "daemon/rack/levels/powers.hpp"
#include "daemon/rack/values/wording.hpp"
#include "daemon/rf/desensitisation.hpp"

namespace catwalk::rack {
namespace {

using rf::Frequency;
using rf::PowerLevel;

const plan::Chain nothing_behind;  // amplifiers are known by where they stand

}  // namespace

NodePhysics::NodePhysics(const plan::RackPlan& plan, const plan::Segment& segment,
                         const plan::Node& node)
    : plan_{&plan}, segment_{&segment}, node_{&node}, carriers_{carriers_at(plan, segment, node)} {
  walk_lead();
}

NodePhysics NodePhysics::to_combiner(const plan::RackPlan& plan, const plan::Segment& segment,
                                     const plan::Node& node, const plan::Chain& arm) {
  NodePhysics physics{plan, segment, node};
  physics.add_node_alone(node.feed ? *node.feed : nothing_behind, arm);
  physics.mixing_ = physics.mixing_of(physics.of_known_level());
  return physics;
}

NodePhysics::NodePhysics(const plan::RackPlan& plan, const plan::Segment& segment,
                         const plan::Node& node, const SettingsOf& others)
    : NodePhysics{plan, segment, node, others,
                  Neighbours{[&](const plan::Node& other, const plan::Chain& arm) {
                    return std::make_shared<const OtherNode>(plan, segment, other, arm,
                                                             others(other.name));
                  }}} {}

NodePhysics::NodePhysics(const plan::RackPlan& plan, const plan::Segment& segment,
                         const plan::Node& node, const SettingsOf& others,
                         const Neighbours& neighbours)
    : NodePhysics{plan, segment, node} {
  transmitter_noise_ = noise_density_of(carriers_);
  transmitter_products_ = transmitter_products(carriers_);
  if (node.feed)
    for (const auto& receiver : plan.receivers)
      for (const auto& branch : receiver.branches)
        if (branch.has(node.name)) {
          add_outlet(receiver, branch, neighbours);
          count_antennas(outlets_.back(), branch, others);
        }
  if (outlets_.empty()) add_node_alone(nothing_behind, nothing_behind);
  find_intruders();
  for (auto& outlet : outlets_)
    if (outlet.receiver != nullptr && outlet.receiver->input) {
      outlet.strays = strays_of(*outlet.receiver->input, carriers_, outlet.served);
      find_blockers(outlet);
    }
  mixing_ = mixing_of(of_known_level());
  for (auto& outlet : outlets_)
    if (outlet.combined) outlet.mixing = mixing_of(of_known_level(outlet));
}

void NodePhysics::walk_lead() {
  const auto amplifies = [](const plan::ChainPart& part) {
    return std::holds_alternative<plan::RackAmplifier>(part);
  };
  for (const auto& part : node_->lead)
    if (amplifies(part)) lead_amplifiers_.push_back(&std::get<plan::RackAmplifier>(part));
  leads_.reserve(carriers_.size());
  std::vector<rf::Stage> stages;
  for (const auto& carrier : carriers_) {
    stages.clear();
    Lead lead;
    std::size_t first = 0;  // stage that amplifies
    for (const auto& part : node_->lead) {
      if (amplifies(part)) {
        if (lead.to_amplifier.empty()) first = stages.size();
        lead.to_amplifier.push_back(lead.gain);
      }
      stages.push_back(stage_of(part, carrier.carrier->frequency));
      lead.gain = lead.gain + stages.back().gain;
    }
    lead.noise_figure = rf::cascade(stages).noise_figure;
    if (!lead_amplifiers_.empty())
      lead.intercepts = rf::cascade(std::span{stages}.subspan(first)).intercepts();
    leads_.push_back(std::move(lead));
  }
}

std::vector<std::size_t> NodePhysics::of_known_level() const {
  std::vector<std::size_t> known;
  for (std::size_t i = 0; i < carriers_.size(); ++i)
    if (carriers_[i].strongest) known.push_back(i);
  return known;
}

std::vector<std::size_t> NodePhysics::of_known_level(const Outlet& outlet) const {
  std::vector<std::size_t> known;
  for (std::size_t i = 0; i < carriers_.size(); ++i)
    if (carriers_[i].strongest || outlet.brought[i] > 0.0) known.push_back(i);
  return known;
}

template <class Visit>
void NodePhysics::for_each_amplifier(const Visit& visit) const {
  visit(node_->name.text, node_->datasheet->output_ip5_dbm.has_value());
  const auto all = [&](const std::vector<const plan::RackAmplifier*>& amplifiers) {
    for (const auto* amplifier : amplifiers)
      visit(amplifier->name, amplifier->output_ip5.has_value());
  };
  all(lead_amplifiers_);
  for (const auto& outlet : outlets_) all(outlet.amplifiers);
}

bool NodePhysics::makes_fifth_order() const {
  bool any = false;
  for_each_amplifier([&](const std::string&, bool fifth) { any = any || fifth; });
  return any;
}

std::vector<std::string> NodePhysics::without_fifth_order() const {
  std::vector<std::string> names;
  for_each_amplifier([&](const std::string& name, bool fifth) {
    if (!fifth && std::ranges::find(names, name) == names.end()) names.push_back(name);
  });
  return names;
}

// Left out is who, with whatever of the others, gives products far from every channel: a camera
// link at 2.2 GHz beside microphones at 500 MHz, but not two such links.
std::vector<std::size_t> NodePhysics::mixing_of(std::vector<std::size_t> mixing) const {
  // As far beside a channel as a product reaches.
  Frequency beyond;
  const bool fifth = makes_fifth_order();
  for (const auto i : mixing) {
    const auto emission = carriers_[i].carrier->emission();
    beyond = std::max(beyond, fifth ? emission.reach_of_fifth() : emission.reach());
  }
  std::vector<rf::Band> channels;
  for (const auto& carrier : carriers_) {
    if (!carrier.served) continue;
    const auto band = carrier.carrier->band();
    channels.push_back({band.low - beyond, band.high + beyond});
  }
  const auto reaches = [&](Frequency low, Frequency high) {
    return std::ranges::any_of(channels, [&](const rf::Band& channel) {
      // A product below zero is one at the same frequency above.
      return (low <= channel.high && high >= channel.low) ||
             (-high <= channel.high && -low >= channel.low);
    });
  };
  const auto mixes = [&](std::size_t place) {
    std::optional<rf::Band> others;
    for (const auto i : mixing) {
      if (i == place) continue;
      const auto at = carriers_[i].carrier->frequency;
      others = others ? rf::Band{std::min(others->low, at), std::max(others->high, at)}
                      : rf::Band{at, at};
    }
    if (!others) return false;
    const auto at = carriers_[place].carrier->frequency;
    const auto [low, high] = *others;
    return reaches(at + low - high, at + high - low) ||  // one + other − another
           reaches(at + at - high, at + at - low) ||     // twice one − other
           reaches(low + low - at, high + high - at) ||  // other + another − one
           (fifth && (reaches(3 * at - 2 * high, 3 * at - 2 * low) ||
                      reaches(3 * low - 2 * at, 3 * high - 2 * at)));
  };
  for (auto silent = mixing.end();; mixing.erase(silent)) {
    silent = std::ranges::find_if_not(mixing, mixes);
    if (silent == mixing.end()) return mixing;
  }
}

template <class Strongest>
double NodePhysics::products_in(std::size_t channel, const Strongest& strongest) const {
  double power = 0.0;
  const auto& all = transmitter_products_;
  for (auto product = std::ranges::lower_bound(all, channel, {}, &TransmitterProduct::in);
       product != all.end() && product->in == channel; ++product)
    power += product->share * power_of(strongest(product->own), product->over_own);
  return power;
}

double NodePhysics::transmitter_products_in(std::size_t channel) const {
  return products_in(channel, [&](std::size_t i) { return carriers_[i].strongest; });
}

std::vector<NodePhysics::MadeOutside> NodePhysics::made_outside(
    const plan::Carrier& channel) const {
  std::vector<MadeOutside> all;
  for (const auto& product : transmitter_products_) {
    const auto& own = carriers_[product.own];
    if (carriers_[product.in].carrier != &channel || !own.strongest) continue;
    all.push_back({own.carrier, carriers_[product.other].carrier, product.at,
                   *own.strongest + product.over_own + rf::Decibel::from_ratio(product.share),
                   product.share});
  }
  std::ranges::stable_sort(all, std::greater{}, &MadeOutside::level);
  return all;
}

void NodePhysics::find_intruders() {
  for (std::size_t i = 0; i < carriers_.size(); ++i) {
    if (!carriers_[i].served) continue;
    const auto channel = carriers_[i].carrier->band();
    for (std::size_t j = 0; j < carriers_.size(); ++j) {
      const auto band = carriers_[j].carrier->band();
      if (j == i || !band.overlaps(channel)) continue;
      intruders_.push_back({i, j, overlapping_share(band, channel)});
    }
  }
}

// In the channel itself a carrier is no blocker.
void NodePhysics::find_blockers(Outlet& outlet) const {
  const auto& input = *outlet.receiver->input;
  if (input.blocking.empty()) return;
  for (const auto k : outlet.served) {
    const auto& own = *carriers_[k].carrier;
    auto& all = outlet.blocking.emplace_back(carriers_.size(), 0.0);
    for (std::size_t i = 0; i < carriers_.size(); ++i) {
      if (i == k || carriers_[i].carrier->band().overlaps(own.band())) continue;
      const auto offset = carriers_[i].carrier->frequency - own.frequency;
      if (const auto rejection = input.blocking_rejection(offset < Frequency{} ? -offset : offset))
        all[i] = rf::milliwatts(rf::blocking_equivalent(PowerLevel{}, *rejection));
    }
  }
}

const std::vector<std::shared_ptr<const OtherNode>>& NodePhysics::others(
    const plan::Receiver& receiver) const {
  static const std::vector<std::shared_ptr<const OtherNode>> none;
  const auto outlet = std::ranges::find(outlets_, &receiver, &Outlet::receiver);
  return outlet == outlets_.end() ? none : outlet->others;
}

std::string NodePhysics::name_at(Frequency frequency) const {
  for (const auto& carrier : carriers_)
    if (carrier.carrier->frequency == frequency) return carrier.carrier->name.text;
  return in_words(frequency);
}

std::vector<std::string> NodePhysics::makers_of(const rf::Product& product) const {
  std::vector<std::string> names{name_at(product.plus[0])};
  if (!product.two_signal()) names.push_back(name_at(product.plus[1]));
  names.push_back(name_at(product.minus));
  return names;
}

std::string NodePhysics::words_for(const rf::Product& product) const {
  const auto first = name_at(product.plus[0]);
  if (product.order == rf::Order::fifth)
    return "three times " + first + " minus twice " + name_at(product.minus);
  return (product.two_signal() ? "twice " + first : first + " plus " + name_at(product.plus[1])) +
         " minus " + name_at(product.minus);
}

bool NodePhysics::has_numbers() const {
  return node_->feed || std::ranges::any_of(carriers_, [](const CarrierAtAntenna& carrier) {
           return carrier.strongest.has_value();
         });
}

// One carrier on its way behind the node, part after part.
struct NodePhysics::Walk {
  rf::Frequency frequency;
  Behind behind = {};
  double foreign = 0.0;  // mW of other antennas, where it is now
  std::vector<rf::Stage> stages = {};

  void pass(const rf::Stage& stage) {
    behind.gain = behind.gain + stage.gain;
    foreign *= stage.gain.ratio();
    behind.foreign_noise *= stage.gain.ratio();
    behind.foreign_products *= stage.gain.ratio();
    behind.made_by_others *= stage.gain.ratio();
    stages.push_back(stage);
  }
  void follow(const plan::Chain& chain) {
    for (const auto& part : chain) {
      if (std::holds_alternative<plan::RackAmplifier>(part)) {
        behind.to_amplifier.push_back(behind.gain);
        behind.foreign.push_back(foreign);
      }
      pass(stage_of(part, frequency));
    }
  }
};

// Receivers behind one combiner share what its antennas bring.
std::vector<std::shared_ptr<const OtherNode>> NodePhysics::on(const plan::Branch& branch,
                                                              const Neighbours& neighbours) {
  std::vector<std::shared_ptr<const OtherNode>> others;
  for (const auto& name : branch.nodes) {
    const auto* other = plan_->find(name);
    if (other == nullptr || other == node_) continue;
    const auto& arm = branch.arm_of(name).chain;
    const auto known = std::ranges::find_if(others_, [&](const auto& antenna) {
      return &antenna->node() == other && antenna->arm() == arm;
    });
    others.push_back(known == others_.end() ? others_.emplace_back(neighbours(*other, arm))
                                            : *known);
  }
  return others;
}

void NodePhysics::add_outlet(const plan::Receiver& receiver, const plan::Branch& branch,
                             const Neighbours& neighbours) {
  const bool combined = branch.nodes.size() > 1;
  const rf::Combiner combiner{static_cast<int>(branch.nodes.size()), branch.combiner_excess_loss};

  const auto& arm = branch.arm_of(node_->name).chain;
  const auto to_combiner = node_->feed->size() + arm.size();

  Outlet outlet{.receiver = &receiver,
                .amplifiers = amplifiers_of({&*node_->feed, &arm, &branch.chain}),
                .combined = combined,
                .others = on(branch, neighbours)};
  for (std::size_t i = 0; i < carriers_.size(); ++i) {
    const auto& carrier = *carriers_[i].carrier;
    Walk walk{carrier.frequency};
    walk.follow(*node_->feed);
    walk.follow(arm);
    if (combined) {
      std::vector<rf::Branch> brought;
      for (const auto& other : outlet.others) {
        brought.push_back(other->to(i));
        walk.foreign += other->arriving(i);
        const double passed = other->to(i).gain.ratio();
        walk.behind.foreign_noise += other->transmitter_noise() * passed;
        walk.behind.foreign_products +=
            products_in(i, [&](std::size_t k) { return other->strongest(k); }) * passed;
        walk.behind.made_by_others += other->products(i) * passed;
      }
      outlet.brought.push_back(walk.foreign);
      outlet.to_combiner.push_back(walk.behind.gain);
      walk.pass(rf::plain::combiner_stage(brought, combiner));
    }
    walk.follow(branch.chain);
    walk.behind.foreign.push_back(walk.foreign);
    outlet.behind.push_back(std::move(walk.behind));

    const bool due = carriers_[i].served &&
                     std::ranges::find(carrier.receivers, receiver.name) != carrier.receivers.end();
    if (!due) continue;
    if (receiver.input) walk.stages.push_back(front_end(*receiver.input));
    outlet.served.push_back(i);
    outlet.cascades.push_back(rf::cascade(walk.stages));
    if (!combined) continue;
    const std::span stages{walk.stages};
    outlet.feeds.push_back(rf::cascade(stages.first(to_combiner)));
    outlet.rests.push_back(rf::cascade(stages.subspan(to_combiner)));
  }
  outlets_.push_back(std::move(outlet));
}

void NodePhysics::count_antennas(Outlet& outlet, const plan::Branch& own,
                                 const SettingsOf& others) {
  const auto& receiver = *outlet.receiver;
  outlet.antennas.assign(outlet.served.size(), 1);
  if (!plan_->limits.link_availability || !receiver.input) return;  // nobody asks
  for (const auto& branch : receiver.branches) {
    if (&branch == &own) continue;
    const OtherBranch other{*plan_, *segment_, receiver, branch, others};
    for (std::size_t k = 0; k < outlet.served.size(); ++k)
      if (other.hears(outlet.served[k])) ++outlet.antennas[k];
    for (const auto& antenna : other.antennas())
      beside_.push_back({antenna.node, antenna.settings});
  }
}

void NodePhysics::add_node_alone(const plan::Chain& feed, const plan::Chain& arm) {
  Outlet outlet;
  outlet.amplifiers = amplifiers_of({&feed, &arm});
  for (std::size_t i = 0; i < carriers_.size(); ++i) {
    Walk walk{carriers_[i].carrier->frequency};
    walk.follow(feed);
    walk.follow(arm);
    walk.behind.foreign.push_back(0.0);
    outlet.behind.push_back(std::move(walk.behind));
    if (!carriers_[i].served) continue;
    outlet.served.push_back(i);
    outlet.antennas.push_back(1);
    outlet.cascades.push_back(rf::cascade(walk.stages));
  }
  outlets_.push_back(std::move(outlet));
}

}  // namespace catwalk::rack
