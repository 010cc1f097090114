// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/wording.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <ctime>

namespace catwalk::cli {
namespace {

// Takes zeros from the end, but leaves so many decimals.
std::string trimmed(std::string number, std::size_t least) {
  const auto point = number.find('.');
  while (number.size() - point - 1 > least && number.back() == '0') number.pop_back();
  if (number.back() == '.') number.pop_back();
  return number;
}

}  // namespace

std::string text_of(const Json& object, const char* name, const std::string& otherwise) {
  const auto found = object.find(name);
  return found != object.end() && found->is_string() ? found->get<std::string>() : otherwise;
}

std::string fixed(double value, int decimals) {
  char text[64];
  // Adding zero takes the sign from what rounds to nothing.
  const double scale = std::pow(10.0, decimals);
  std::snprintf(text, sizeof text, "%.*f", decimals, std::round(value * scale) / scale + 0.0);
  return text;
}

std::string gain_words(double decibels) {
  const auto number = trimmed(fixed(decibels, 2), 0);
  return (number.front() == '-' ? "" : "+") + number + " dB";
}

std::string megahertz_words(double megahertz) { return trimmed(fixed(megahertz, 6), 3) + " MHz"; }

std::string settings_words(const Json& settings) {
  auto line = "gain " + gain_words(settings.at("gain_db")) + ", " + text_of(settings, "filter");
  if (settings.contains("centre_mhz")) line += " at " + megahertz_words(settings.at("centre_mhz"));
  line += settings.at("power").get<bool>() ? ", power on" : ", power off";
  if (const auto label = text_of(settings, "label"); !label.empty())
    line += ", label \"" + label + '"';
  return line;
}

std::string age_words(double milliseconds) {
  const auto seconds = static_cast<long long>(milliseconds / 1000.0);
  if (seconds < 120) return std::to_string(seconds) + " s";
  if (seconds < 2 * 3600) return std::to_string(seconds / 60) + " min";
  return std::to_string(seconds / 3600) + " h";
}

std::string spaced(std::string name) {
  std::ranges::replace(name, '-', ' ');
  return name;
}

std::string to_the_second(const std::string& time) {
  if (time.size() < 19) return time;
  return time.substr(0, 10) + ' ' + time.substr(11, 8) + 'Z';
}

std::string time_of_day() {
  const auto now = std::time(nullptr);
  std::tm parts{};
  localtime_r(&now, &parts);
  char text[16];
  std::strftime(text, sizeof text, "%H:%M:%S", &parts);
  return text;
}

std::string verdict_words(const std::string& would_be) {
  return would_be == "needs-waiver" ? "would need a waiver" : "would be " + would_be;
}

}  // namespace catwalk::cli
