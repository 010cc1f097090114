// SPDX-License-Identifier: Apache-2.0
#include "daemon/plan/datasheet.hpp"

#include <algorithm>
#include <tuple>

namespace catwalk::plan {
namespace {

// Straight lines between the rows, which rise; the nearest row beyond them. Precondition: a row.
template <class Row>
double at_gain(const std::vector<Row>& rows, rf::Gain gain, double Row::*figure) {
  const auto above = std::ranges::upper_bound(rows, gain, {}, &Row::gain);
  if (above == rows.begin()) return (*above).*figure;
  const auto& low = *(above - 1);
  if (above == rows.end()) return low.*figure;
  const double share = (gain - low.gain).decibels() / (above->gain - low.gain).decibels();
  return low.*figure + share * ((*above).*figure - low.*figure);
}

}  // namespace

bool operator==(const Filter& a, const Filter& b) {
  const bool same_model =
      a.model == b.model || (a.model != nullptr && b.model != nullptr && *a.model == *b.model);
  return same_model && std::tie(a.name, a.width, a.tuning, a.fixed, a.skirt) ==
                           std::tie(b.name, b.width, b.tuning, b.fixed, b.skirt);
}

std::optional<FilterModel> usual_model(const Filter& filter) {
  const auto middle = filter.tuning ? filter.tuning->lowest : filter.fixed.low + filter.width / 2;
  auto model = rf::TunableFilter::make(rf::FilterShape::butterworth, 3, rf::Decibel::of(1.0),
                                       {{middle, filter.width, {}}});
  if (!model) return std::nullopt;
  return *std::move(model);
}

std::optional<std::uint8_t> Datasheet::filter_index(std::string_view name) const {
  for (std::size_t i = 0; i < filters.size(); ++i)
    if (filters[i].name == name) return static_cast<std::uint8_t>(i);
  return std::nullopt;
}

bool Datasheet::reaches(const Settings& settings) const {
  if (!settings.power) return true;
  if (settings.filter >= filters.size()) return false;
  const auto& tuning = filters[settings.filter].tuning;
  return gains.reaches(settings.gain) && (!tuning || tuning->reaches(settings.centre));
}

std::optional<TunedFilter> Datasheet::tuned(std::uint8_t filter, rf::Frequency centre) const {
  if (filter >= filters.size()) return std::nullopt;
  const auto& choice = filters[filter];
  if (choice.tuning && !choice.tuning->reaches(centre)) return std::nullopt;
  const auto middle = choice.tuning ? centre : choice.fixed.low + choice.width / 2;
  if (choice.model) return TunedFilter::make(*choice.model, middle);
  const auto usual = usual_model(choice);
  return usual ? TunedFilter::make(*usual, middle) : std::nullopt;
}

std::optional<TunedFilter> Datasheet::tuned(const Settings& settings) const {
  if (!settings.power || !reaches(settings)) return std::nullopt;
  return tuned(settings.filter, settings.centre);
}

rf::Decibel Datasheet::noise_figure(rf::Gain gain) const {
  if (noise_figures.empty())
    return rf::Decibel::of(noise_figure_db + std::max(0.0, -gain.decibels()));
  return rf::Decibel::of(at_gain(noise_figures, gain, &GainNoise::noise_figure_db));
}

rf::PowerLevel Datasheet::output_p1db(rf::Gain gain) const {
  return rf::PowerLevel::dbm(linearity.empty()
                                 ? output_p1db_dbm
                                 : at_gain(linearity, gain, &GainLinearity::output_p1db_dbm));
}

rf::PowerLevel Datasheet::output_ip3(rf::Gain gain) const {
  return rf::PowerLevel::dbm(linearity.empty()
                                 ? output_ip3_dbm
                                 : at_gain(linearity, gain, &GainLinearity::output_ip3_dbm));
}

std::optional<rf::PowerLevel> Datasheet::output_ip5(rf::Gain gain) const {
  if (!output_ip5_dbm) return std::nullopt;
  return output_ip3(gain) + rf::Decibel::of(*output_ip5_dbm - output_ip3_dbm);
}

}  // namespace catwalk::plan
