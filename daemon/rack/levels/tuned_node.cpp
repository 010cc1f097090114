// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/levels/tuned_node.hpp"

#include <algorithm>
#include <functional>
#include <numeric>
#include <utility>

#include "daemon/rack/levels/chain_stages.hpp"
#include "daemon/rack/levels/other_node.hpp"
#include "daemon/rack/levels/powers.hpp"

namespace catwalk::rack {
namespace {

using rf::Decibel;
using rf::Frequency;
using rf::PowerLevel;

}  // namespace

std::vector<double> TunedNode::lead_losses(const NodePhysics& physics) {
  std::vector<double> losses;
  losses.reserve(physics.leads_.size());
  for (const auto& lead : physics.leads_) losses.push_back(-lead.gain.value());
  return losses;
}

TunedNode::Tuned TunedNode::tuned(const NodePhysics& physics, std::uint8_t filter,
                                  Frequency centre) {
  const auto& sheet = *physics.node_->datasheet;
  const auto response = sheet.tuned(filter, centre);
  const auto count = physics.carriers_.size();
  Tuned tuned{{lead_losses(physics), std::vector<double>(count, 0.0)}, response.has_value()};
  if (!response) return tuned;
  auto& losses = sheet.filter_position == plan::FilterPosition::before_amplifier
                     ? tuned.losses.before
                     : tuned.losses.after;
  for (std::size_t i = 0; i < count; ++i)
    losses[i] += response->attenuation(physics.carriers_[i].carrier->frequency).value();
  return tuned;
}

TunedNode::TunedNode(const NodePhysics& physics, Tuned tuned, SharedSearches* shared)
    : physics_{&physics},
      powered_{tuned.powered},
      distortion_{physics, std::move(tuned.losses), shared} {}

TunedNode::TunedNode(const NodePhysics& physics, std::uint8_t filter, Frequency centre,
                     SharedSearches* shared)
    : TunedNode{physics, tuned(physics, filter, centre), shared} {}

TunedNode::TunedNode(const NodePhysics& physics, const plan::Settings& settings,
                     SharedSearches* shared)
    : TunedNode{settings.power ? TunedNode{physics, settings.filter, settings.centre, shared}
                               : passive(physics, shared)} {}

TunedNode TunedNode::passive(const NodePhysics& physics, SharedSearches* shared) {
  return {physics,
          {{lead_losses(physics), std::vector<double>(physics.carriers_.size(), 0.0)}, false},
          shared};
}

std::vector<double> TunedNode::losses_of_carriers() const {
  std::vector<double> all;
  for (std::size_t i = 0; i < losses().before.size(); ++i) all.push_back(loss(i).value());
  return all;
}

rf::Decibel TunedNode::loss(std::size_t carrier) const {
  return Decibel::of(losses().before[carrier] + losses().after[carrier]);
}

std::vector<PowerLevel> TunedNode::intermodulation_at(rf::Gain gain) const {
  const auto own = own_stage(gain);
  std::vector<PowerLevel> levels;
  for (const auto& outlet : physics_->outlets_)
    for (std::size_t k = 0; k < outlet.served.size(); ++k)
      levels.push_back(distortion_.on({outlet, k}, own));
  return levels;
}

void TunedNode::try_carrier_at(std::size_t carrier, Frequency to) {
  distortion_.try_carrier_at(carrier, to);
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
    load(physics_->node_->name.text, own, [&](std::size_t i) {
      return power_of(carriers[i].strongest, -Decibel::of(losses().before[i]));
    });
  for (std::size_t k = 0; k < physics_->lead_amplifiers_.size(); ++k) {
    const auto& amplifier = *physics_->lead_amplifiers_[k];
    load(amplifier.name, stage_of(amplifier, {}), [&](std::size_t i) {
      return power_of(carriers[i].strongest, physics_->leads_[i].to_amplifier[k]);
    });
  }
  std::vector<const plan::RackAmplifier*> done;
  for (const auto& outlet : physics_->outlets_)
    for (std::size_t k = 0; k < outlet.amplifiers.size(); ++k) {
      const auto* amplifier = outlet.amplifiers[k];
      // Receivers behind one splitter share what stands before it.
      if (std::ranges::find(done, amplifier) != done.end()) continue;
      done.push_back(amplifier);
      load(amplifier->name, stage_of(*amplifier, {}), [&](std::size_t i) {
        const auto& behind = outlet.behind[i];
        const auto so_far = own.gain - loss(i) + behind.to_amplifier[k];
        return power_of(carriers[i].strongest, so_far) + behind.foreign[k];
      });
    }
  return loads;
}

// mW of one carrier, by this antenna and by others on the same combiner.
double TunedNode::at_receiver(const NodePhysics::Outlet& outlet, const rf::Stage& own,
                              std::size_t carrier) const {
  const auto& behind = outlet.behind[carrier];
  const auto gain = own.gain - loss(carrier) + behind.gain;
  return power_of(physics_->carriers_[carrier].strongest, gain) + behind.foreign.back();
}

void TunedNode::load_receivers(Budget& budget, const rf::Stage& own) const {
  const auto& carriers = physics_->carriers_;
  for (const auto& outlet : physics_->outlets_) {
    if (outlet.receiver == nullptr) continue;
    const plan::Carrier* strongest = nullptr;
    double most = 0.0;  // mW
    for (std::size_t i = 0; i < carriers.size(); ++i) {
      const double power = at_receiver(outlet, own, i);
      if (power <= most) continue;
      most = power;
      strongest = carriers[i].carrier;
    }
    if (strongest != nullptr)
      budget.receivers.push_back({outlet.receiver, strongest, rf::from_milliwatts(most)});
  }
}

// At the receiver's input.
PowerLevel TunedNode::in_channel(const NodePhysics::Outlet& outlet, const rf::Stage& own,
                                 std::size_t carrier) const {
  const auto& all = physics_->intruders_;
  double sum = 0.0;
  for (auto noise = std::ranges::lower_bound(all, carrier, {}, &NodePhysics::Intruder::in);
       noise != all.end() && noise->in == carrier; ++noise)
    sum += noise->share * at_receiver(outlet, own, noise->who);
  return rf::from_milliwatts(sum);
}

// At the receiver's input.
PowerLevel TunedNode::by_responses(const NodePhysics::Outlet& outlet, const rf::Stage& own,
                                   std::size_t carrier) const {
  double sum = 0.0;
  for (const auto& stray : outlet.strays)
    if (stray.in == carrier) sum += stray.share * at_receiver(outlet, own, stray.who);
  return rf::from_milliwatts(sum);
}

// Friis, with filters at T0 before and behind the amplifier: F = L·(F1 + (A·F2 − 1)/G1); and before
// these the lead, which may amplify: F0 + (F − 1)/G0.
Decibel TunedNode::noise_figure(const NodePhysics::Outlet& outlet, std::size_t served,
                                const rf::Stage& own) const {
  const auto i = outlet.served[served];
  const auto& lead = physics_->leads_[i];
  const auto filtered = Decibel::of(losses().before[i]) + lead.gain;
  const double behind =
      Decibel::of(losses().after[i]).ratio() * outlet.cascades[served].noise_figure.ratio();
  const double from_node =
      filtered.ratio() * (own.noise_figure.ratio() + (behind - 1.0) / own.gain.ratio());
  return Decibel::from_ratio(lead.noise_figure.ratio() + (from_node - 1.0) / lead.gain.ratio());
}

void TunedNode::weigh_carriers(Budget& budget, const rf::Stage& own, Products products) const {
  const auto& carriers = physics_->carriers_;
  for (const auto& outlet : physics_->outlets_) {
    std::vector<double> arriving;  // mW
    for (std::size_t i = 0; !outlet.blocking.empty() && i < carriers.size(); ++i)
      arriving.push_back(at_receiver(outlet, own, i));
    for (std::size_t k = 0; k < outlet.served.size(); ++k) {
      const auto i = outlet.served[k];
      const auto& carrier = *carriers[i].carrier;
      CarrierBudget served{&carrier, outlet.receiver};
      served.chain_gain = own.gain - loss(i) + outlet.behind[i].gain;
      served.noise_figure = noise_figure(outlet, k, own);
      served.external_noise = physics_->external_noise(carrier);
      served.noise = rf::thermal_noise(carrier.bandwidth) +
                     rf::with_external_noise(served.noise_figure, served.external_noise);
      if (products == Products::counted) served.intermodulation = distortion_.on({outlet, k}, own);
      // By other antennas it is referred to this one's terminals, as all else is.
      const double noise_density =
          physics_->transmitter_noise_ + outlet.behind[i].foreign_noise / served.chain_gain.ratio();
      served.transmitter_noise =
          rf::from_milliwatts(noise_density * static_cast<double>(carrier.bandwidth.hertz()));
      if (!outlet.blocking.empty())
        served.blocking = rf::from_milliwatts(std::inner_product(arriving.begin(), arriving.end(),
                                                                 outlet.blocking[k].begin(), 0.0)) -
                          served.chain_gain;
      served.co_channel = in_channel(outlet, own, i) - served.chain_gain;
      served.transmitter_products =
          rf::from_milliwatts(physics_->transmitter_products_in(i) +
                              outlet.behind[i].foreign_products / served.chain_gain.ratio());
      served.brought_products =
          rf::from_milliwatts(outlet.behind[i].made_by_others) - served.chain_gain;
      served.spurious_response = by_responses(outlet, own, i) - served.chain_gain;
      served.weakest = carriers[i].weakest;
      served.antennas = outlet.antennas[k];
      served.weigh_interference();
      budget.carriers.push_back(served);
    }
  }
}

rf::Stage TunedNode::own_stage(rf::Gain gain) const {
  const auto& sheet = *physics_->node_->datasheet;
  return powered_ ? amplifier_of(sheet, gain) : passive_node(sheet);
}

Budget TunedNode::at(rf::Gain gain) const {
  const auto own = own_stage(gain);
  Budget budget;
  budget.amplifiers = amplifiers_at(gain);
  load_receivers(budget, own);
  weigh_carriers(budget, own, Products::counted);
  return budget;
}

Budget TunedNode::carriers_without_products_at(rf::Gain gain) const {
  Budget budget;
  weigh_carriers(budget, own_stage(gain), Products::left_out);
  return budget;
}

TunedNode::Loads TunedNode::loads() const {
  const auto& carriers = physics_->carriers_;
  const auto& sheet = *physics_->node_->datasheet;
  const auto passive_gain = powered_ ? Decibel{} : passive_node(sheet).gain;
  const auto out_of_node = [&](std::size_t i, Decibel further) {
    return power_of(carriers[i].strongest, passive_gain - loss(i) + further);
  };
  Loads loads;
  if (powered_) {
    Loads::Amplifier own{0.0, 0.0, 0.0, rf::milliwatts(PowerLevel::dbm(sheet.output_p1db_dbm))};
    if (!sheet.linearity.empty()) own.by_gain = &sheet;
    for (std::size_t i = 0; i < carriers.size(); ++i)
      own.power += power_of(carriers[i].strongest, -Decibel::of(losses().before[i]));
    loads.amplifiers.push_back(own);
  }
  for (std::size_t k = 0; k < physics_->lead_amplifiers_.size(); ++k) {
    const auto& amplifier = *physics_->lead_amplifiers_[k];
    Loads::Amplifier load{0.0, 0.0, 0.0, rf::milliwatts(amplifier.output_p1db - amplifier.gain)};
    for (std::size_t i = 0; i < carriers.size(); ++i)
      load.steady += power_of(carriers[i].strongest, physics_->leads_[i].to_amplifier[k]);
    loads.amplifiers.push_back(load);
  }
  std::vector<const plan::RackAmplifier*> done;
  for (const auto& outlet : physics_->outlets_) {
    if (outlet.receiver == nullptr) continue;
    for (std::size_t k = 0; k < outlet.amplifiers.size(); ++k) {
      const auto& amplifier = *outlet.amplifiers[k];
      if (std::ranges::find(done, &amplifier) != done.end()) continue;
      done.push_back(&amplifier);
      Loads::Amplifier load{0.0, 0.0, 0.0, rf::milliwatts(amplifier.output_p1db - amplifier.gain)};
      for (std::size_t i = 0; i < carriers.size(); ++i) {
        load.power += out_of_node(i, outlet.behind[i].to_amplifier[k]);
        load.foreign += outlet.behind[i].foreign[k];
      }
      loads.amplifiers.push_back(load);
    }
    if (outlet.receiver->input) {
      Loads::Receiver load{{}, rf::milliwatts(outlet.receiver->input->overload)};
      for (std::size_t i = 0; i < carriers.size(); ++i)
        load.powers.emplace_back(out_of_node(i, outlet.behind[i].gain),
                                 outlet.behind[i].foreign.back());
      loads.receivers.push_back(std::move(load));
    }
    if (outlet.served.empty()) continue;
    Loads::ChainGain gains{1e9, -1e9};
    for (const auto i : outlet.served) {
      const auto gain = (passive_gain - loss(i) + outlet.behind[i].gain).value();
      gains.lowest = std::min(gains.lowest, gain);
      gains.highest = std::max(gains.highest, gain);
    }
    loads.chain_gains.push_back(gains);
  }
  return loads;
}

std::optional<Distortion::Way> TunedNode::find(const CarrierBudget& budget) const {
  const auto outlet =
      std::ranges::find(physics_->outlets_, budget.receiver, &NodePhysics::Outlet::receiver);
  if (outlet == physics_->outlets_.end()) return std::nullopt;
  const auto served = std::ranges::find(outlet->served, budget.carrier, [this](std::size_t i) {
    return physics_->carriers_[i].carrier;
  });
  if (served == outlet->served.end()) return std::nullopt;
  return Distortion::Way{*outlet, static_cast<std::size_t>(served - outlet->served.begin())};
}

std::vector<rf::Product> TunedNode::products(const CarrierBudget& served, rf::Gain gain,
                                             std::size_t most) const {
  const auto weighed = find(served);
  if (!weighed) return {};
  return distortion_.products(*weighed, own_stage(gain), most);
}

std::optional<rf::Product> TunedNode::worst_product(const CarrierBudget& served,
                                                    rf::Gain gain) const {
  const auto weighed = find(served);
  if (!weighed) return std::nullopt;
  return distortion_.worst(*weighed, own_stage(gain));
}

std::vector<TunedNode::Brought> TunedNode::brought(const CarrierBudget& served, rf::Gain gain,
                                                   std::size_t most) const {
  const auto weighed = find(served);
  if (!weighed || !weighed->outlet.combined) return {};
  const auto carrier = weighed->carrier();
  const auto to_combiner =
      own_stage(gain).gain - loss(carrier) + weighed->outlet.to_combiner[carrier];
  std::vector<Brought> all;
  for (const auto& other : weighed->outlet.others) {
    if (other->products(carrier) <= 0.0) continue;
    const auto further = other->to(carrier).gain - to_combiner;
    for (auto& product : other->products_on(*served.carrier, most)) {
      product.level = product.level + further;
      all.push_back({&other->node(), other->powered(), product});
    }
  }
  std::ranges::stable_sort(all, std::greater{},
                           [](const Brought& brought) { return brought.product.level; });
  if (all.size() > most) all.resize(most);
  return all;
}

std::vector<TunedNode::HeardBeside> TunedNode::strays(const CarrierBudget& served,
                                                      rf::Gain gain) const {
  const auto weighed = find(served);
  if (!weighed) return {};
  const auto own = own_stage(gain);
  std::vector<HeardBeside> all;
  for (const auto& stray : weighed->outlet.strays) {
    if (stray.in != weighed->carrier()) continue;
    const auto level =
        rf::from_milliwatts(stray.share * at_receiver(weighed->outlet, own, stray.who));
    if (level != rf::no_power())
      all.push_back({stray.by, physics_->carriers_[stray.who].carrier, level - served.chain_gain});
  }
  std::ranges::stable_sort(all, std::greater{}, &HeardBeside::level);
  return all;
}

Budget budget_of(const NodePhysics& physics, const plan::Settings& settings) {
  return TunedNode{physics, settings}.at(settings.gain);
}

}  // namespace catwalk::rack
