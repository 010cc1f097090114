// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/route_words.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <optional>
#include <string_view>

#include "daemon/cli/settings_words.hpp"

namespace catwalk::cli {

std::optional<unsigned> number_of_socket(std::string_view text) {
  unsigned number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error != std::errc{} || end != text.data() + text.size() || number < 1 || number > 32)
    return std::nullopt;
  return number;
}

namespace {

using Json = nlohmann::ordered_json;

// "3+7", "none"
std::optional<Json> parse_inputs(std::string_view text) {
  Json inputs = Json::array();
  if (text == "none") return inputs;
  for (;;) {
    const auto end = std::min(text.find('+'), text.size());
    const auto input = number_of_socket(text.substr(0, end));
    if (!input || std::ranges::find(inputs, Json(*input)) != inputs.end()) return std::nullopt;
    inputs.push_back(*input);
    if (end == text.size()) return inputs;
    text.remove_prefix(end + 1);
  }
}

std::optional<Json> parse_trim(std::string_view text) {
  const auto trim = parse_number(text);
  return trim ? std::optional<Json>{*trim} : std::nullopt;
}

// Volts, or "off"; to whole millivolts.
std::optional<Json> parse_supply(std::string_view text) {
  if (text == "off") return Json(0);
  const auto volts = parse_number(text);
  if (!volts || !(*volts >= 0.0 && *volts <= 60.0)) return std::nullopt;
  const double millivolts = std::round(*volts * 1000.0);
  if (std::abs(*volts * 1000.0 - millivolts) > 1e-6) return std::nullopt;
  return Json(static_cast<std::uint64_t>(millivolts));
}

std::optional<Json> parse_label(std::string_view text) { return Json(std::string{text}); }

struct Form {
  std::string_view name;    // "output", before its number
  std::string_view member;  // of the patch
  std::string_view usage;
  std::optional<Json> (*parse)(std::string_view text);
};
constexpr std::array<Form, 4> forms{
    {{"output", "routes",
      "output-N=INPUT[+INPUT …] or output-N=none, such as output-1=3+7; N and INPUT from 1 to 32, "
      "each input once",
      parse_inputs},
     {"trim", "trims_db", "trim-N=DB, such as trim-3=-4.5; N from 1 to 32", parse_trim},
     {"supply", "supplies_mv",
      "supply-N=VOLTS from 0 to 60 or supply-N=off, such as supply-3=12; N from 1 to 32",
      parse_supply},
     {"label", "labels", "label-N=TEXT, or label=TEXT for the unit; N from 1 to 32", parse_label}}};

Failure<std::string> cannot_use(const std::string& word, std::string_view allowed) {
  return Failure{"\"" + word + "\" cannot be used; allowed is " + std::string{allowed}};
}

}  // namespace

Result<Json, std::string> parse_routes(const std::vector<std::string>& words) {
  Json patch = Json::object();
  for (const auto& word : words) {
    const auto equals = word.find('=');
    const auto name = std::string_view{word}.substr(0, std::min(equals, word.size()));
    const auto dash = name.find('-');
    const auto form = std::ranges::find(forms, name.substr(0, dash), &Form::name);
    if (equals == std::string::npos || form == forms.end())
      return cannot_use(word, "output-N=, trim-N=, supply-N=, label-N= or label=, N from 1");
    const auto value = std::string_view{word}.substr(equals + 1);
    if (name == "label") {
      if (patch.contains("label")) return cannot_use(word, "label= once");
      patch["label"] = std::string{value};
      continue;
    }
    const auto number =
        dash == std::string_view::npos ? std::nullopt : number_of_socket(name.substr(dash + 1));
    const auto parsed = number ? form->parse(value) : std::nullopt;
    if (!parsed) return cannot_use(word, form->usage);
    auto& sockets = patch[std::string{form->member}];
    const auto key = std::to_string(*number);
    if (sockets.contains(key)) return cannot_use(word, std::string{name} + "= once");
    sockets[key] = *parsed;
  }
  return patch;
}

}  // namespace catwalk::cli
