// SPDX-License-Identifier: Apache-2.0
#include "web/server/api/settings_query.hpp"

#include <charconv>
#include <optional>

namespace catwalk::web {
namespace {

std::string filters_of(const plan::Datasheet& sheet) {
  std::string names;
  for (const auto& filter : sheet.filters)
    names += (names.empty() ? "one of " : ", ") + filter.name;
  return names;
}

std::optional<double> number_in(const std::string& text) {
  double value = 0.0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size()) return std::nullopt;
  return value;
}

std::string allowed_of(Setting setting, const plan::Datasheet& sheet) {
  switch (setting) {
    case Setting::gain:
      return gains_of(sheet);
    case Setting::filter:
      return filters_of(sheet);
    case Setting::centre:
      return centres_of(sheet);
    case Setting::power:
      return "true or false";
    default:
      return "text of at most " + std::to_string(longest_label) + " bytes";
  }
}

// A setting's value of its text; nothing: it is none.
std::optional<rf::Gain> gain_in(const std::string& text) {
  const auto value = number_in(text);
  const auto exactly =
      value ? exact(*value, 100.0, -32768.0, 32767.0) : std::optional<std::int64_t>{};
  if (!exactly) return std::nullopt;
  return rf::Gain::centidecibels(static_cast<std::int32_t>(*exactly));
}

std::optional<rf::Frequency> centre_in(const std::string& text) {
  const auto value = number_in(text);
  const auto exactly =
      value ? exact(*value, 1e6, 0.0, 4'294'967'295.0) : std::optional<std::int64_t>{};
  return exactly ? std::optional{rf::Frequency::hertz(*exactly)} : std::nullopt;
}

std::optional<std::string> filter_in(const std::string& text, const plan::Datasheet& sheet) {
  return sheet.filter_index(text) ? std::optional{text} : std::nullopt;
}

std::optional<bool> power_in(const std::string& text) {
  return text == "true" || text == "false" ? std::optional{text == "true"} : std::nullopt;
}

}  // namespace

// All but the label, which changes nothing that could be looked at.
const std::vector<std::string> settings_in_query = [] {
  auto members = setting_members();
  std::erase(members, member_of(Setting::label));
  return members;
}();

plan::SettingsPatch read_settings_query(const HttpRequest& request, const plan::Datasheet& sheet,
                                        std::vector<BadValue>& complaints) {
  plan::SettingsPatch patch;
  const auto read = [&](Setting setting, auto& asked, const auto& value_in) {
    const std::string name{member_of(setting)};
    const auto given = request.query.find(name);
    if (given == request.query.end()) return;
    asked = value_in(given->second);
    if (asked) return;
    const auto allowed = allowed_of(setting, sheet);
    complaints.push_back({"query/" + name, given->second, allowed,
                          name + " is \"" + given->second + "\"; allowed is " + allowed + "."});
  };
  read(Setting::gain, patch.gain, gain_in);
  read(Setting::filter, patch.filter, [&](const auto& text) { return filter_in(text, sheet); });
  read(Setting::centre, patch.centre, centre_in);
  read(Setting::power, patch.power, power_in);
  return patch;
}

std::vector<BadValue> in_the_query(const std::vector<rack::Finding>& findings,
                                   const HttpRequest& request, const plan::Datasheet& sheet) {
  std::vector<BadValue> complaints;
  for (const auto& finding : findings) {
    const auto setting = rack::row_of(finding.rule).setting;
    if (!setting || setting == Setting::label) continue;  // nothing that a query can set
    const std::string name{member_of(*setting)};
    const auto given = request.query.find(name);
    complaints.push_back({"query/" + name,
                          given == request.query.end() ? "(missing)" : given->second,
                          allowed_of(*setting, sheet), finding.sentence});
  }
  return complaints;
}

}  // namespace catwalk::web
