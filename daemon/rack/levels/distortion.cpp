// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/levels/distortion.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <utility>

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

// The intercept of two stages that distort the same signals in phase, both referred to one input
// (rf/cascade.hpp).
PowerLevel in_cascade(PowerLevel a, PowerLevel b) {
  return rf::from_milliwatts(1.0 / (1.0 / rf::milliwatts(a) + 1.0 / rf::milliwatts(b)));
}

}  // namespace

Distortion::Distortion(const NodePhysics& physics, NodeLosses losses, SharedSearches* shared)
    : physics_{&physics}, losses_{std::move(losses)}, shared_{shared} {
  for (std::size_t i = 0; i < physics.carriers_.size(); ++i)
    if (physics.carriers_[i].served) channels_.push_back(i);
}

rf::IntermodulationSearch Distortion::search(const std::vector<double>& losses,
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

const rf::IntermodulationSearch& Distortion::shared_search(
    SharedSearches::One& one, const std::vector<double>& losses) const {
  if (one.search && one.losses == losses) return *one.search;
  one.losses = losses;
  if (!one.search) return one.search.emplace(search(losses, physics_->mixing_));
  std::vector<PowerLevel> levels;
  for (const auto i : physics_->mixing_)
    levels.push_back(*physics_->carriers_[i].strongest - Decibel::of(losses[i]));
  one.search->set_levels(levels);
  return *one.search;
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
  for (const auto& lead : physics_->leads_)
    losses.push_back(-lead.to_amplifier.front().value());
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
void Distortion::for_each(std::size_t carrier, const rf::Stage& own, const rf::Cascade& behind,
                          const Visit& visit) const {
  if (!physics_->lead_amplifiers_.empty()) {
    const auto& lead = physics_->leads_[carrier];
    visit(search_in_lead(), lead.input_ip3, -lead.to_amplifier.front());
  }
  const auto before = Decibel::of(losses_.before[carrier]);
  const auto here = own.input_ip3();
  const auto later = behind.input_ip3 - own.gain;
  if (!filtered_behind()) {
    const auto both = in_cascade(here, later);
    if (both < rf::no_limit()) visit(search_at_amplifier(), both, before);
    return;
  }
  if (here < rf::no_limit()) visit(search_at_amplifier(), here, before);
  if (later < rf::no_limit())
    visit(search_behind(), later, before + Decibel::of(losses_.after[carrier]));
}

PowerLevel Distortion::on(std::size_t carrier, const rf::Stage& own,
                          const rf::Cascade& behind) const {
  auto all = rf::no_power();
  const auto channel = channel_of(carrier);
  for_each(carrier, own, behind, [&](const auto& distortion, PowerLevel ip3, Decibel lost) {
    all = in_phase(all, distortion.level(channel, ip3) + lost);
  });
  return all;
}

void Distortion::try_carrier_at(std::size_t carrier, Frequency to) {
  const auto& one = physics_->carriers_[carrier];
  // Elsewhere it may mix with others than where it stands: all of known level are tones.
  const auto known = physics_->of_known_level();
  if (!tries_) {
    tries_ = true;
    shared_ = nullptr;
    if (!physics_->lead_amplifiers_.empty()) in_lead_.emplace(search(losses_in_lead(), known));
    at_amplifier_.emplace(search(losses_.before, known));
    if (filtered_behind()) behind_.emplace(search(losses_behind(), known));
  }
  const auto tone =
      static_cast<std::size_t>(std::ranges::lower_bound(known, carrier) - known.begin());
  for (auto* search : {&in_lead_, &at_amplifier_, &behind_}) {
    if (!*search) continue;
    if (one.strongest) (*search)->move(tone, {to, (*search)->tones()[tone].level});
    if (one.served)
      (*search)->move_channel(channel_of(carrier), rf::Band::around(to, one.carrier->bandwidth));
  }
}

std::size_t Distortion::channel_of(std::size_t carrier) const {
  return static_cast<std::size_t>(std::ranges::lower_bound(channels_, carrier) - channels_.begin());
}

std::vector<rf::Product> Distortion::products(std::size_t carrier, const rf::Stage& own,
                                              const rf::Cascade& behind) const {
  std::vector<rf::Product> all;
  for_each(carrier, own, behind, [&](const auto& distortion, PowerLevel ip3, Decibel lost) {
    for (auto& product : distortion.products(channel_of(carrier), ip3)) {
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

std::optional<rf::Product> Distortion::worst(std::size_t carrier, const rf::Stage& own,
                                             const rf::Cascade& behind) const {
  std::optional<rf::Product> worst;
  std::vector<rf::DistortingStage> stages;
  rf::Band band;
  for_each(carrier, own, behind, [&](const auto& distortion, PowerLevel ip3, Decibel lost) {
    const auto channel = channel_of(carrier);
    stages.push_back({distortion.tones(), ip3, lost});
    band = distortion.channels()[channel];
    worst = distortion.strongest(channel, ip3);
    if (worst) worst->level = worst->level + lost;
  });
  // Which is the strongest of several stages together, none of them can say alone.
  return stages.size() < 2 ? worst : rf::strongest_in(band, stages);
}

}  // namespace catwalk::rack
