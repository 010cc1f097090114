// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/settings_words.hpp"

#include <algorithm>
#include <charconv>
#include <optional>
#include <string_view>
#include <system_error>
#include <utility>

#include "daemon/base/setting.hpp"

namespace catwalk::cli {
namespace {

// What people write who mean one of ours.
std::string hint_for(std::string_view name) {
  if (name == "center" || name == "frequency" || name == "freq") return "; did you mean centre=?";
  if (name == "db" || name == "level") return "; did you mean gain=?";
  if (name == "name") return "; did you mean label=?";
  return {};
}

Failure<std::string> unusable(const std::string& word, const std::string& allowed) {
  return Failure{"\"" + word + "\" cannot be used; allowed is " + allowed};
}

struct FormWords {
  std::string_view usage;
  std::string_view example;  // empty: none is needed
};

constexpr FormWords words_for(SettingForm form) {
  switch (form) {
    case SettingForm::decibels:
      return {"DB", "-1.5"};
    case SettingForm::megahertz:
      return {"MHZ", "518.125"};
    case SettingForm::name:
      return {"NAME", {}};
    case SettingForm::flag:
      return {"on|off", {}};
    case SettingForm::text:
      break;
  }
  return {"TEXT", {}};
}

// What may stand behind its name.
std::string allowed_of(Setting setting) {
  const auto begin = std::string{name_of(setting)} + '=';
  if (form_of(setting) == SettingForm::flag) return begin + "on or " + begin + "off";
  const auto words = words_for(form_of(setting));
  auto text = begin + std::string{words.usage};
  if (!words.example.empty()) text += ", such as " + begin + std::string{words.example};
  return text;
}

// "gain=, filter=, centre=, power= or label=".
std::string all_settings() {
  const auto words = words_of(Setting{});
  std::string all;
  for (std::size_t i = 0; i < words.size(); ++i)
    all.append(i == 0 ? "" : i + 1 < words.size() ? ", " : " or ").append(words[i].first) += '=';
  return all;
}

// As the API has it; null: it is none.
nlohmann::ordered_json value_of(Setting setting, const std::string& text) {
  switch (form_of(setting)) {
    case SettingForm::decibels:
    case SettingForm::megahertz: {
      const auto number = parse_number(text);
      return number ? nlohmann::ordered_json(*number) : nullptr;
    }
    case SettingForm::name:
      if (text.empty()) return nullptr;
      return text;
    case SettingForm::flag:
      if (text != "on" && text != "off") return nullptr;
      return text == "on";
    case SettingForm::text:
      break;
  }
  return text;
}

std::string hint_for_number(Setting setting, const std::string& text) {
  const auto form = form_of(setting);
  const bool is_number = form == SettingForm::decibels || form == SettingForm::megahertz;
  return is_number && text.find(',') != std::string::npos ? "; use a point, not a comma" : "";
}

}  // namespace

std::optional<double> parse_number(std::string_view text) {
  // from_chars() knows no plus, and takes "nan" and "inf" for numbers.
  const bool plus = text.starts_with('+');
  if (plus) text.remove_prefix(1);
  const auto digits = text.substr(!plus && text.starts_with('-') ? 1 : 0);
  if (digits.empty() || (digits.front() != '.' && (digits.front() < '0' || digits.front() > '9')))
    return std::nullopt;
  double value = 0;
  const auto [end, error] =
      std::from_chars(text.data(), text.data() + text.size(), value, std::chars_format::fixed);
  if (error != std::errc{} || end != text.data() + text.size()) return std::nullopt;
  return value;
}

Result<std::int64_t, std::string> parse_duration(const std::string& word) {
  std::int64_t number = 0;
  const auto* last = word.data() + word.size();
  const auto [end, error] = std::from_chars(word.data(), last, number);
  const std::string_view unit{end, static_cast<std::size_t>(last - end)};
  const std::int64_t each = unit == "s" ? 1 : unit == "m" ? 60 : unit == "h" ? 3600 : 0;
  constexpr std::int64_t most = 1'000'000;  // what is allowed is the daemon's business
  if (error != std::errc{} || each == 0 || number < 0 || number > most)
    return Failure{"\"" + word + "\" cannot be used; allowed is a time such as 90s, 30m or 2h"};
  return number * each;
}

Result<std::vector<std::uint64_t>, std::string> parse_ranges(
    const std::vector<std::string>& words) {
  constexpr std::uint64_t most = 1'000;
  std::vector<std::uint64_t> numbers;
  const auto whole = [](std::string_view text) -> std::optional<std::uint64_t> {
    std::uint64_t number = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
    if (error != std::errc{} || end != text.data() + text.size() || number == 0)
      return std::nullopt;
    return number;
  };
  for (const auto& word : words) {
    const auto dash = word.find('-');
    const auto first = whole(std::string_view{word}.substr(0, dash));
    const auto last =
        dash == std::string::npos ? first : whole(std::string_view{word}.substr(dash + 1));
    if (!first || !last || *last < *first)
      return Failure{"\"" + word +
                     "\" cannot be used; allowed are numbers and ranges, such as 3 and 5-9"};
    if (*last - *first >= most || numbers.size() + (*last - *first) >= most)
      return Failure{"\"" + word + "\" is too many; allowed are " + std::to_string(most) +
                     " in all"};
    for (auto number = *first; number <= *last; ++number) numbers.push_back(number);
  }
  return numbers;
}

std::vector<std::string> parse_names(const std::string& list) {
  std::vector<std::string> names;
  for (std::size_t at = 0; at <= list.size();) {
    const auto end = std::min(list.find(',', at), list.size());
    names.push_back(list.substr(at, end - at));
    at = end + 1;
  }
  return names;
}

Result<nlohmann::ordered_json, std::string> parse_amounts(const std::string& option,
                                                          const std::string& list,
                                                          const std::string& allowed) {
  nlohmann::ordered_json amounts = nlohmann::ordered_json::object();
  for (const auto& pair : parse_names(list)) {
    const auto equals = pair.rfind('=');
    const auto number =
        equals == std::string::npos ? std::nullopt : parse_number(pair.substr(equals + 1));
    const auto name = pair.substr(0, equals);
    if (!number || name.empty())
      return Failure{option + " \"" + pair + "\" cannot be used; allowed is " + allowed};
    if (amounts.contains(name)) return Failure{option + " has \"" + name + "\" twice"};
    amounts[name] = *number;
  }
  return amounts;
}

std::string settings_usage() {
  std::string usage;
  for (const auto& [word, setting] : words_of(Setting{}))
    usage.append(usage.empty() ? "" : " ")
        .append(word)
        .append("=")
        .append(words_for(form_of(setting)).usage);
  return usage;
}

Result<nlohmann::ordered_json, std::string> parse_settings(const std::vector<std::string>& words) {
  nlohmann::ordered_json patch = nlohmann::ordered_json::object();
  for (const auto& word : words) {
    const auto equals = word.find('=');
    if (equals == std::string::npos) return unusable(word, "setting=value");
    const auto name = word.substr(0, equals);
    const auto setting = named<Setting>(name);
    if (!setting) return unusable(word, all_settings() + hint_for(name));
    const auto text = word.substr(equals + 1);
    auto value = value_of(*setting, text);
    if (value.is_null())
      return unusable(word, allowed_of(*setting) + hint_for_number(*setting, text));
    const auto [at, is_new] = patch.emplace(std::string{member_of(*setting)}, std::move(value));
    if (!is_new) return unusable(word, "each setting once");
  }
  return patch;
}

}  // namespace catwalk::cli
