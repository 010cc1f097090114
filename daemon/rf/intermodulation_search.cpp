// SPDX-License-Identifier: Apache-2.0
#include "daemon/rf/intermodulation_search.hpp"

#include <algorithm>
#include <cstdlib>
#include <numeric>

namespace catwalk::rf {
namespace {

constexpr std::int64_t most_bins = 131'072;
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
  const auto& [band, mirror] = windows_[channel];
  const auto found = std::max(tables_->strongest(band.first, band.last),
                              tables_->strongest(mirror.first, mirror.last),
                              [](const auto& a, const auto& b) { return a.power < b.power; });
  if (found.power <= 0.0) return std::nullopt;
  const auto at = frequency_of(found.a) + frequency_of(found.b) - frequency_of(found.c);
  return Product{{frequency_of(found.a), frequency_of(found.b)},
                 frequency_of(found.c),
                 at < Frequency{} ? -at : at,
                 from_milliwatts(found.power) - 2.0 * (input_ip3 - PowerLevel{})};
}

void IntermodulationSearch::compute_anew() {
  edits_ = 0;
  tables_.reset();
  sorted_.reset();
  cubic_.assign(channels_.size(), 0.0);
  peaks_.assign(channels_.size(), 0.0);
  windows_.assign(channels_.size(), {});
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
  if (bins <= most_bins) {
    tables_.emplace(static_cast<std::int32_t>(bins));
    fill_tables(distinct);
  } else {
    sorted_.emplace(distinct);
  }
  for (std::size_t i = 0; i < channels_.size(); ++i) compute_channel(i);
}

void IntermodulationSearch::fill_tables(const std::vector<Tone>& distinct) {
  for (const auto& tone : distinct) {
    tables_->insert(*bin_of(tone.frequency), milliwatts(tone.level));
  }
}

void IntermodulationSearch::set_levels(std::span<const PowerLevel> levels) {
  for (std::size_t i = 0; i < tones_.size(); ++i) tones_[i].level = levels[i];
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

void IntermodulationSearch::compute_channel(std::size_t channel) {
  const auto& band = channels_[channel];
  if (tables_) {
    windows_[channel] = windows_of(band);
    cubic_[channel] = cubic_power(windows_[channel].first) + cubic_power(windows_[channel].second);
  } else if (sorted_) {
    const auto low = band.low.hertz();
    const auto high = band.high.hertz();
    cubic_[channel] = sorted_->cubic_power(low, high) + sorted_->cubic_power(-high, -low);
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
// heard on the positive one, so a channel has a mirror image; it is empty unless carriers are more
// than an octave apart.
std::pair<IntermodulationSearch::Window, IntermodulationSearch::Window>
IntermodulationSearch::windows_of(Band channel) const {
  const auto window = [this](std::int64_t low, std::int64_t high) {
    const std::int64_t lowest = -(tables_->bins() - 1);
    const std::int64_t highest = 2 * (tables_->bins() - std::int64_t{1});
    const auto first = std::max(lowest, -floor_division(base_ - low, raster_));
    const auto last = std::min(highest, floor_division(high - base_, raster_));
    return first > last ? Window{}
                        : Window{static_cast<std::int32_t>(first), static_cast<std::int32_t>(last)};
  };
  return {window(channel.low.hertz(), channel.high.hertz()),
          window(-channel.high.hertz(), -channel.low.hertz())};
}

double IntermodulationSearch::cubic_power(Window window) const {
  double power = 0.0;
  auto first = window.first;
  for (auto bin = window.first; bin <= window.last; ++bin) {
    if (bin < 0 || bin >= tables_->bins() || tables_->power(bin) <= 0.0) continue;
    if (first < bin) power += tables_->products_between(first, bin - 1);
    power += tables_->products_on(bin);
    first = bin + 1;
  }
  if (first <= window.last) power += tables_->products_between(first, window.last);
  return power;
}

// All products with the carrier x of this bin and power, which is not in the tables: x+b−c, 2x−c
// and a+b−x of the others. None of them is trivial.
double IntermodulationSearch::change_by(std::int32_t bin, double power, Window window) const {
  if (window.first > window.last) return 0.0;
  return 4.0 * power * tables_->differences(window.first - bin, window.last - bin) +
         power * power * tables_->powers(2 * bin - window.last, 2 * bin - window.first) +
         power * tables_->sums(window.first + bin, window.last + bin);
}

void IntermodulationSearch::set_power(std::int32_t bin, double power) {
  const double before = tables_->power(bin);
  tables_->prepare_edits();
  if (before > 0.0) {
    tables_->erase(bin);
    for (std::size_t i = 0; i < channels_.size(); ++i) {
      if (cubic_[i] < 0.0) continue;
      const auto& [band, mirror] = windows_[i];
      const double part = change_by(bin, before, band) + change_by(bin, before, mirror);
      cubic_[i] = subtract_safely(cubic_[i], part, peaks_[i]);
    }
  }
  if (power > 0.0) {
    for (std::size_t i = 0; i < channels_.size(); ++i) {
      if (cubic_[i] < 0.0) continue;
      const auto& [band, mirror] = windows_[i];
      cubic_[i] += change_by(bin, power, band) + change_by(bin, power, mirror);
      peaks_[i] = std::max(peaks_[i], cubic_[i]);
    }
    tables_->insert(bin, power);
  }
}

double IntermodulationSearch::tone_power_at(Frequency frequency) const {
  double power = 0.0;
  for (const auto& tone : tones_) {
    if (tone.frequency == frequency) power += milliwatts(tone.level);
  }
  return power;
}

// tones_ is already as it shall be.
void IntermodulationSearch::replace(std::optional<Tone> old, std::optional<Tone> fresh) {
  ++edits_;
  const auto usable = [this](const std::optional<Tone>& tone) {
    return !tone || bin_of(tone->frequency).has_value();
  };
  if (!tables_ || edits_ > edits_before_anew || !usable(old) || !usable(fresh)) {
    compute_anew();
    return;
  }
  for (const auto& tone : {old, fresh}) {
    if (tone) set_power(*bin_of(tone->frequency), tone_power_at(tone->frequency));
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
  compute_channel(index);
}

}  // namespace catwalk::rf
