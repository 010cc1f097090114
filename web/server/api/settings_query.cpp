// SPDX-License-Identifier: Apache-2.0
#include "web/server/api/settings_query.hpp"

#include <charconv>
#include <optional>

#include "web/server/http/settings_body.hpp"

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
  switch (form_of(setting)) {
    case SettingForm::decibels:
      return gains_of(sheet);
    case SettingForm::name:
      return filters_of(sheet);
    case SettingForm::megahertz:
      return centres_of(sheet);
    case SettingForm::flag:
      return "true or false";
    case SettingForm::text:
      break;
  }
  return "text of at most " + std::to_string(longest_label) + " bytes";
}

// A setting's value of its text, by its type; nothing: it is none.
void read(const std::string& text, const plan::Datasheet&, std::optional<rf::Gain>& gain) {
  const auto value = number_in(text);
  if (const auto exactly = value ? exact(*value, 100.0, -32768.0, 32767.0) : std::nullopt)
    gain = rf::Gain::centidecibels(static_cast<std::int32_t>(*exactly));
}
void read(const std::string& text, const plan::Datasheet& sheet,
          std::optional<std::string>& filter) {
  if (sheet.filter_index(text)) filter = text;
}
void read(const std::string& text, const plan::Datasheet&, std::optional<rf::Frequency>& centre) {
  const auto value = number_in(text);
  if (const auto exactly = value ? exact(*value, 1e6, 0.0, 4'294'967'295.0) : std::nullopt)
    centre = rf::Frequency::hertz(*exactly);
}
void read(const std::string& text, const plan::Datasheet&, std::optional<bool>& power) {
  if (text == "true" || text == "false") power = text == "true";
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
  plan::for_each_setting([&](auto field) {
    if (field.setting == Setting::label) return;
    const std::string name{member_of(field.setting)};
    const auto given = request.query.find(name);
    if (given == request.query.end()) return;
    auto& asked = field.asked_of(patch);
    read(given->second, sheet, asked);
    if (asked) return;
    const auto allowed = allowed_of(field.setting, sheet);
    complaints.push_back({"query/" + name, given->second, allowed,
                          name + " is \"" + given->second + "\"; allowed is " + allowed + "."});
  });
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
