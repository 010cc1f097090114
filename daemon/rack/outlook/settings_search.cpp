// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/outlook/settings_search.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace catwalk::rack {
namespace {

using plan::Settings;
using rf::Frequency;
using rf::Gain;

std::int64_t in_centidecibels(rf::Decibel value) { return std::llround(100.0 * value.value()); }

}  // namespace

const CarrierBudget* worst_of(const Budget& budget) {
  const auto worst = std::ranges::min_element(budget.carriers, {}, &CarrierBudget::well_off);
  return worst == budget.carriers.end() ? nullptr : &*worst;
}

SettingsSearch::SettingsSearch(const Surroundings& around, const plan::Node& node,
                               const Settings& base, const StillWanted& still_wanted)
    : around_{around},
      node_{node},
      base_{base},
      still_wanted_{still_wanted},
      known_{physics_of(around, node)},
      nearby_{physics().makes_fifth_order()} {
  base_.power = true;
  find_middle();
  list_gains();
  list_tunings();
}

// What is against a tuning without any physics is against all of its gains: where it is more than
// against the best found, nobody needs its loads.
std::optional<SettingsSearch::Candidate> SettingsSearch::best() {
  std::ranges::stable_sort(tunings_, {}, &Tuning::against);
  std::optional<Candidate> best;
  for (std::span<const Tuning> left{tunings_}; !left.empty();) {
    const auto& against = left.front().against;
    if (best && against > best->against) break;
    const auto alike =
        std::ranges::find_if(left, [&](const Tuning& tuning) { return tuning.against != against; });
    const auto count = static_cast<std::size_t>(alike - left.begin());
    if (!look_through(left.first(count), best)) return std::nullopt;
    left = left.subspan(count);
  }
  return best;
}

bool SettingsSearch::look_through(std::span<const Tuning> tunings, std::optional<Candidate>& best) {
  std::vector<Hope> hopes;
  for (const auto& tuning : tunings) {
    if (!still_wanted_()) return false;
    const TunedNode tuned{physics(), tuning.filter, tuning.centre, &shared_};
    const auto loads = tuned.loads();
    std::vector<std::pair<Count, Gain>> least;
    for (const auto gain : gains_)
      least.emplace_back(tuning.against + count_loads(limits(), loads, gain), gain);
    hopes.push_back({&tuning, std::move(least)});
  }
  std::ranges::stable_sort(hopes, {}, &Hope::least_against);
  for (auto hope = hopes.begin(); hope != hopes.end();) {
    const auto against = hope->least_against();
    if (best && against > best->against) break;
    // Of those that have as little against them, first those that could hear most.
    auto last = hope;
    for (; last != hopes.end() && last->least_against() == against; ++last)
      last->well_off = most_well_off(*last);
    std::ranges::stable_sort(hope, last, std::greater{}, &Hope::well_off);
    for (; hope != last; ++hope) {
      if (!still_wanted_()) return false;
      look_at(*hope, best);
    }
  }
  return true;
}

Room SettingsSearch::room_around(const Settings& settings) {
  Room room;
  const auto g =
      static_cast<std::size_t>(std::ranges::lower_bound(gains_, settings.gain) - gains_.begin());
  const auto is_clean = [&](Frequency centre, std::size_t gain) {
    return gain < gains_.size() && clean_at(settings.filter, centre, gains_[gain]);
  };
  auto low = g;
  while (low > 0 && is_clean(settings.centre, low - 1)) --low;
  auto high = g;
  while (is_clean(settings.centre, high + 1)) ++high;
  room.down = settings.gain - gains_[low];
  room.up = gains_[high] - settings.gain;
  const auto with_gain = [&](std::size_t gain) {
    auto other = settings;
    other.gain = gains_[gain];
    return other;
  };
  if (low > 0) room.down_stops = says_no(with_gain(low - 1));
  if (high + 1 < gains_.size()) room.up_stops = says_no(with_gain(high + 1));

  const auto& tuning = node_.datasheet->filters[settings.filter].tuning;
  if (!tuning) return room;
  const auto walk = [&](Frequency step, std::optional<Rule>& stops) {
    auto other = settings;
    for (other.centre = other.centre + step; tuning->reaches(other.centre);
         other.centre = other.centre + step) {
      if (is_clean(other.centre, g)) continue;
      stops = says_no(other);
      break;
    }
    return other.centre - step;
  };
  room.lower = settings.centre - walk(-tuning->step, room.lower_stops);
  room.higher = walk(tuning->step, room.higher_stops) - settings.centre;
  return room;
}

std::int64_t SettingsSearch::most_well_off(const Hope& hope) {
  const TunedNode tuned{physics(), hope.tuning->filter, hope.tuning->centre, &shared_};
  const auto least = hope.least_against();
  auto most = std::numeric_limits<std::int64_t>::min();
  for (auto hoped = hope.gains.rbegin(); hoped != hope.gains.rend(); ++hoped) {
    if (hoped->first != least) continue;
    most = std::max(most, well_off_at(tuned.carriers_without_products_at(hoped->second)));
    if (node_.datasheet->noise_figures.empty()) break;
  }
  return most;
}

std::int64_t SettingsSearch::well_off_at(const Budget& budget) {
  const auto* worst = worst_of(budget);
  return worst == nullptr ? 0 : in_centidecibels(worst->well_off());
}

void SettingsSearch::look_at(const Hope& hope, std::optional<Candidate>& best) {
  const auto& tuning = *hope.tuning;
  if (best &&
      std::tuple{hope.least_against(), -hope.well_off} > std::tuple{best->against, -best->well_off})
    return;
  const TunedNode tuned{physics(), tuning.filter, tuning.centre, &shared_};
  const auto losses = tuned.losses_of_carriers();
  const auto beaten = [&](const Count& against, std::int64_t well_off) {
    return std::tuple{against, -well_off} > std::tuple{best->against, -best->well_off};
  };
  for (const auto& [least, gain] : hope.gains) {
    if (best && least > best->against) continue;
    const WeighedNearby::Setting at{tuning.filter, gain, tuning.centre};
    if (best) {
      if (const auto near = nearby_.bound(limits(), at, losses);
          near && beaten(least + Count{0, near->cautions}, in_centidecibels(near->well_off)))
        continue;
      const auto at_best = tuned.carriers_without_products_at(gain);
      if (beaten(least + Count{0, cautions_on_carriers(limits(), at_best)}, well_off_at(at_best)))
        continue;
    }
    const auto budget = tuned.at(gain);
    nearby_.remember(at, losses, budget);
    auto candidate = weigh(tuning, budget, gain);
    if (!best || candidate.rank() < best->rank()) best = std::move(candidate);
  }
}

bool SettingsSearch::clean_at(std::uint8_t filter, Frequency centre, Gain gain) {
  const Tuning tuning{filter, centre, count_against(filter, centre)};
  if (tuning.against != Count{}) return false;
  const TunedNode tuned{physics(), filter, centre, &shared_};
  return count(breaches(limits(), tuned.at(gain))) == Count{};
}

void SettingsSearch::find_middle() {
  std::optional<rf::Band> all;
  for (const auto& carrier : physics().carriers()) {
    if (!carrier.served) continue;
    const auto band = carrier.carrier->band();
    all = all ? rf::Band{std::min(all->low, band.low), std::max(all->high, band.high)} : band;
  }
  if (all) middle_ = all->low + all->width() / 2;
}

void SettingsSearch::list_gains() {
  // Limits between two steps allow none: the least bad is then one of all.
  const auto gains = around_.plan.gains_of(node_).value_or(node_.datasheet->gains);
  gains.for_each([this](Gain gain) { gains_.push_back(gain); });
}

void SettingsSearch::list_tunings() {
  const auto& filters = node_.datasheet->filters;
  for (std::size_t f = 0; f < filters.size(); ++f) {
    const auto filter = static_cast<std::uint8_t>(f);
    const auto& tuning = filters[f].tuning;
    if (!tuning) {
      tunings_.push_back({filter, {}, count_against(filter, {})});
      continue;
    }
    tuning->for_each([&](Frequency centre) {
      tunings_.push_back({filter, centre, count_against(filter, centre)});
    });
  }
}

Count SettingsSearch::count_against(std::uint8_t number, Frequency centre) const {
  const auto& filter = node_.datasheet->filters[number];
  const auto surely = filter.surely_passed(centre);
  const auto perhaps = filter.perhaps_passed(centre);
  Count against;
  for (const auto& carrier : physics().carriers()) {
    const auto band = carrier.carrier->band();
    if (carrier.served && !surely.contains(band)) ++against.refusals;
    const bool transmits = carrier.carrier->use == plan::CarrierUse::transmit;
    if (transmits && perhaps.overlaps(band)) ++against.refusals;
  }
  // Where nothing of its own is left outside no receiver loses anything.
  if (against.refusals > 0) against.refusals += dark_receivers(around_, node_, at(number, centre));
  for (const auto& lane : around_.segment.lanes)
    if (lane.purpose != plan::LanePurpose::receive && filter.passband(centre).overlaps(lane.band))
      ++against.cautions;
  return against;
}

Settings SettingsSearch::at(std::uint8_t filter, Frequency centre) const {
  auto settings = base_;
  settings.filter = filter;
  settings.centre = centre;
  return settings;
}

SettingsSearch::Candidate SettingsSearch::weigh(const Tuning& tuning, const Budget& budget,
                                                Gain gain) const {
  Candidate candidate{base_, tuning.against + count(breaches(limits(), budget))};
  candidate.settings.gain = gain;
  candidate.settings.filter = tuning.filter;
  candidate.settings.centre = tuning.centre;
  if (const auto* worst = worst_of(budget)) {
    candidate.well_off = in_centidecibels(worst->well_off());
    const auto target = 0.5 * (limits().lowest_chain_gain + limits().highest_chain_gain);
    if (worst->receiver != nullptr)
      candidate.off_target = std::abs(in_centidecibels(worst->chain_gain - target));
  }
  const auto& filter = node_.datasheet->filters[tuning.filter];
  const auto band = filter.passband(tuning.centre);
  if (middle_) candidate.off_middle = std::abs((band.low + band.width() / 2 - *middle_).hertz());
  return candidate;
}

std::optional<Rule> SettingsSearch::says_no(const Settings& settings) {
  const auto counts = [](const auto& setting) { return setting.severity != Severity::note; };
  const auto first = [&](const auto& all) {
    const auto first_of_all = std::ranges::find_if(all, counts);
    return first_of_all == all.end() ? std::optional<Rule>{} : std::optional{first_of_all->rule};
  };
  if (const auto rule = first(check_datasheet(node_, settings))) return rule;
  if (const auto rule = first(check_plan(around_, node_, settings))) return rule;
  const TunedNode tuned{physics(), settings.filter, settings.centre, &shared_};
  return first(breaches(limits(), tuned.at(settings.gain)));
}

}  // namespace catwalk::rack
