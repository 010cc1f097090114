// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/wording.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <iomanip>
#include <sstream>

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

std::string setting_words(const Json& settings, Setting setting) {
  const std::string member{member_of(setting)};
  switch (form_of(setting)) {
    case SettingForm::decibels:
      return gain_words(settings.at(member));
    case SettingForm::megahertz:
      return settings.contains(member) ? megahertz_words(settings.at(member)) : "none";
    case SettingForm::flag:
      return settings.at(member).get<bool>() ? "on" : "off";
    case SettingForm::text:
      return '"' + text_of(settings, member.c_str()) + '"';
    case SettingForm::name:
      break;
  }
  return text_of(settings, member.c_str());
}

std::string settings_words(const Json& settings) {
  const auto words = [&](Setting setting) { return setting_words(settings, setting); };
  auto line = "gain " + words(Setting::gain) + ", " + words(Setting::filter);
  if (settings.contains("centre_mhz")) line += " at " + words(Setting::centre);
  for (const auto& [word, setting] : words_of(Setting{})) {
    const auto form = form_of(setting);
    const bool is_given = form == SettingForm::text &&
                          !text_of(settings, std::string{member_of(setting)}.c_str()).empty();
    if (form == SettingForm::flag || is_given)
      line += ", " + std::string{word} + ' ' + words(setting);
  }
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

namespace {

// As the daemon said last.
std::string& zone_of_show() {
  static std::string zone;  // empty: not told yet
  return zone;
}

// "2026-08-14 21:00:00 EEST"
std::string shown_in_zone(std::time_t moment, const char* format) {
  std::tm parts{};
  localtime_r(&moment, &parts);
  char text[48];
  const auto length = std::strftime(text, sizeof text, format, &parts);
  return {text, length};
}

}  // namespace

void tell_times_in(const std::string& zone) {
  if (zone == zone_of_show()) return;
  zone_of_show() = zone;
  // The database of this machine (tzset(3)); a name that is none of its files is not followed.
  const auto file = std::filesystem::path{"/usr/share/zoneinfo"} / zone;
  std::error_code error;
  const bool known = zone.find("..") == std::string::npos && !zone.starts_with('/') &&
                     std::filesystem::is_regular_file(file, error);
  ::setenv("TZ", known ? (':' + zone).c_str() : "UTC0", 1);
  ::tzset();
}

std::string to_the_second(const std::string& time) {
  if (time.size() < 19) return time;
  std::tm parts{};
  std::istringstream text{time.substr(0, 19)};
  text >> std::get_time(&parts, "%Y-%m-%dT%H:%M:%S");
  if (text.fail() || zone_of_show().empty() || zone_of_show() == "UTC")
    return time.substr(0, 10) + ' ' + time.substr(11, 8) + 'Z';
  return shown_in_zone(::timegm(&parts), "%Y-%m-%d %H:%M:%S %Z");
}

std::string time_of_day() { return shown_in_zone(std::time(nullptr), "%H:%M:%S"); }

std::string verdict_words(const std::string& would_be) {
  return would_be == "needs-waiver" ? "would need a waiver" : "would be " + would_be;
}

}  // namespace catwalk::cli
