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

BadValue bad(const std::string& name, const std::string& value, const std::string& allowed) {
  return {"query/" + name, value, allowed,
          name + " is \"" + value + "\"; allowed is " + allowed + "."};
}

// What the query has of it; nothing: the label, or whatever else no query can set.
std::optional<std::string> member_of(rack::Rule rule) {
  switch (rule) {
    case rack::Rule::gain_range:
    case rack::Rule::gain_step:
      return "gain_db";
    case rack::Rule::filter_known:
      return "filter";
    case rack::Rule::centre_range:
    case rack::Rule::centre_step:
      return "centre_mhz";
    default:
      return std::nullopt;
  }
}

}  // namespace

const std::vector<std::string> settings_in_query{"gain_db", "filter", "centre_mhz", "power"};

plan::SettingsPatch read_settings_query(const HttpRequest& request, const plan::Datasheet& sheet,
                                        std::vector<BadValue>& complaints) {
  plan::SettingsPatch patch;
  const auto given = [&](const char* name) -> const std::string* {
    const auto found = request.query.find(name);
    return found == request.query.end() ? nullptr : &found->second;
  };
  if (const auto* text = given("gain_db")) {
    const auto value = number_in(*text);
    const auto exactly =
        value ? exact(*value, 100.0, -32768.0, 32767.0) : std::optional<std::int64_t>{};
    if (exactly)
      patch.gain = rf::Gain::centidecibels(static_cast<std::int32_t>(*exactly));
    else
      complaints.push_back(bad("gain_db", *text, gains_of(sheet)));
  }
  if (const auto* text = given("filter")) {
    if (sheet.filter_index(*text))
      patch.filter = *text;
    else
      complaints.push_back(bad("filter", *text, filters_of(sheet)));
  }
  if (const auto* text = given("centre_mhz")) {
    const auto value = number_in(*text);
    const auto exactly =
        value ? exact(*value, 1e6, 0.0, 4'294'967'295.0) : std::optional<std::int64_t>{};
    if (exactly)
      patch.centre = rf::Frequency::hertz(*exactly);
    else
      complaints.push_back(bad("centre_mhz", *text, centres_of(sheet)));
  }
  if (const auto* text = given("power")) {
    if (*text == "true" || *text == "false")
      patch.power = *text == "true";
    else
      complaints.push_back(bad("power", *text, "true or false"));
  }
  return patch;
}

std::vector<BadValue> in_the_query(const std::vector<rack::Finding>& findings,
                                   const HttpRequest& request, const plan::Datasheet& sheet) {
  std::vector<BadValue> complaints;
  for (const auto& finding : findings) {
    const auto member = member_of(finding.rule);
    if (!member) continue;
    const auto given = request.query.find(*member);
    complaints.push_back({"query/" + *member,
                          given == request.query.end() ? "(missing)" : given->second,
                          *member == "gain_db"  ? gains_of(sheet)
                          : *member == "filter" ? filters_of(sheet)
                                                : centres_of(sheet),
                          finding.sentence});
  }
  return complaints;
}

}  // namespace catwalk::web
