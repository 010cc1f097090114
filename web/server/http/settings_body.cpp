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
void read_sockets(Body& body, const std::string& member, const char* what, std::size_t most,
                  std::map<std::size_t, Value>& values, const Read& read) {
  const auto allowed =
      "an object by " + std::string{what} + ", from \"1\" to \"" + std::to_string(most) + '"';
  body.object_of(member, allowed, [&](Body& inner) {
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

std::string supplies_of(const plan::MatrixSheet& sheet) {
  if (!sheet.supply) return "nothing: a " + sheet.type + " feeds nothing";
  std::string voltages;
  for (const auto millivolts : sheet.supply->millivolts)
    voltages += (voltages.empty() ? "" : ", ") + std::to_string(millivolts);
  return voltages + " mV, or 0 for off";
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
  const auto supplies = sheet == nullptr ? std::string{} : supplies_of(*sheet);
  read_sockets(body, "routes", "output", outputs, patch.routes,
               [inputs](Body& inner, const std::string& output) {
                 return inner.numbers_up_to(output, inputs);
               });
  read_sockets(
      body, "trims_db", "input", inputs, patch.trims,
      [&trims](Body& inner, const std::string& input) { return inner.decibels(input, trims); });
  read_sockets(body, "supplies_mv", "input", inputs, patch.supplies_mv,
               [&supplies](Body& inner, const std::string& input) -> std::optional<std::uint16_t> {
                 const auto millivolts = inner.whole(input, 0, 60'000, supplies);
                 if (!millivolts) return std::nullopt;
                 return static_cast<std::uint16_t>(*millivolts);
               });
  read_sockets(
      body, "labels", "input", inputs, patch.labels,
      [](Body& inner, const std::string& input) { return inner.text(input, longest_label); });
  patch.label = body.text("label", longest_label);
  return patch;
}

}  // namespace catwalk::web
