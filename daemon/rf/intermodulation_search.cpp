// SPDX-License-Identifier: Apache-2.0
#include "daemon/rf/intermodulation_search.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

#include "daemon/rf/fifth_order.hpp"

namespace catwalk::rf {
namespace {

constexpr std::int64_t most_bins = 131'072;
// Over all pairs of kinds; 64 bytes each.
constexpr std::int64_t most_bins_of_pairs = 262'144;
// Of a run of weights, beyond which looking at each product is faster, and smaller.
constexpr std::int64_t longest_run = 4'096;
// Each edit costs a sum at most a rounding of its peak, and it is added up again before it falls to
// 1e-3 of that (pair_tables.hpp). So many edits cost 5e-11 in the tables and, fed by those, 1e-5 in
// a channel if every error went the same way.
constexpr int edits_before_anew = 200;

std::int64_t floor_division(std::int64_t a, std::int64_t b) { return a / b - (a % b < 0 ? 1 : 0); }

}  // namespace

IntermodulationSearch::IntermodulationSearch(std::vector<Tone> tones, std::vector<Band> channels,
                                             Frequency raster)
    : tones_{std::move(tones)}, channels_{std::move(channels)}, wanted_raster_{raster.hertz()} {
  compute_anew();
}

PowerLevel IntermodulationSearch::level(std::size_t channel, PowerLevel input_ip3) const {
  return from_milliwatts(cubic_[channel]) - 2.0 * (input_ip3 - PowerLevel{});
}

std::vector<Product> IntermodulationSearch::products(std::size_t channel,
                                                     PowerLevel input_ip3) const {
  return products_in(channels_[channel], tones_, input_ip3);
}

std::optional<Product> IntermodulationSearch::strongest(std::size_t channel,
                                                        PowerLevel input_ip3) const {
  if (!tables_) {
    const auto all = products(channel, input_ip3);
    return all.empty() ? std::nullopt : std::optional{all.front()};
  }
  PairTables::Triple best;
  for (const auto& place : places_[channel]) {
    const auto found = tables_->strongest(weights_[place.weights].of_bins, place.shift);
    if (found.power > best.power) best = found;
  }
  if (best.power <= 0.0) return std::nullopt;
  const auto at = frequency_of(best.a) + frequency_of(best.b) - frequency_of(best.c);
  return Product{{frequency_of(best.a), frequency_of(best.b)},
                 frequency_of(best.c),
                 at < Frequency{} ? -at : at,
                 from_milliwatts(best.power) - 2.0 * (input_ip3 - PowerLevel{}),
                 best.share};
}

PowerLevel IntermodulationSearch::fifth_order_level(std::size_t channel,
                                                    PowerLevel input_ip5) const {
  if (!quintic_) quintic_ = fifth_order_in(channels_, tones_);
  return rf::fifth_order_level((*quintic_)[channel], input_ip5);
}

// Also those of silent tones, which may be given power.
void IntermodulationSearch::find_kinds() {
  kinds_.clear();
  reach_ = {};
  for (const auto& tone : tones_) {
    if (kind_of(tone.emission)) continue;
    kinds_.push_back(tone.emission);
    reach_ = std::max(reach_, tone.emission.reach());
  }
}

std::optional<std::size_t> IntermodulationSearch::kind_of(const Emission& emission) const {
  const auto found = std::ranges::find(kinds_, emission);
  if (found == kinds_.end()) return std::nullopt;
  return static_cast<std::size_t>(found - kinds_.begin());
}

void IntermodulationSearch::compute_anew() {
  edits_ = 0;
  quintic_.reset();
  tables_.reset();
  sorted_.reset();
  cubic_.assign(channels_.size(), 0.0);
  peaks_.assign(channels_.size(), 0.0);
  weights_.clear();
  places_.assign(channels_.size(), {});
  find_kinds();
  const auto distinct = merged(tones_);
  if (distinct.empty()) return;

  // The tables span the channels too, since carriers will be moved there. Where they end does not
  // matter to what is found.
  auto low = distinct.front().frequency.hertz();
  auto high = distinct.back().frequency.hertz();
  raster_ = wanted_raster_;
  for (const auto& tone : distinct) {
    raster_ = std::gcd(raster_, tone.frequency.hertz() - distinct.front().frequency.hertz());
  }
  const auto first = low;
  for (const auto& channel : channels_) {
    low = std::min(low, channel.low.hertz());
    high = std::max(high, channel.high.hertz());
  }
  base_ = first - (first - low) / raster_ * raster_;
  const auto bins = (high - base_) / raster_ + 1;
  const auto pairs = static_cast<std::int64_t>(kinds_.size() * (kinds_.size() + 1) / 2);
  Frequency widest;
  for (const auto& channel : channels_) widest = std::max(widest, channel.width());
  const auto run = (widest + reach_ + reach_).hertz() / raster_;
  if (bins <= most_bins && bins * pairs <= most_bins_of_pairs && run <= longest_run) {
    std::vector<double> power_twice;
    for (const auto& kind : kinds_) power_twice.push_back(kind.power_twice());
    tables_.emplace(static_cast<std::int32_t>(bins), std::move(power_twice));
    fill_tables(distinct);
  } else {
    sorted_.emplace(distinct);
  }
  for (std::size_t i = 0; i < channels_.size(); ++i) {
    place_channel(i);
    compute_channel(i);
  }
}

void IntermodulationSearch::fill_tables(const std::vector<Tone>& distinct) {
  for (const auto& tone : distinct)
    tables_->insert({*bin_of(tone.frequency), *kind_of(tone.emission), milliwatts(tone.level)});
}

void IntermodulationSearch::set_levels(std::span<const PowerLevel> levels) {
  for (std::size_t i = 0; i < tones_.size(); ++i) tones_[i].level = levels[i];
  quintic_.reset();
  const auto distinct = merged(tones_);
  // Their raster was found from those that had power.
  const bool all_fit = tables_ && std::ranges::all_of(distinct, [this](const Tone& tone) {
                         return bin_of(tone.frequency).has_value();
                       });
  if (!all_fit) return compute_anew();
  edits_ = 0;
  tables_->clear();
  fill_tables(distinct);
  for (std::size_t i = 0; i < channels_.size(); ++i) compute_channel(i);
}

// Where it stays whatever the levels are.
void IntermodulationSearch::place_channel(std::size_t channel) {
  if (tables_) places_[channel] = places_of(channels_[channel]);
}

void IntermodulationSearch::compute_channel(std::size_t channel) {
  const auto& band = channels_[channel];
  if (tables_) {
    cubic_[channel] = 0.0;
    for (const auto& place : places_[channel])
      cubic_[channel] += tables_->products(weights_[place.weights].of_bins, place.shift);
  } else if (sorted_) {
    cubic_[channel] = sorted_->cubic_power(band) + sorted_->cubic_power({-band.high, -band.low});
  }
  peaks_[channel] = cubic_[channel];
}

std::optional<std::int32_t> IntermodulationSearch::bin_of(Frequency frequency) const {
  const auto offset = frequency.hertz() - base_;
  if (!tables_ || offset < 0 || offset % raster_ != 0) return std::nullopt;
  const auto bin = offset / raster_;
  if (bin >= tables_->bins()) return std::nullopt;
  return static_cast<std::int32_t>(bin);
}

Frequency IntermodulationSearch::frequency_of(std::int32_t bin) const {
  return Frequency::hertz(base_ + bin * raster_);
}

// A product of bins a, b, c lies on base + (a+b−c)·raster. What lies on a negative frequency is
// heard on the positive one, so a channel has a mirror image; nothing reaches it unless carriers
// are more than an octave apart.
std::vector<IntermodulationSearch::Place> IntermodulationSearch::places_of(Band channel) {
  std::vector<Place> places;
  const std::int64_t lowest = -(tables_->bins() - std::int64_t{1});
  const std::int64_t highest = 2 * (tables_->bins() - std::int64_t{1});
  const auto beyond = reach_.hertz();
  for (const auto& band : {channel, Band{-channel.high, -channel.low}}) {
    const auto low = band.low.hertz() - base_;
    const auto shift = floor_division(low, raster_);
    if (low - beyond > highest * raster_) continue;
    if (band.high.hertz() - base_ + beyond < lowest * raster_) continue;
    places.push_back({weights_for(low - shift * raster_, band.width().hertz()),
                      static_cast<std::int32_t>(shift)});
  }
  return places;
}

std::size_t IntermodulationSearch::weights_for(std::int64_t above_bin, std::int64_t width) {
  const auto found = std::ranges::find_if(weights_, [&](const Weights& weights) {
    return weights.above_bin == above_bin && weights.width == width;
  });
  if (found != weights_.end()) return static_cast<std::size_t>(found - weights_.begin());
  Weights fresh{above_bin, width, {}};
  auto& [three, two] = fresh.of_bins;
  three.resize(tables_->pairs() * kinds_.size());
  for (std::size_t a = 0; a < kinds_.size(); ++a)
    for (std::size_t c = 0; c < kinds_.size(); ++c) {
      for (std::size_t b = 0; b <= a; ++b)
        three[tables_->three_of(PairTables::pair_of(a, b), c)] =
            bin_weights(fresh, widths_of(kinds_[a], kinds_[b], kinds_[c]));
      two.push_back(bin_weights(fresh, widths_of_twice(kinds_[a], kinds_[c])));
    }
  weights_.push_back(std::move(fresh));
  return weights_.size() - 1;
}

BinWeights IntermodulationSearch::bin_weights(const Weights& channel,
                                              const ProductWidths& widths) const {
  const auto half = static_cast<std::int64_t>(std::ceil((widths[0] + widths[1] + widths[2]) / 2));
  const auto first = -floor_division(half - channel.above_bin, raster_);
  const auto last = floor_division(channel.above_bin + channel.width + half, raster_);
  BinWeights weights{static_cast<std::int32_t>(first)};
  for (auto bin = first; bin <= last; ++bin) {
    const auto low = static_cast<double>(channel.above_bin - bin * raster_);
    weights.of_bin.push_back(share_between(low, low + static_cast<double>(channel.width), widths));
  }
  return weights;
}

// All products with this carrier, which is not in the tables.
double IntermodulationSearch::change_by(const PairTables::Carrier& carrier,
                                        std::size_t channel) const {
  double power = 0.0;
  for (const auto& place : places_[channel])
    power += tables_->products_with(carrier, weights_[place.weights].of_bins, place.shift);
  return power;
}

// What stands on this bin from now on; nothing without power.
void IntermodulationSearch::put(std::int32_t bin, const std::optional<Tone>& tone) {
  tables_->prepare_edits();
  const auto before = tables_->on(bin);
  if (before) {
    tables_->erase(bin);
    for (std::size_t i = 0; i < channels_.size(); ++i)
      if (cubic_[i] >= 0.0)
        cubic_[i] = subtract_safely(cubic_[i], change_by(*before, i), peaks_[i]);
  }
  if (!tone) return;
  const PairTables::Carrier fresh{bin, *kind_of(tone->emission), milliwatts(tone->level)};
  for (std::size_t i = 0; i < channels_.size(); ++i) {
    if (cubic_[i] < 0.0) continue;
    cubic_[i] += change_by(fresh, i);
    peaks_[i] = std::max(peaks_[i], cubic_[i]);
  }
  tables_->insert(fresh);
}

std::optional<Tone> IntermodulationSearch::standing_on(Frequency frequency) const {
  std::vector<Tone> there;
  for (const auto& tone : tones_)
    if (tone.frequency == frequency) there.push_back(tone);
  const auto all = merged(there);
  return all.empty() ? std::nullopt : std::optional{all.front()};
}

// tones_ is already as it shall be.
void IntermodulationSearch::replace(std::optional<Tone> old, std::optional<Tone> fresh) {
  ++edits_;
  quintic_.reset();
  const auto usable = [this](const std::optional<Tone>& tone) {
    return !tone || (bin_of(tone->frequency) && kind_of(tone->emission));
  };
  if (!tables_ || edits_ > edits_before_anew || !usable(old) || !usable(fresh)) {
    compute_anew();
    return;
  }
  for (const auto& tone : {old, fresh}) {
    if (tone) put(*bin_of(tone->frequency), standing_on(tone->frequency));
  }
  recompute_worn_out();
}

void IntermodulationSearch::recompute_worn_out() {
  for (std::size_t i = 0; i < channels_.size(); ++i) {
    if (cubic_[i] < 0.0) compute_channel(i);
  }
}

void IntermodulationSearch::add(Tone tone) {
  tones_.push_back(tone);
  replace(std::nullopt, tone);
}

void IntermodulationSearch::remove(std::size_t index) {
  const auto old = tones_[index];
  tones_.erase(tones_.begin() + static_cast<std::ptrdiff_t>(index));
  replace(old, std::nullopt);
}

void IntermodulationSearch::move(std::size_t index, Tone to) {
  const auto old = std::exchange(tones_[index], to);
  replace(old, to);
}

void IntermodulationSearch::move_channel(std::size_t index, Band to) {
  channels_[index] = to;
  quintic_.reset();
  place_channel(index);
  compute_channel(index);
}

}  // namespace catwalk::rf
