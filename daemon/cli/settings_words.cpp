// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/settings_words.hpp"

#include <charconv>
#include <optional>

namespace catwalk::cli {
namespace {

// "6", "+6", "-1.5", "518.125"; nothing for any other text, an exponent or a unit included.
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

Failure<std::string> unusable(const std::string& word, const std::string& allowed) {
  return Failure{"\"" + word + "\" cannot be used; allowed is " + allowed};
}

}  // namespace

Result<nlohmann::ordered_json, std::string> parse_settings(const std::vector<std::string>& words) {
  nlohmann::ordered_json patch = nlohmann::ordered_json::object();
  for (const auto& word : words) {
    const auto equals = word.find('=');
    const auto name = word.substr(0, equals);
    const auto value = equals == std::string::npos ? std::string{} : word.substr(equals + 1);
    const auto bad = [&](const std::string& allowed) { return unusable(word, allowed); };
    if (equals == std::string::npos) return bad("setting=value");
    std::string member;
    if (name == "gain" || name == "centre") {
      const auto number = parse_number(value);
      if (!number)
        return bad(name == "gain" ? "gain=DB, such as gain=-1.5"
                                  : "centre=MHZ, such as centre=518.125");
      member = name == "gain" ? "gain_db" : "centre_mhz";
      if (!patch.contains(member)) {
        patch[member] = *number;
        continue;
      }
    } else if (name == "filter" || name == "label") {
      if (name == "filter" && value.empty()) return bad("filter=NAME");
      member = name;
      if (!patch.contains(member)) {
        patch[member] = value;
        continue;
      }
    } else if (name == "power") {
      if (value != "on" && value != "off") return bad("power=on or power=off");
      member = name;
      if (!patch.contains(member)) {
        patch[member] = value == "on";
        continue;
      }
    } else {
      return bad("gain=, filter=, centre=, power= or label=");
    }
    return bad("each setting once");
  }
  return patch;
}

}  // namespace catwalk::cli
