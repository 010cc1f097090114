// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/values/plan_differences.hpp"

#include <algorithm>

#include "daemon/rack/values/settings_words.hpp"
#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

constexpr std::string_view between = "; ";

std::string words_of(const plan::Carrier& carrier) {
  return carrier.name.text + (carrier.use == plan::CarrierUse::transmit ? " (ours) " : " ") +
         in_words(carrier.frequency);
}

void compare_carriers(const plan::Segment& before, const plan::Segment& now,
                      std::vector<std::string>& all) {
  const auto say = [&](const std::string& words) { all.push_back(now.name.text + ": " + words); };
  for (const auto& carrier : now.carriers) {
    const auto* was = before.find(carrier.name);
    if (was == nullptr)
      say(words_of(carrier) + " is new");
    else if (was->frequency != carrier.frequency)
      say(words_of(carrier) + ", was " + in_words(was->frequency));
    else if (*was != carrier)
      say(words_of(carrier) + " is described otherwise");
  }
  for (const auto& carrier : before.carriers)
    if (now.find(carrier.name) == nullptr) say(words_of(carrier) + " is gone");
}

// Nodes that have other settings, or none any more.
template <class Settings>
void add_changed(const Settings& before, const Settings& now, std::vector<std::string>& nodes) {
  for (const auto& [node, patch] : now) {
    const auto was = before.find(node);
    if (was == before.end() || was->second != patch) nodes.push_back(node.text);
  }
  for (const auto& [node, patch] : before)
    if (!now.contains(node)) nodes.push_back(node.text);
}

void compare_settings(const plan::Segment& before, const plan::Segment& now,
                      std::vector<std::string>& all) {
  std::vector<std::string> nodes;
  add_changed(before.settings, now.settings, nodes);
  add_changed(before.matrices, now.matrices, nodes);
  if (!nodes.empty()) all.push_back(now.name.text + ": other settings for " + listed(nodes));
}

void compare_routes(const plan::RackPlan& before, const plan::RackPlan& now,
                    std::vector<std::string>& all) {
  for (const auto& matrix : now.matrices) {
    const auto was = std::ranges::find(before.matrices, matrix.name, &plan::Matrix::name);
    if (was == before.matrices.end() || *was->sheet != *matrix.sheet) {
      all.push_back(matrix.name.text + " is a new matrix, or of another type");
      continue;
    }
    if (matrix.on_line && was->on_line && matrix.on_line->uid != was->on_line->uid)
      all.push_back(matrix.name.text + " is another device");
    if (matrix.onward != was->onward)
      all.push_back(matrix.name.text + ": outputs of it end at another matrix otherwise");
    for (std::size_t i = 0; i < matrix.settings.outputs.size(); ++i)
      if (const auto& takes = matrix.settings.outputs[i]; takes != was->settings.outputs[i])
        all.push_back(matrix.name.text + ", output " + std::to_string(i + 1) + ": takes " +
                      in_words(takes) + ", was " + in_words(was->settings.outputs[i]));
    if (matrix.settings.inputs != was->settings.inputs)
      all.push_back(matrix.name.text + ": other trims");
  }
  for (const auto& matrix : before.matrices)
    if (std::ranges::find(now.matrices, matrix.name, &plan::Matrix::name) == now.matrices.end())
      all.push_back(matrix.name.text + " is gone");
}

}  // namespace

std::vector<std::string> differences_of(const plan::RackPlan& before, const plan::RackPlan& now) {
  std::vector<std::string> all;
  for (const auto& segment : now.segments) {
    const auto* was = before.find(segment.name);
    if (was == nullptr) {
      all.push_back(segment.name.text + " is new");
      continue;
    }
    compare_carriers(*was, segment, all);
    compare_settings(*was, segment, all);
    if (was->lanes != segment.lanes) all.push_back(segment.name.text + ": other lanes");
    if (was->if_a_node_fails != segment.if_a_node_fails)
      all.push_back(segment.name.text + ": if a node fails, " +
                    std::string{plan::name_of(segment.if_a_node_fails)});
  }
  for (const auto& segment : before.segments)
    if (now.find(segment.name) == nullptr) all.push_back(segment.name.text + " is gone");
  for (const auto& node : now.nodes) {
    const auto* was = before.find(node.name);
    if (was != nullptr && was->uid != node.uid)
      all.push_back(node.name.text + " is another device");
    else if (was != nullptr && was->datasheet->type != node.datasheet->type)
      all.push_back(node.name.text + " is of another type");
    else if (was != nullptr && (was->place != node.place || was->height != node.height ||
                                was->antenna_gain != node.antenna_gain))
      all.push_back(node.name.text + " hangs elsewhere, or has another antenna");
    if (was != nullptr && was->ends_at != node.ends_at)
      all.push_back(node.name.text + " is plugged in elsewhere");
  }
  compare_routes(before, now, all);
  if (before.receivers != now.receivers) all.emplace_back("other receivers");
  if (before.limits != now.limits || before.gain_limits != now.gain_limits)
    all.emplace_back("other limits");
  if (before.propagation != now.propagation) all.emplace_back("another propagation");
  if (before.man_made_noise != now.man_made_noise) all.emplace_back("other man-made noise");
  if (before.running_order.cues != now.running_order.cues)
    all.emplace_back("another running order");
  return all;
}

std::string few_of(const std::vector<std::string>& sentences) {
  constexpr std::size_t most = 40;
  std::string text;
  for (std::size_t i = 0; i < std::min(most, sentences.size()); ++i)
    text += (text.empty() ? "" : std::string{between}) + sentences[i];
  if (sentences.size() > most)
    text += std::string{between} + "and " + std::to_string(sentences.size() - most) + " more";
  return text;
}

std::string on_the_air(const plan::Segment& segment) {
  auto carriers = segment.carriers;
  std::ranges::stable_sort(carriers, {}, &plan::Carrier::frequency);
  std::string text;
  for (const auto& carrier : carriers)
    text += (text.empty() ? "" : std::string{between}) + words_of(carrier);
  return text.empty() ? "nothing" : text;
}

std::vector<std::string> carriers_in(std::string_view on_the_air) {
  std::vector<std::string> all;
  while (!on_the_air.empty()) {
    const auto end = std::min(on_the_air.find(between), on_the_air.size());
    all.emplace_back(on_the_air.substr(0, end));
    on_the_air.remove_prefix(std::min(end + between.size(), on_the_air.size()));
  }
  return all;
}

}  // namespace catwalk::rack
