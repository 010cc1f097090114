// SPDX-License-Identifier: Apache-2.0
#include "web/server/http/settings_body.hpp"

#include <map>
#include <optional>
#include <utility>

namespace catwalk::web {
namespace {

// As short as can be: "12", "0.025".
std::string in_figures(double value) {
  auto text = nlohmann::json(value).dump();
  if (text.ends_with(".0")) text.resize(text.size() - 2);
  return text;
}

std::string steps_in_words(const plan::Steps<rf::Gain>& steps) {
  return "a number of dB from " + in_figures(steps.lowest.decibels()) + " to " +
         in_figures(steps.highest.decibels()) + " in steps of " + in_figures(steps.step.decibels());
}

// read(inner, "3") for each of so many sockets.
template <class Value, class Read>
void read_sockets(Body& body, const std::string& member, std::size_t most,
                  std::map<std::size_t, Value>& values, const Read& read) {
  body.object(member, [&](Body& inner) {
    for (std::size_t number = 1; number <= most; ++number)
      if (std::optional<Value> value = read(inner, std::to_string(number)))
        values.emplace(number, *std::move(value));
  });
}

std::string trims_of(const plan::MatrixSheet& sheet) {
  const auto& trims = sheet.trims;
  if (!trims) return "nothing: a " + sheet.type + " has no trim";
  return steps_in_words(*trims);
}

}  // namespace

std::string gains_of(const plan::Datasheet& sheet) { return steps_in_words(sheet.gains); }

std::string centres_of(const plan::Datasheet& sheet) {
  std::string text;
  for (const auto& filter : sheet.filters) {
    if (!filter.tuning) continue;
    const auto& tuning = *filter.tuning;
    text += (text.empty() ? "a number of MHz: with " : "; with ") + filter.name + " from " +
            in_figures(tuning.lowest.megahertz()) + " to " +
            in_figures(tuning.highest.megahertz()) + " in steps of " +
            in_figures(tuning.step.megahertz());
  }
  return text.empty() ? "none: no filter of a " + sheet.type + " has a centre" : text;
}

plan::SettingsPatch read_patch(Body& body, const plan::Datasheet* node) {
  plan::SettingsPatch patch;
  plan::for_each_setting([&](auto field) {
    constexpr auto form = form_of(field.setting);
    const std::string member{member_of(field.setting)};
    auto& asked = field.asked_of(patch);
    if constexpr (form == SettingForm::decibels)
      asked = body.decibels(member, node == nullptr ? "" : gains_of(*node));
    else if constexpr (form == SettingForm::megahertz)
      asked = body.megahertz(member, node == nullptr ? "" : centres_of(*node));
    else if constexpr (form == SettingForm::flag)
      asked = body.boolean(member);
    else
      asked = body.text(member, form == SettingForm::name ? longest_name : longest_label);
  });
  return patch;
}

plan::MatrixPatch read_matrix_patch(Body& body, const plan::MatrixSheet* sheet) {
  plan::MatrixPatch patch;
  const auto inputs = sheet == nullptr ? plan::most_inputs : sheet->inputs;
  const auto outputs = sheet == nullptr ? plan::most_outputs : sheet->outputs;
  const auto trims = sheet == nullptr ? std::string{} : trims_of(*sheet);
  read_sockets(body, "routes", outputs, patch.routes,
               [inputs](Body& inner, const std::string& output) {
                 return inner.numbers_up_to(output, inputs);
               });
  read_sockets(
      body, "trims_db", inputs, patch.trims,
      [&trims](Body& inner, const std::string& input) { return inner.decibels(input, trims); });
  read_sockets(body, "supplies_mv", inputs, patch.supplies_mv,
               [](Body& inner, const std::string& input) -> std::optional<std::uint16_t> {
                 const auto millivolts = inner.whole(input, 0, 60'000);
                 if (!millivolts) return std::nullopt;
                 return static_cast<std::uint16_t>(*millivolts);
               });
  // Longer than any label, so that the datasheet's check says how long it may be.
  constexpr std::size_t longest = 64;
  read_sockets(body, "labels", inputs, patch.labels,
               [](Body& inner, const std::string& input) { return inner.text(input, longest); });
  patch.label = body.text("label", longest);
  return patch;
}

}  // namespace catwalk::web
