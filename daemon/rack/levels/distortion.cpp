// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/levels/distortion.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <iterator>
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

}  // namespace

Distortion::Distortion(const NodePhysics& physics, NodeLosses losses, SharedSearches* shared)
    : physics_{&physics}, losses_{std::move(losses)}, shared_{shared} {
  for (std::size_t i = 0; i < physics.carriers_.size(); ++i) {
    if (physics.carriers_[i].served) channels_.push_back(i);
    stand_at_.push_back(physics.carriers_[i].carrier->frequency);
    losses_behind_.push_back(losses_.before[i] + losses_.after[i]);
    if (!physics.lead_amplifiers_.empty())
      losses_in_lead_.push_back(-physics.leads_[i].to_amplifier.front().value());
  }
}

Distortion::Place Distortion::at_combiner(const NodePhysics::Outlet& outlet,
                                          const rf::Stage& own) const {
  const auto number = static_cast<std::size_t>(&outlet - physics_->outlets_.data());
  return {behind.number + 1 + number, &outlet, own.gain};
}

const std::vector<double>& Distortion::losses_to(const Place& place) const {
  if (place.number == in_lead.number) return losses_in_lead_;
  return place.number == at_amplifier.number ? losses_.before : losses_behind_;
}

// Elsewhere a carrier may mix with others than where it stands: all of known level are tones.
std::vector<std::size_t> Distortion::carriers_at(const Place& place) const {
  if (place.combiner == nullptr) return tries_ ? physics_->of_known_level() : physics_->mixing_;
  return tries_ ? physics_->of_known_level(*place.combiner) : place.combiner->mixing;
}

// At a combiner levels go with the gain of the node, those by other antennas do not.
PowerLevel Distortion::level_at(const Place& place, std::size_t carrier) const {
  const auto& strongest = physics_->carriers_[carrier].strongest;
  const auto lost = Decibel::of(losses_to(place)[carrier]);
  if (place.combiner == nullptr) return *strongest - lost;
  const auto ours = power_of(strongest, place.gain - lost + place.combiner->to_combiner[carrier]);
  return rf::from_milliwatts(ours + place.combiner->brought[carrier]);
}

std::vector<rf::Tone> Distortion::tones_at(const Place& place) const {
  std::vector<rf::Tone> tones;
  for (const auto i : carriers_at(place))
    tones.push_back({stand_at_[i], level_at(place, i), physics_->carriers_[i].carrier->emission()});
  return tones;
}

std::vector<SharedSearches::Kept>& Distortion::kept() const {
  auto& all = (shared_ != nullptr ? *shared_ : own_).kept_;
  all.resize(behind.number + 1 + physics_->outlets_.size());
  return all;
}

const rf::IntermodulationSearch& Distortion::search_at(const Place& place) const {
  auto& [losses, gain, search] = kept()[place.number];
  if (search && losses == losses_to(place) && gain == place.gain) return *search;
  losses = losses_to(place);
  gain = place.gain;
  if (!search) {
    std::vector<rf::Band> channels;
    for (const auto i : channels_) channels.push_back(band_of(i));
    return search.emplace(tones_at(place), std::move(channels));
  }
  std::vector<PowerLevel> levels;
  for (const auto i : carriers_at(place)) levels.push_back(level_at(place, i));
  search->set_levels(levels);
  return *search;
}

bool Distortion::filtered_behind() const {
  return std::ranges::any_of(losses_.after, [](double loss) { return loss != 0.0; });
}

template <class Visit>
void Distortion::for_each(const Way& way, const rf::Stage& own, const Visit& visit) const {
  const auto& [outlet, served] = way;
  const auto carrier = way.carrier();
  if (!physics_->lead_amplifiers_.empty()) {
    const auto& lead = physics_->leads_[carrier];
    visit(in_lead, lead.intercepts, -lead.to_amplifier.front());
  }
  const auto& rest = outlet.combined ? outlet.feeds[served] : outlet.cascades[served];
  const auto before = Decibel::of(losses_.before[carrier]);
  const auto through = before + Decibel::of(losses_.after[carrier]);
  const auto here = own.intercepts();
  const auto later = rest.intercepts() - own.gain;
  if (!filtered_behind()) {
    const auto both = rf::in_cascade(here, later);
    if (both.finite()) visit(at_amplifier, both, before);
  } else {
    if (here.finite()) visit(at_amplifier, here, before);
    if (later.finite()) visit(behind, later, through);
  }
  if (outlet.combined && outlet.rests[served].intercepts().finite())
    visit(at_combiner(outlet, own), outlet.rests[served].intercepts(),
          through - own.gain - outlet.to_combiner[carrier]);
}

PowerLevel Distortion::on(const Way& way, const rf::Stage& own) const {
  auto third = rf::no_power();
  auto fifth = rf::no_power();
  const auto channel = channel_of(way.carrier());
  for_each(way, own, [&](const Place& place, const rf::Intercepts& at, Decibel lost) {
    const auto& search = search_at(place);
    third = in_phase(third, search.level(channel, at.third) + lost);
    if (at.fifth < rf::no_limit())
      fifth = in_phase(fifth, search.fifth_order_level(channel, at.fifth) + lost);
  });
  return rf::from_milliwatts(rf::milliwatts(third) + rf::milliwatts(fifth));
}

void Distortion::try_carrier_at(std::size_t carrier, Frequency to) {
  const auto& moving = physics_->carriers_[carrier];
  if (!tries_) {
    tries_ = true;
    shared_ = nullptr;
    own_ = {};
  }
  stand_at_[carrier] = to;
  auto& all = kept();
  for (std::size_t number = 0; number < all.size(); ++number) {
    auto& search = all[number].search;
    if (!search) continue;  // made when it is asked for, as carriers stand then
    const bool together = number > behind.number;
    const auto tones =
        together ? physics_->of_known_level(physics_->outlets_[number - behind.number - 1])
                 : physics_->of_known_level();
    const auto found = std::ranges::lower_bound(tones, carrier);
    const auto tone = static_cast<std::size_t>(found - tones.begin());
    if (found != tones.end() && *found == carrier)
      search->move(tone, {to, search->tones()[tone].level, search->tones()[tone].emission});
    if (moving.served) search->move_channel(channel_of(carrier), band_of(carrier));
  }
}

std::size_t Distortion::channel_of(std::size_t carrier) const {
  return static_cast<std::size_t>(std::ranges::lower_bound(channels_, carrier) - channels_.begin());
}

rf::Band Distortion::band_of(std::size_t carrier) const {
  return rf::Band::around(stand_at_[carrier], physics_->carriers_[carrier].carrier->bandwidth);
}

std::vector<Distortion::Distorting> Distortion::distorting(const Way& way,
                                                           const rf::Stage& own) const {
  std::vector<Distorting> all;
  for_each(way, own, [&](const Place& place, const rf::Intercepts& at, Decibel lost) {
    all.push_back({place, at, lost});
  });
  return all;
}

std::vector<rf::Product> Distortion::third_order(const Way& way, const std::vector<Distorting>& by,
                                                 std::size_t most) const {
  std::vector<std::vector<rf::Tone>> tones;
  std::vector<rf::DistortingStage> stages;
  for (const auto& [place, at, lost] : by) tones.push_back(tones_at(place));
  for (std::size_t i = 0; i < by.size(); ++i)
    stages.push_back({tones[i], by[i].at.third, by[i].lost});
  return rf::strongest_in(band_of(way.carrier()), stages, most);
}

std::vector<rf::Product> Distortion::fifth_order(const Way& way,
                                                 const std::vector<Distorting>& by) const {
  std::vector<rf::Product> all;
  for (const auto& [place, at, lost] : by) {
    if (at.fifth == rf::no_limit()) continue;
    for (auto product :
         rf::fifth_order_products_in(band_of(way.carrier()), tones_at(place), at.fifth)) {
      product.level = product.level + lost;
      all.push_back(product);
    }
  }
  const auto makers = [](const rf::Product& product) {
    return std::pair{product.plus[0], product.minus};
  };
  std::ranges::stable_sort(all, {}, makers);
  std::vector<rf::Product> together;
  for (const auto& product : all)
    if (!together.empty() && makers(together.back()) == makers(product))
      together.back().level = in_phase(together.back().level, product.level);
    else
      together.push_back(product);
  return together;
}

std::vector<rf::Product> Distortion::products(const Way& way, const rf::Stage& own,
                                              std::size_t most) const {
  const auto by = distorting(way, own);
  auto all = third_order(way, by, most);
  std::ranges::move(fifth_order(way, by), std::back_inserter(all));
  std::ranges::stable_sort(all, std::greater{}, &rf::Product::level);
  if (all.size() > most) all.resize(most);
  return all;
}

std::optional<rf::Product> Distortion::worst(const Way& way, const rf::Stage& own) const {
  const auto by = distorting(way, own);
  if (by.size() == 1 && by.front().at.fifth == rf::no_limit()) {
    // The tables of the search know it.
    const auto& [place, at, lost] = by.front();
    auto worst = search_at(place).strongest(channel_of(way.carrier()), at.third);
    if (worst) worst->level = worst->level + lost;
    return worst;
  }
  const auto strongest = products(way, own, 1);
  return strongest.empty() ? std::nullopt : std::optional{strongest.front()};
}

}  // namespace catwalk::rack
