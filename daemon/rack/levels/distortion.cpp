// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/levels/distortion.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <iterator>
#include <tuple>
#include <utility>

#include "daemon/rack/levels/powers.hpp"
#include "daemon/rf/fifth_order.hpp"

namespace catwalk::rack {
namespace {

using rf::Decibel;
using rf::Frequency;
using rf::PowerLevel;

// Two distortions of one signal that add in phase: their amplitudes add.
PowerLevel in_phase(PowerLevel a, PowerLevel b) {
  const double amplitude = std::sqrt(rf::milliwatts(a)) + std::sqrt(rf::milliwatts(b));
  return rf::from_milliwatts(amplitude * amplitude);
}

std::vector<rf::Product> fifth_order_on(const rf::IntermodulationSearch& distortion,
                                        std::size_t channel, PowerLevel input_ip5) {
  return rf::fifth_order_products_in(distortion.channels()[channel], distortion.tones(), input_ip5);
}

}  // namespace

Distortion::Distortion(const NodePhysics& physics, NodeLosses losses, SharedSearches* shared)
    : physics_{&physics}, losses_{std::move(losses)}, shared_{shared} {
  for (std::size_t i = 0; i < physics.carriers_.size(); ++i) {
    if (physics.carriers_[i].served) channels_.push_back(i);
    stand_at_.push_back(physics.carriers_[i].carrier->frequency);
  }
}

rf::IntermodulationSearch Distortion::search(const std::vector<double>& losses,
                                             const std::vector<std::size_t>& carriers) const {
  std::vector<PowerLevel> levels;
  for (const auto i : carriers)
    levels.push_back(*physics_->carriers_[i].strongest - Decibel::of(losses[i]));
  return search(levels, carriers);
}

rf::IntermodulationSearch Distortion::search(const std::vector<PowerLevel>& levels,
                                             const std::vector<std::size_t>& carriers) const {
  std::vector<rf::Tone> tones;
  for (std::size_t k = 0; k < carriers.size(); ++k)
    tones.push_back(
        {stand_at_[carriers[k]], levels[k], physics_->carriers_[carriers[k]].carrier->emission()});
  std::vector<rf::Band> channels;
  for (const auto i : channels_)
    channels.push_back(rf::Band::around(stand_at_[i], physics_->carriers_[i].carrier->bandwidth));
  return {std::move(tones), std::move(channels)};
}

std::vector<std::size_t> Distortion::tones_together(const NodePhysics::Outlet& outlet) const {
  return tries_ ? physics_->of_known_level(outlet) : outlet.mixing;
}

// At the combiner's inputs. Levels go with the gain of the node, those by other antennas do not.
const rf::IntermodulationSearch& Distortion::search_together(const NodePhysics::Outlet& outlet,
                                                             const rf::Stage& own) const {
  const auto carriers = tones_together(outlet);
  std::vector<PowerLevel> levels;
  levels.reserve(carriers.size());
  for (const auto i : carriers) {
    const auto lost = Decibel::of(losses_.before[i] + losses_.after[i]);
    const auto ours =
        power_of(physics_->carriers_[i].strongest, own.gain - lost + outlet.to_combiner[i]);
    levels.push_back(rf::from_milliwatts(ours + outlet.brought[i]));
  }
  auto& all = shared_ != nullptr ? shared_->together_ : together_;
  all.resize(physics_->outlets_.size());
  auto& kept = all[static_cast<std::size_t>(&outlet - physics_->outlets_.data())];
  if (!kept.search)
    kept.search.emplace(search(levels, carriers));
  else if (kept.levels != levels)
    kept.search->set_levels(levels);
  kept.levels = std::move(levels);
  return *kept.search;
}

const rf::IntermodulationSearch& Distortion::shared_search(
    SharedSearches::Kept& kept, const std::vector<double>& losses) const {
  if (kept.search && kept.losses == losses) return *kept.search;
  kept.losses = losses;
  if (!kept.search) return kept.search.emplace(search(losses, physics_->mixing_));
  std::vector<PowerLevel> levels;
  for (const auto i : physics_->mixing_)
    levels.push_back(*physics_->carriers_[i].strongest - Decibel::of(losses[i]));
  kept.search->set_levels(levels);
  return *kept.search;
}

std::vector<double> Distortion::losses_behind() const {
  auto losses = losses_.before;
  for (std::size_t i = 0; i < losses.size(); ++i) losses[i] += losses_.after[i];
  return losses;
}

// To the first amplifier of the lead. Precondition: there is one.
std::vector<double> Distortion::losses_in_lead() const {
  std::vector<double> losses;
  losses.reserve(physics_->leads_.size());
  for (const auto& lead : physics_->leads_) losses.push_back(-lead.to_amplifier.front().value());
  return losses;
}

const rf::IntermodulationSearch& Distortion::search_in_lead() const {
  if (shared_ != nullptr) return shared_search(shared_->in_lead_, losses_in_lead());
  if (!in_lead_) in_lead_.emplace(search(losses_in_lead(), physics_->mixing_));
  return *in_lead_;
}

const rf::IntermodulationSearch& Distortion::search_at_amplifier() const {
  if (shared_ != nullptr) return shared_search(shared_->at_amplifier_, losses_.before);
  if (!at_amplifier_) at_amplifier_.emplace(search(losses_.before, physics_->mixing_));
  return *at_amplifier_;
}

bool Distortion::filtered_behind() const {
  return std::ranges::any_of(losses_.after, [](double loss) { return loss != 0.0; });
}

const rf::IntermodulationSearch& Distortion::search_behind() const {
  if (shared_ != nullptr) return shared_search(shared_->behind_, losses_behind());
  if (!behind_) behind_.emplace(search(losses_behind(), physics_->mixing_));
  return *behind_;
}

template <class Visit>
void Distortion::for_each(const Way& way, const rf::Stage& own, const Visit& visit) const {
  const auto& [outlet, served] = way;
  const auto carrier = way.carrier();
  if (!physics_->lead_amplifiers_.empty()) {
    const auto& lead = physics_->leads_[carrier];
    visit(search_in_lead(), lead.intercepts, -lead.to_amplifier.front());
  }
  const auto& behind = outlet.combined ? outlet.feeds[served] : outlet.cascades[served];
  const auto before = Decibel::of(losses_.before[carrier]);
  const auto through = before + Decibel::of(losses_.after[carrier]);
  const auto here = own.intercepts();
  const auto later = behind.intercepts() - own.gain;
  if (!filtered_behind()) {
    const auto both = rf::in_cascade(here, later);
    if (both.finite()) visit(search_at_amplifier(), both, before);
  } else {
    if (here.finite()) visit(search_at_amplifier(), here, before);
    if (later.finite()) visit(search_behind(), later, through);
  }
  if (outlet.combined && outlet.rests[served].intercepts().finite())
    visit(search_together(outlet, own), outlet.rests[served].intercepts(),
          through - own.gain - outlet.to_combiner[carrier]);
}

PowerLevel Distortion::on(const Way& way, const rf::Stage& own) const {
  auto third = rf::no_power();
  auto fifth = rf::no_power();
  const auto channel = channel_of(way.carrier());
  for_each(way, own, [&](const auto& distortion, const rf::Intercepts& at, Decibel lost) {
    third = in_phase(third, distortion.level(channel, at.third) + lost);
    if (at.fifth < rf::no_limit())
      fifth = in_phase(fifth, distortion.fifth_order_level(channel, at.fifth) + lost);
  });
  return rf::from_milliwatts(rf::milliwatts(third) + rf::milliwatts(fifth));
}

void Distortion::try_carrier_at(std::size_t carrier, Frequency to) {
  const auto& moving = physics_->carriers_[carrier];
  // Elsewhere it may mix with others than where it stands: all of known level are tones.
  const auto known = physics_->of_known_level();
  if (!tries_) {
    tries_ = true;
    shared_ = nullptr;
    if (!physics_->lead_amplifiers_.empty()) in_lead_.emplace(search(losses_in_lead(), known));
    at_amplifier_.emplace(search(losses_.before, known));
    if (filtered_behind()) behind_.emplace(search(losses_behind(), known));
    together_.clear();  // made when they are asked for, as carriers stand then
  }
  stand_at_[carrier] = to;
  const auto move_in = [&](std::optional<rf::IntermodulationSearch>& search,
                           const std::vector<std::size_t>& tones) {
    if (!search) return;
    const auto found = std::ranges::lower_bound(tones, carrier);
    const auto tone = static_cast<std::size_t>(found - tones.begin());
    if (found != tones.end() && *found == carrier)
      search->move(tone, {to, search->tones()[tone].level, search->tones()[tone].emission});
    if (moving.served)
      search->move_channel(channel_of(carrier), rf::Band::around(to, moving.carrier->bandwidth));
  };
  for (auto* search : {&in_lead_, &at_amplifier_, &behind_}) move_in(*search, known);
  for (std::size_t k = 0; k < together_.size(); ++k)
    if (together_[k].search)
      move_in(together_[k].search, physics_->of_known_level(physics_->outlets_[k]));
}

std::size_t Distortion::channel_of(std::size_t carrier) const {
  return static_cast<std::size_t>(std::ranges::lower_bound(channels_, carrier) - channels_.begin());
}

std::vector<rf::Product> Distortion::products(const Way& way, const rf::Stage& own) const {
  std::vector<rf::Product> all;
  const auto channel = channel_of(way.carrier());
  for_each(way, own, [&](const auto& distortion, const rf::Intercepts& at, Decibel lost) {
    auto found = distortion.products(channel, at.third);
    if (at.fifth < rf::no_limit())
      std::ranges::copy(fifth_order_on(distortion, channel, at.fifth), std::back_inserter(found));
    for (auto& product : found) {
      product.level = product.level + lost;
      all.push_back(product);
    }
  });
  const auto triple = [](const rf::Product& product) {
    return std::tuple{product.order, product.plus[0], product.plus[1], product.minus};
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

std::optional<rf::Product> Distortion::worst(const Way& way, const rf::Stage& own) const {
  std::optional<rf::Product> worst;
  std::vector<rf::DistortingStage> stages;
  rf::Band band;
  bool fifth = false;
  for_each(way, own, [&](const auto& distortion, const rf::Intercepts& at, Decibel lost) {
    const auto channel = channel_of(way.carrier());
    fifth = fifth || at.fifth < rf::no_limit();
    stages.push_back({distortion.tones(), at.third, lost});
    band = distortion.channels()[channel];
    worst = distortion.strongest(channel, at.third);
    if (worst) worst->level = worst->level + lost;
  });
  // Which is the strongest of several stages together, none of them can say alone.
  if (stages.size() > 1) worst = rf::strongest_in(band, stages);
  if (!fifth) return worst;
  // It may be one of the fifth order, which nobody keeps a table of.
  const auto all = products(way, own);
  return all.empty() ? std::nullopt : std::optional{all.front()};
}

}  // namespace catwalk::rack
