// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/values/settings_words.hpp"

#include <algorithm>
#include <charconv>
#include <utility>
#include <vector>

#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

constexpr std::size_t most_told = 12;
constexpr auto other_kind = "settings of another kind of node";

// One setting of a matrix: what it is called, and its value.
struct Part {
  std::string name;
  std::string value;
  bool is_set = true;  // not as when nothing is set
};

std::vector<Part> parts_of(const plan::MatrixSettings& settings) {
  std::vector<Part> parts;
  for (std::size_t i = 0; i < settings.outputs.size(); ++i)
    parts.push_back({"output " + std::to_string(i + 1), in_words(settings.outputs[i]),
                     !settings.outputs[i].empty()});
  for (std::size_t i = 0; i < settings.inputs.size(); ++i) {
    const auto& input = settings.inputs[i];
    const auto name = "input " + std::to_string(i + 1);
    parts.push_back({name + " trim", in_words(input.trim), input.trim != rf::Gain{}});
    parts.push_back({name + " supply", supply_in_words(input.supply_mv), input.supply_mv != 0});
    parts.push_back({name + " label", '"' + input.label + '"', !input.label.empty()});
  }
  parts.push_back({"label", '"' + settings.label + '"', !settings.label.empty()});
  return parts;
}

std::string told(const std::vector<std::string>& all) {
  std::string text;
  for (std::size_t i = 0; i < std::min(all.size(), most_told); ++i)
    text += (i == 0 ? "" : "; ") + all[i];
  if (all.size() > most_told) text += "; and " + std::to_string(all.size() - most_told) + " more";
  return text;
}

// The parts of two settings of one unit that differ.
std::vector<std::pair<Part, Part>> differing(const plan::MatrixSettings& a,
                                             const plan::MatrixSettings& b) {
  std::vector<std::pair<Part, Part>> pairs;
  auto some = parts_of(a);
  auto other = parts_of(b);
  for (std::size_t i = 0; i < std::min(some.size(), other.size()); ++i)
    if (some[i].value != other[i].value)
      pairs.emplace_back(std::move(some[i]), std::move(other[i]));
  return pairs;
}

}  // namespace

std::string in_words(const plan::Inputs& inputs) {
  std::string words;
  for (const auto input : inputs) words += (words.empty() ? "" : "+") + std::to_string(input);
  return words.empty() ? "nothing" : words;
}

std::string supply_in_words(std::uint16_t millivolts) {
  if (millivolts == 0) return "off";
  char text[16];
  const auto end = std::to_chars(text, text + sizeof text, millivolts / 1000.0).ptr;
  return std::string{text, end} + " V";
}

std::string in_words(const plan::NodeSettings& settings, const plan::Device& device) {
  if (const auto* own = settings.amplifier(); own != nullptr && device.amplifier() != nullptr)
    return in_words(*own, *device.amplifier()->datasheet);
  const auto* own = settings.matrix();
  if (own == nullptr || device.matrix() == nullptr) return other_kind;
  std::vector<std::string> all;
  for (const auto& part : parts_of(*own))
    if (part.is_set) all.push_back(part.name + ' ' + part.value);
  return all.empty() ? "nothing routed" : told(all);
}

std::string differences(const plan::NodeSettings& now, const plan::NodeSettings& wanted,
                        const plan::Device& device) {
  if (now.amplifier() != nullptr && wanted.amplifier() != nullptr && device.amplifier() != nullptr)
    return differences(*now.amplifier(), *wanted.amplifier(), *device.amplifier()->datasheet);
  if (now.matrix() == nullptr || wanted.matrix() == nullptr) return other_kind;
  std::vector<std::string> all;
  for (const auto& [is, should] : differing(*now.matrix(), *wanted.matrix()))
    all.push_back(is.name + ' ' + is.value + " (wanted " + should.value + ')');
  return told(all);
}

std::string move_in_words(const plan::NodeSettings& before, const plan::NodeSettings& after,
                          const plan::Device& device) {
  if (before.matrix() == nullptr || after.matrix() == nullptr)
    return in_words(before, device) + " → " + in_words(after, device);
  std::vector<std::string> all;
  for (const auto& [was, becomes] : differing(*before.matrix(), *after.matrix()))
    all.push_back(was.name + ": " + was.value + " → " + becomes.value);
  return all.empty() ? "as it is" : told(all);
}

}  // namespace catwalk::rack
