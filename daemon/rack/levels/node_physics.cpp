// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/levels/node_physics.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <utility>

#include "daemon/rack/levels/chain_stages.hpp"
#include "daemon/rack/levels/other_node.hpp"
#include "daemon/rack/values/wording.hpp"
#include "daemon/rf/desensitisation.hpp"

namespace catwalk::rack {
namespace {

using plan::FilterPosition;
using rf::Decibel;
using rf::Frequency;
using rf::PowerLevel;

double power_of(const std::optional<PowerLevel>& level, Decibel gain) {
  return level ? rf::milliwatts(*level + gain) : 0.0;
}

// Two distortions of one signal that add in phase: their amplitudes add.
PowerLevel in_phase(PowerLevel a, PowerLevel b) {
  const double amplitude = std::sqrt(rf::milliwatts(a)) + std::sqrt(rf::milliwatts(b));
  return rf::from_milliwatts(amplitude * amplitude);
}

// The intercept of two stages that distort the same signals in phase, both referred to one input
// (rf/cascade.hpp).
PowerLevel in_cascade(PowerLevel a, PowerLevel b) {
  return rf::from_milliwatts(1.0 / (1.0 / rf::milliwatts(a) + 1.0 / rf::milliwatts(b)));
}

}  // namespace

std::optional<Decibel> CarrierBudget::margin() const {
  if (!weakest || !needed) return std::nullopt;
  return *weakest - *needed;
}

CarrierBudget CarrierBudget::with_intermodulation(PowerLevel level) const {
  auto other = *this;
  other.intermodulation = level;
  other.desensitisation = rf::desensitisation(other.interference(), noise);
  if (needed) other.needed = *needed - desensitisation + other.desensitisation;
  return other;
}

Interference CarrierBudget::most_of_interference() const {
  const auto most = std::max({intermodulation, transmitter_noise, blocking, co_channel});
  return most == intermodulation     ? Interference::intermodulation
         : most == transmitter_noise ? Interference::transmitter_noise
         : most == blocking          ? Interference::blocking
                                     : Interference::co_channel;
}

NodePhysics::NodePhysics(const plan::RackPlan& plan, const plan::Segment& segment,
                         const plan::Node& node, const SettingsOf& others)
    : plan_{&plan}, segment_{&segment}, node_{&node}, carriers_{carriers_at(plan, segment, node)} {
  lead_loss_.reserve(carriers_.size());
  std::vector<rf::Stage> stages;
  for (const auto& [carrier, served, strongest, weakest] : carriers_) {
    stages.clear();
    append(stages, node.lead, carrier->frequency);
    lead_loss_.push_back(-rf::cascade(stages).gain.value());
    if (carrier->noise_density && strongest)
      transmitter_noise_ += rf::milliwatts(*strongest + *carrier->noise_density);
  }
  if (node.feed)
    for (const auto& receiver : plan.receivers)
      for (const auto& branch : receiver.branches)
        if (std::ranges::find(branch.nodes, node.name) != branch.nodes.end())
          add_outlet(receiver, branch, others);
  if (outlets_.empty()) add_node_alone();
  find_intruders();
  find_mixing();
}

std::vector<std::size_t> NodePhysics::of_known_level() const {
  std::vector<std::size_t> known;
  for (std::size_t i = 0; i < carriers_.size(); ++i)
    if (carriers_[i].strongest) known.push_back(i);
  return known;
}

// Left out is who, with whatever of the others, gives products far from every channel: a camera
// link at 2.2 GHz beside microphones at 500 MHz, but not two such links.
void NodePhysics::find_mixing() {
  std::vector<rf::Band> channels;
  for (const auto& one : carriers_)
    if (one.served) channels.push_back(one.carrier->band());
  const auto reaches = [&](Frequency low, Frequency high) {
    return std::ranges::any_of(channels, [&](const rf::Band& channel) {
      // A product below zero is one at the same frequency above.
      return (low <= channel.high && high >= channel.low) ||
             (-high <= channel.high && -low >= channel.low);
    });
  };
  mixing_ = of_known_level();
  const auto mixes = [&](std::size_t one) {
    std::optional<rf::Band> others;
    for (const auto i : mixing_) {
      if (i == one) continue;
      const auto at = carriers_[i].carrier->frequency;
      others = others ? rf::Band{std::min(others->low, at), std::max(others->high, at)}
                      : rf::Band{at, at};
    }
    if (!others) return false;
    const auto at = carriers_[one].carrier->frequency;
    const auto [low, high] = *others;
    return reaches(at + low - high, at + high - low) ||  // one + other − another
           reaches(at + at - high, at + at - low) ||     // twice one − other
           reaches(low + low - at, high + high - at);    // other + another − one
  };
  for (auto silent = mixing_.end();; mixing_.erase(silent)) {
    silent = std::ranges::find_if_not(mixing_, mixes);
    if (silent == mixing_.end()) return;
  }
}

void NodePhysics::find_intruders() {
  for (std::size_t i = 0; i < carriers_.size(); ++i) {
    if (!carriers_[i].served) continue;
    const auto channel = carriers_[i].carrier->band();
    for (std::size_t j = 0; j < carriers_.size(); ++j) {
      const auto band = carriers_[j].carrier->band();
      if (j == i || !band.overlaps(channel)) continue;
      const auto in = std::min(band.high, channel.high) - std::max(band.low, channel.low);
      intruders_.push_back(
          {i, j, static_cast<double>(in.hertz()) / static_cast<double>(band.width().hertz())});
    }
  }
}

std::string NodePhysics::name_at(Frequency frequency) const {
  for (const auto& one : carriers_)
    if (one.carrier->frequency == frequency) return one.carrier->name.text;
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
  return (product.two_signal() ? "twice " + first : first + " plus " + name_at(product.plus[1])) +
         " minus " + name_at(product.minus);
}

bool NodePhysics::has_numbers() const {
  return node_->feed || std::ranges::any_of(carriers_, [](const CarrierAtAntenna& carrier) {
           return carrier.strongest.has_value();
         });
}

void NodePhysics::add_outlet(const plan::Receiver& receiver, const plan::Branch& branch,
                             const SettingsOf& settings_of) {
  std::vector<OtherNode> others;
  for (const auto& name : branch.nodes)
    if (const auto* other = plan_->find(name); other != nullptr && other != node_)
      others.emplace_back(*plan_, *segment_, *other, settings_of(name));
  const bool combined = branch.nodes.size() > 1;
  const rf::Combiner combiner{static_cast<int>(branch.nodes.size()), branch.combiner_excess_loss};

  Outlet outlet{&receiver, {}, {}, {}, {}};
  const auto note_amplifiers = [&](const plan::Chain& chain) {
    for (const auto& part : chain)
      if (const auto* amplifier = std::get_if<plan::RackAmplifier>(&part))
        outlet.amplifiers.push_back(amplifier);
  };
  note_amplifiers(*node_->feed);
  note_amplifiers(branch.chain);

  std::vector<rf::Stage> stages;
  std::vector<rf::Branch> brought;
  for (std::size_t i = 0; i < carriers_.size(); ++i) {
    const auto& carrier = *carriers_[i].carrier;
    stages.clear();
    brought.clear();
    Behind behind;
    double foreign = 0.0;
    const auto follow = [&](const plan::Chain& chain) {
      for (const auto& part : chain) {
        const auto stage = stage_of(part, carrier.frequency);
        if (std::holds_alternative<plan::RackAmplifier>(part)) {
          behind.to_amplifier.push_back(behind.gain);
          behind.foreign.push_back(foreign);
        }
        behind.gain = behind.gain + stage.gain;
        foreign *= stage.gain.ratio();
        stages.push_back(stage);
      }
    };
    follow(*node_->feed);
    if (combined) {
      for (const auto& other : others) {
        brought.push_back(other.at(carrier.frequency));
        foreign += power_of(other.strongest(i), brought.back().gain);
      }
      const auto stage = rf::plain::combiner_stage(brought, combiner);
      behind.gain = behind.gain + stage.gain;
      foreign *= stage.gain.ratio();
      stages.push_back(stage);
    }
    follow(branch.chain);
    behind.foreign.push_back(foreign);
    outlet.behind.push_back(std::move(behind));

    const bool due = carriers_[i].served &&
                     std::ranges::find(carrier.receivers, receiver.name) != carrier.receivers.end();
    if (!due) continue;
    if (receiver.input) stages.push_back(front_end(*receiver.input));
    outlet.served.push_back(i);
    outlet.cascades.push_back(rf::cascade(stages));
  }
  outlets_.push_back(std::move(outlet));
}

void NodePhysics::add_node_alone() {
  Outlet outlet;
  for (std::size_t i = 0; i < carriers_.size(); ++i) {
    outlet.behind.push_back({{}, {}, {0.0}});
    if (!carriers_[i].served) continue;
    outlet.served.push_back(i);
    outlet.cascades.emplace_back();
  }
  outlets_.push_back(std::move(outlet));
}

TunedNode::TunedNode(const NodePhysics& physics)
    : physics_{&physics}, before_{physics.lead_loss_}, after_(before_.size(), 0.0) {
  for (std::size_t i = 0; i < physics.carriers_.size(); ++i)
    if (physics.carriers_[i].served) channels_.push_back(i);
}

TunedNode::TunedNode(const NodePhysics& physics, std::uint8_t filter, Frequency centre,
                     SharedSearches* shared)
    : TunedNode{physics} {
  shared_ = shared;
  const auto& sheet = *physics.node_->datasheet;
  const auto response = sheet.tuned(filter, centre);
  powered_ = response.has_value();
  if (!response) return;
  auto& losses = sheet.filter_position == FilterPosition::before_amplifier ? before_ : after_;
  for (std::size_t i = 0; i < losses.size(); ++i)
    losses[i] += response->attenuation(physics.carriers_[i].carrier->frequency).value();
}

TunedNode::TunedNode(const NodePhysics& physics, const plan::Settings& settings,
                     SharedSearches* shared)
    : TunedNode{settings.power ? TunedNode{physics, settings.filter, settings.centre, shared}
                               : passive(physics, shared)} {}

TunedNode TunedNode::passive(const NodePhysics& physics, SharedSearches* shared) {
  TunedNode node{physics};
  node.powered_ = false;
  node.shared_ = shared;
  return node;
}

rf::IntermodulationSearch TunedNode::search(const std::vector<double>& losses,
                                            const std::vector<std::size_t>& carriers) const {
  std::vector<rf::Tone> tones;
  for (const auto i : carriers) {
    const auto& one = physics_->carriers_[i];
    tones.push_back({one.carrier->frequency, *one.strongest - Decibel::of(losses[i])});
  }
  std::vector<rf::Band> channels;
  for (const auto i : channels_) channels.push_back(physics_->carriers_[i].carrier->band());
  return {std::move(tones), std::move(channels)};
}

const rf::IntermodulationSearch& TunedNode::shared_search(SharedSearches::One& one,
                                                          const std::vector<double>& losses) const {
  if (one.search && one.losses == losses) return *one.search;
  one.losses = losses;
  if (!one.search) return one.search.emplace(search(losses, physics_->mixing_));
  std::vector<PowerLevel> levels;
  for (const auto i : physics_->mixing_)
    levels.push_back(*physics_->carriers_[i].strongest - Decibel::of(losses[i]));
  one.search->set_levels(levels);
  return *one.search;
}

std::vector<double> TunedNode::losses_behind() const {
  auto losses = before_;
  for (std::size_t i = 0; i < losses.size(); ++i) losses[i] += after_[i];
  return losses;
}

const rf::IntermodulationSearch& TunedNode::search_at_amplifier() const {
  if (shared_ != nullptr) return shared_search(shared_->at_amplifier_, before_);
  if (!at_amplifier_) at_amplifier_.emplace(search(before_, physics_->mixing_));
  return *at_amplifier_;
}

bool TunedNode::filtered_behind() const {
  return std::ranges::any_of(after_, [](double loss) { return loss != 0.0; });
}

const rf::IntermodulationSearch& TunedNode::search_behind() const {
  if (shared_ != nullptr) return shared_search(shared_->behind_, losses_behind());
  if (!behind_) behind_.emplace(search(losses_behind(), physics_->mixing_));
  return *behind_;
}

template <class Visit>
void TunedNode::for_each_distorting(const rf::Stage& own, const rf::Cascade& behind,
                                    std::size_t carrier, const Visit& visit) const {
  const auto here = own.input_ip3();
  const auto later = behind.input_ip3 - own.gain;
  if (!filtered_behind()) {
    const auto both = in_cascade(here, later);
    if (both < rf::no_limit()) visit(search_at_amplifier(), both, Decibel{});
    return;
  }
  if (here < rf::no_limit()) visit(search_at_amplifier(), here, Decibel{});
  if (later < rf::no_limit()) visit(search_behind(), later, Decibel::of(after_[carrier]));
}

// At the antenna's terminals.
PowerLevel TunedNode::intermodulation_on(std::size_t carrier, const rf::Stage& own,
                                         const rf::Cascade& behind) const {
  auto all = rf::no_power();
  for_each_distorting(own, behind, carrier,
                      [&](const auto& distortion, PowerLevel ip3, Decibel lost) {
                        all = in_phase(all, distortion.level(channel_of(carrier), ip3) + lost);
                      });
  return all + Decibel::of(before_[carrier]);
}

std::vector<PowerLevel> TunedNode::intermodulation_at(rf::Gain gain) const {
  const auto own = own_stage(gain);
  std::vector<PowerLevel> levels;
  for (const auto& outlet : physics_->outlets_)
    for (std::size_t k = 0; k < outlet.served.size(); ++k)
      levels.push_back(intermodulation_on(outlet.served[k], own, outlet.cascades[k]));
  return levels;
}

void TunedNode::try_carrier_at(std::size_t carrier, Frequency to) {
  const auto& one = physics_->carriers_[carrier];
  // Elsewhere it may mix with others than where it stands: all of known level are tones.
  const auto known = physics_->of_known_level();
  if (!tries_) {
    tries_ = true;
    shared_ = nullptr;
    at_amplifier_.emplace(search(before_, known));
    if (filtered_behind()) behind_.emplace(search(losses_behind(), known));
  }
  const auto tone =
      static_cast<std::size_t>(std::ranges::lower_bound(known, carrier) - known.begin());
  for (auto* search : {&at_amplifier_, &behind_}) {
    if (!*search) continue;
    if (one.strongest) (*search)->move(tone, {to, (*search)->tones()[tone].level});
    if (one.served)
      (*search)->move_channel(channel_of(carrier), rf::Band::around(to, one.carrier->bandwidth));
  }
}

std::vector<AmplifierLoad> TunedNode::amplifiers_at(rf::Gain gain) const {
  const auto own = own_stage(gain);
  const auto& carriers = physics_->carriers_;
  std::vector<AmplifierLoad> loads;
  // `arriving(i)`: mW of carrier i at the amplifier's input.
  const auto load = [&](const std::string& name, const rf::Stage& amplifier, auto&& arriving) {
    double sum = 0.0;
    double most = 0.0;
    const plan::Carrier* strongest = nullptr;
    for (std::size_t i = 0; i < carriers.size(); ++i) {
      const double power = arriving(i);
      sum += power;
      if (power > most) {
        most = power;
        strongest = carriers[i].carrier;
      }
    }
    if (strongest == nullptr) return;
    const auto input = rf::from_milliwatts(sum);
    loads.push_back({name, input, input + amplifier.gain, *amplifier.output_p1db, strongest});
  };
  if (powered_)
    load(physics_->node_->name.text, own,
         [&](std::size_t i) { return power_of(carriers[i].strongest, -Decibel::of(before_[i])); });
  std::vector<const plan::RackAmplifier*> done;
  for (const auto& outlet : physics_->outlets_)
    for (std::size_t k = 0; k < outlet.amplifiers.size(); ++k) {
      const auto* amplifier = outlet.amplifiers[k];
      // Receivers behind one splitter share what stands before it.
      if (std::ranges::find(done, amplifier) != done.end()) continue;
      done.push_back(amplifier);
      load(amplifier->name, stage_of(*amplifier, {}), [&](std::size_t i) {
        const auto& behind = outlet.behind[i];
        const auto so_far = own.gain - Decibel::of(before_[i] + after_[i]) + behind.to_amplifier[k];
        return power_of(carriers[i].strongest, so_far) + behind.foreign[k];
      });
    }
  return loads;
}

// Of one carrier, by this antenna and by others on the same combiner.
PowerLevel TunedNode::at_receiver(const NodePhysics::Outlet& outlet, const rf::Stage& own,
                                  std::size_t carrier) const {
  const auto& behind = outlet.behind[carrier];
  const auto gain = own.gain - Decibel::of(before_[carrier] + after_[carrier]) + behind.gain;
  return rf::from_milliwatts(power_of(physics_->carriers_[carrier].strongest, gain) +
                             behind.foreign.back());
}

void TunedNode::load_receivers(Budget& budget, const rf::Stage& own) const {
  const auto& carriers = physics_->carriers_;
  for (const auto& outlet : physics_->outlets_) {
    if (outlet.receiver == nullptr) continue;
    ReceiverLoad load{outlet.receiver, nullptr, rf::no_power()};
    for (std::size_t i = 0; i < carriers.size(); ++i) {
      const auto level = at_receiver(outlet, own, i);
      if (level <= load.level) continue;
      load.level = level;
      load.strongest = carriers[i].carrier;
    }
    if (load.strongest != nullptr) budget.receivers.push_back(load);
  }
}

namespace {

// What strong carriers beside a channel do to a receiver, referred to the receiver's input.
double blocking_power(const plan::ReceiverInput& input, const std::vector<PowerLevel>& levels,
                      const std::vector<CarrierAtAntenna>& carriers, std::size_t channel,
                      PowerLevel negligible) {
  double sum = 0.0;
  const auto& own = *carriers[channel].carrier;
  for (std::size_t i = 0; i < levels.size(); ++i) {
    if (i == channel || levels[i] < negligible) continue;
    // In the channel itself it is no blocker.
    if (carriers[i].carrier->band().overlaps(own.band())) continue;
    const auto offset = carriers[i].carrier->frequency - own.frequency;
    const auto rejection = input.blocking_rejection(offset < Frequency{} ? -offset : offset);
    const auto effect = rf::blocking_equivalent(levels[i], *rejection);
    if (effect >= negligible) sum += rf::milliwatts(effect);
  }
  return sum;
}

}  // namespace

// At the receiver's input.
PowerLevel TunedNode::in_channel(const NodePhysics::Outlet& outlet, const rf::Stage& own,
                                 std::size_t carrier) const {
  const auto& all = physics_->intruders_;
  const auto [first, last] = std::ranges::equal_range(all, carrier, {}, &NodePhysics::Intruder::in);
  double sum = 0.0;
  for (auto one = first; one != last; ++one)
    sum += one->share * rf::milliwatts(at_receiver(outlet, own, one->who));
  return rf::from_milliwatts(sum);
}

void TunedNode::weigh_carriers(Budget& budget, const rf::Stage& own, Products products) const {
  const auto& carriers = physics_->carriers_;
  const double own_noise = own.noise_figure.ratio();
  const double own_gain = own.gain.ratio();
  for (const auto& outlet : physics_->outlets_) {
    const auto* input =
        outlet.receiver != nullptr && outlet.receiver->input ? &*outlet.receiver->input : nullptr;
    const bool blocked = input != nullptr && !input->blocking.empty();
    std::vector<PowerLevel> levels;
    for (std::size_t i = 0; blocked && i < carriers.size(); ++i)
      levels.push_back(at_receiver(outlet, own, i));
    for (std::size_t k = 0; k < outlet.served.size(); ++k) {
      const auto i = outlet.served[k];
      const auto& carrier = *carriers[i].carrier;
      const auto& behind = outlet.cascades[k];
      const auto before = Decibel::of(before_[i]);
      const auto after = Decibel::of(after_[i]);

      CarrierBudget one{&carrier, outlet.receiver};
      one.chain_gain = own.gain - before - after + outlet.behind[i].gain;
      // Friis, with losses at T0 before and behind the amplifier: F = L·(F1 + (A·F2 − 1)/G1).
      one.noise_figure =
          before + Decibel::from_ratio(
                       own_noise + (after.ratio() * behind.noise_figure.ratio() - 1.0) / own_gain);
      one.noise = rf::thermal_noise(carrier.bandwidth) + one.noise_figure;
      if (products == Products::counted) one.intermodulation = intermodulation_on(i, own, behind);
      one.transmitter_noise = rf::from_milliwatts(physics_->transmitter_noise_ *
                                                  static_cast<double>(carrier.bandwidth.hertz()));
      if (blocked) {
        // Forty decibels below the noise nothing counts, not even a hundred of them.
        const auto negligible = one.noise + one.chain_gain - Decibel::of(40.0);
        one.blocking =
            rf::from_milliwatts(blocking_power(*input, levels, carriers, i, negligible)) -
            one.chain_gain;
      }
      one.co_channel = in_channel(outlet, own, i) - one.chain_gain;
      one.desensitisation = rf::desensitisation(one.interference(), one.noise);
      one.weakest = carriers[i].weakest;
      if (input != nullptr)
        one.needed = one.noise + one.desensitisation + input->needed_over_noise(carrier.bandwidth);
      budget.carriers.push_back(one);
    }
  }
}

rf::Stage TunedNode::own_stage(rf::Gain gain) const {
  const auto& sheet = *physics_->node_->datasheet;
  return powered_ ? amplifier_of(sheet, gain) : passive_node(sheet);
}

// Precondition: it is served.
std::size_t TunedNode::channel_of(std::size_t carrier) const {
  return static_cast<std::size_t>(std::ranges::lower_bound(channels_, carrier) - channels_.begin());
}

Budget TunedNode::at(rf::Gain gain) const { return budget_at(gain, Products::counted); }

Budget TunedNode::without_products_at(rf::Gain gain) const {
  return budget_at(gain, Products::left_out);
}

Budget TunedNode::budget_at(rf::Gain gain, Products products) const {
  const auto own = own_stage(gain);
  Budget budget;
  budget.amplifiers = amplifiers_at(gain);
  load_receivers(budget, own);
  weigh_carriers(budget, own, products);
  return budget;
}

TunedNode::Loads TunedNode::loads() const {
  const auto& carriers = physics_->carriers_;
  const auto& sheet = *physics_->node_->datasheet;
  const auto passive_gain = powered_ ? Decibel{} : passive_node(sheet).gain;
  const auto out_of_node = [&](std::size_t i, Decibel further) {
    return power_of(carriers[i].strongest,
                    passive_gain - Decibel::of(before_[i] + after_[i]) + further);
  };
  Loads loads;
  if (powered_) {
    Loads::Amplifier own{0.0, 0.0, rf::milliwatts(PowerLevel::dbm(sheet.output_p1db_dbm))};
    for (std::size_t i = 0; i < carriers.size(); ++i)
      own.power += power_of(carriers[i].strongest, -Decibel::of(before_[i]));
    loads.amplifiers.push_back(own);
  }
  std::vector<const plan::RackAmplifier*> done;
  for (const auto& outlet : physics_->outlets_) {
    if (outlet.receiver == nullptr) continue;
    for (std::size_t k = 0; k < outlet.amplifiers.size(); ++k) {
      const auto& amplifier = *outlet.amplifiers[k];
      if (std::ranges::find(done, &amplifier) != done.end()) continue;
      done.push_back(&amplifier);
      Loads::Amplifier one{0.0, 0.0, rf::milliwatts(amplifier.output_p1db - amplifier.gain)};
      for (std::size_t i = 0; i < carriers.size(); ++i) {
        one.power += out_of_node(i, outlet.behind[i].to_amplifier[k]);
        one.foreign += outlet.behind[i].foreign[k];
      }
      loads.amplifiers.push_back(one);
    }
    if (outlet.receiver->input) {
      Loads::Receiver one{{}, rf::milliwatts(outlet.receiver->input->overload)};
      for (std::size_t i = 0; i < carriers.size(); ++i)
        one.powers.emplace_back(out_of_node(i, outlet.behind[i].gain),
                                outlet.behind[i].foreign.back());
      loads.receivers.push_back(std::move(one));
    }
    if (outlet.served.empty()) continue;
    Loads::ChainGain gains{1e9, -1e9};
    for (const auto i : outlet.served) {
      const auto gain =
          (passive_gain - Decibel::of(before_[i] + after_[i]) + outlet.behind[i].gain).value();
      gains.lowest = std::min(gains.lowest, gain);
      gains.highest = std::max(gains.highest, gain);
    }
    loads.chain_gains.push_back(gains);
  }
  return loads;
}

template <class Visit>
void TunedNode::for_each_distorting(const CarrierBudget& one, rf::Gain gain,
                                    const Visit& visit) const {
  const auto outlet =
      std::ranges::find(physics_->outlets_, one.receiver, &NodePhysics::Outlet::receiver);
  if (outlet == physics_->outlets_.end()) return;
  const auto served = std::ranges::find(outlet->served, one.carrier, [this](std::size_t i) {
    return physics_->carriers_[i].carrier;
  });
  if (served == outlet->served.end()) return;
  const auto i = *served;
  const auto& behind = outlet->cascades[static_cast<std::size_t>(served - outlet->served.begin())];
  for_each_distorting(own_stage(gain), behind, i,
                      [&](const auto& distortion, PowerLevel ip3, Decibel lost) {
                        visit(distortion, channel_of(i), ip3, Decibel::of(before_[i]) + lost);
                      });
}

std::vector<rf::Product> TunedNode::products(const CarrierBudget& one, rf::Gain gain) const {
  std::vector<rf::Product> all;
  for_each_distorting(
      one, gain, [&](const auto& distortion, std::size_t channel, PowerLevel ip3, Decibel lost) {
        for (auto& product : distortion.products(channel, ip3)) {
          product.level = product.level + lost;
          all.push_back(product);
        }
      });
  const auto triple = [](const rf::Product& product) {
    return std::array{product.plus[0], product.plus[1], product.minus};
  };
  std::ranges::sort(all, {}, triple);
  std::vector<rf::Product> together;
  for (const auto& product : all)
    if (!together.empty() && triple(together.back()) == triple(product))
      together.back().level = in_phase(together.back().level, product.level);
    else
      together.push_back(product);
  std::ranges::sort(together, std::greater{}, &rf::Product::level);
  return together;
}

std::optional<rf::Product> TunedNode::worst_product(const CarrierBudget& one, rf::Gain gain) const {
  std::optional<rf::Product> worst;
  std::vector<rf::DistortingStage> stages;
  rf::Band band;
  for_each_distorting(
      one, gain, [&](const auto& distortion, std::size_t channel, PowerLevel ip3, Decibel lost) {
        stages.push_back({distortion.tones(), ip3, lost});
        band = distortion.channels()[channel];
        worst = distortion.strongest(channel, ip3);
        if (worst) worst->level = worst->level + lost;
      });
  // Which is the strongest of several stages together, none of them can say alone.
  return stages.size() < 2 ? worst : rf::strongest_in(band, stages);
}

Budget budget_of(const NodePhysics& physics, const plan::Settings& settings) {
  return TunedNode{physics, settings}.at(settings.gain);
}

}  // namespace catwalk::rack
