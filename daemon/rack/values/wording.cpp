// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/values/wording.hpp"

#include <charconv>
#include <cmath>
#include <cstdio>
#include <cstdlib>

namespace catwalk::rack {
namespace {

std::string bare_megahertz(rf::Frequency frequency) {
  const auto hertz = frequency.hertz();
  const auto magnitude = std::llabs(hertz);
  char text[40];
  std::snprintf(text, sizeof text, "%s%lld.%06lld", hertz < 0 ? "-" : "", magnitude / 1'000'000,
                magnitude % 1'000'000);
  std::string result{text};
  for (int spare = 3; spare > 0 && result.back() == '0'; --spare) result.pop_back();
  return result;
}

std::string one_decimal(double value) {
  char text[400];  // whatever it is
  // Adding zero takes the sign from what rounds to nothing.
  const double rounded = std::round(value * 10.0) / 10.0 + 0.0;
  return {text, std::to_chars(text, text + sizeof text, rounded, std::chars_format::fixed, 1).ptr};
}

std::string filter_name(std::uint8_t filter, const plan::Datasheet& datasheet) {
  return filter < datasheet.filters.size() ? datasheet.filters[filter].name
                                           : "filter no. " + std::to_string(filter);
}

// The value of a setting, by its type. A filter is named before.
std::string value_in_words(rf::Gain gain) { return in_words(gain); }
std::string value_in_words(rf::Frequency centre) {
  return centre == rf::Frequency{} ? "none" : in_words(centre);
}
std::string value_in_words(bool power) { return power ? "on" : "off"; }
std::string value_in_words(const std::string& label) { return '"' + label + '"'; }

}  // namespace

std::string in_words(rf::Frequency frequency) { return bare_megahertz(frequency) + " MHz"; }

std::string in_words(std::chrono::milliseconds lasting) {
  char text[32];
  const auto seconds = std::chrono::duration<double>{lasting}.count();
  return std::string{text, std::to_chars(text, text + sizeof text, seconds).ptr} + " s";
}

std::string in_words(const rf::Band& band) {
  return bare_megahertz(band.low) + " to " + bare_megahertz(band.high) + " MHz";
}

std::string in_kilohertz(rf::Frequency frequency) {
  char text[40];
  const auto end =
      std::to_chars(text, text + sizeof text, static_cast<double>(frequency.hertz()) / 1e3,
                    std::chars_format::general, 7)
          .ptr;
  return std::string{text, end} + " kHz";
}

std::string in_words(rf::Gain gain) {
  const int value = gain.centidecibels();
  const int magnitude = std::abs(value);
  char text[24];
  const char* sign = value < 0 ? "-" : "+";
  if (magnitude % 100 == 0)
    std::snprintf(text, sizeof text, "%s%d dB", sign, magnitude / 100);
  else if (magnitude % 10 == 0)
    std::snprintf(text, sizeof text, "%s%d.%d dB", sign, magnitude / 100, magnitude % 100 / 10);
  else
    std::snprintf(text, sizeof text, "%s%d.%02d dB", sign, magnitude / 100, magnitude % 100);
  return text;
}

std::string in_words(rf::Decibel ratio) { return one_decimal(ratio.value()) + " dB"; }

std::string in_words(rf::PowerLevel level) {
  return level == rf::no_power() ? "no signal" : one_decimal(level.dbm()) + " dBm";
}

std::string in_words(const plan::Settings& settings, const plan::Datasheet& datasheet) {
  std::string text = "gain " + in_words(settings.gain) + ", ";
  text += filter_name(settings.filter, datasheet);
  if (settings.centre != rf::Frequency{}) text += " at " + in_words(settings.centre);
  plan::for_each_setting([&](auto field) {
    constexpr auto form = form_of(field.setting);
    if constexpr (form == SettingForm::flag || form == SettingForm::text) {
      const auto& value = field.of(settings);
      if constexpr (form == SettingForm::text)
        if (value.empty()) return;
      text += ", " + std::string{name_of(field.setting)} + ' ' + value_in_words(value);
    }
  });
  return text;
}

std::string in_words(const plan::SettingsPatch& patch) {
  std::vector<std::string> parts;
  plan::for_each_setting([&](auto field) {
    const auto& asked = field.asked_of(patch);
    if (!asked) return;
    const auto word = std::string{name_of(field.setting)} + ' ';
    if constexpr (field.setting == Setting::filter)
      parts.push_back(word + *asked);
    else
      parts.push_back(word + value_in_words(*asked));
  });
  return listed(parts);
}

std::string differences(const plan::Settings& now, const plan::Settings& wanted,
                        const plan::Datasheet& datasheet) {
  std::vector<std::string> parts;
  plan::for_each_setting([&](auto field) {
    const auto words = [&](const plan::Settings& settings) {
      if constexpr (field.setting == Setting::filter)
        return filter_name(settings.filter, datasheet);
      else
        return value_in_words(field.of(settings));
    };
    const auto is = words(now);
    const auto should = words(wanted);
    if (is != should)
      parts.push_back(std::string{name_of(field.setting)} + ' ' + is + " (wanted " + should + ')');
  });
  return listed(parts);
}

std::string listed(const std::vector<std::string>& names) {
  std::string text;
  for (std::size_t i = 0; i < names.size(); ++i) {
    if (i > 0) text += i + 1 == names.size() ? " and " : ", ";
    text += names[i];
  }
  return text;
}

}  // namespace catwalk::rack
