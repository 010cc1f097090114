// SPDX-License-Identifier: Apache-2.0
#include "config/node_settings.hpp"

#include <algorithm>

#include "config/datasheet_file.hpp"
#include "config/exact_number.hpp"
#include "config/rf_values.hpp"

namespace catwalk::config {
namespace {

std::string decibels_text(rf::Gain gain) { return decimal_text(gain.centidecibels(), 2); }
void check_gain(const Cursor& at, rf::Gain gain, const NodeFacts& node) {
  const plan::Datasheet& sheet = *node.datasheet;
  const std::string range = decibels_text(sheet.gains.lowest) + " to " +
                            decibels_text(sheet.gains.highest) + " dB in steps of " +
                            decibels_text(sheet.gains.step) + " dB";
  if (!sheet.gains.reaches(gain)) {
    at.report("is outside what " + in_quotes(sheet.type) + " can do", range);
  } else if (!sheet.gains.on_step(gain)) {
    at.report("is not on a gain step of " + in_quotes(sheet.type), range);
  } else if (node.gain_limits &&
             (gain < node.gain_limits->lowest || node.gain_limits->highest < gain)) {
    at.report("is outside the rack's gain limits for this node",
              decibels_text(node.gain_limits->lowest) + " to " +
                  decibels_text(node.gain_limits->highest) + " dB");
  }
}

// The centre that the settings come to with this filter: the one that is given, or else the one
// from before.
std::optional<rf::Frequency> centre_of(const Object& settings, const plan::Filter& filter,
                                       std::optional<rf::Frequency> given,
                                       std::optional<rf::Frequency> before, bool incomplete) {
  const Cursor at_filter = settings["filter"];
  const Cursor at_centre = settings["centre_mhz"];
  if (!filter.tuning) {
    at_centre.report("is given, but " + in_quotes(filter.name) + " has no centre to tune",
                     "no member \"centre_mhz\"");
    return std::nullopt;
  }
  const plan::Tuning& tuning = *filter.tuning;
  const std::string range = megahertz_text(tuning.lowest) + " to " +
                            megahertz_text(tuning.highest) + " MHz in steps of " +
                            decimal_text(tuning.step.hertz(), 3) + " kHz";
  if (at_centre.present()) {
    if (given && !tuning.reaches(*given))
      at_centre.report("is outside where " + in_quotes(filter.name) + " can be tuned", range);
    else if (given && !tuning.on_step(*given))
      at_centre.report("is not on a tuning step of " + in_quotes(filter.name), range);
    return given;
  }
  // What was checked before and is still so needs no word.
  if (!at_filter.present()) return before;
  if (!before) {
    if (!incomplete)
      settings.at().report_about(
          "\"centre_mhz\" is missing, since " + in_quotes(filter.name) + " is a sliding filter",
          range);
  } else if (!tuning.reaches(*before)) {
    at_filter.report("cannot be tuned to the " + megahertz_text(*before) + " MHz from before",
                     range);
  } else if (!tuning.on_step(*before)) {
    at_filter.report("has no tuning step at the " + megahertz_text(*before) + " MHz from before",
                     range);
  }
  return before;
}

}  // namespace

plan::SettingsPatch read_settings_patch(const Cursor& at, const NodeFacts& node,
                                        const plan::SettingsPatch& before, bool incomplete) {
  const Object object{at, {}, setting_members()};
  plan::SettingsPatch asked;
  plan::for_each_setting([&](auto field) {
    constexpr auto form = form_of(field.setting);
    const auto given = object[std::string{member_of(field.setting)}];
    auto& value = field.asked_of(asked);
    if constexpr (form == SettingForm::decibels)
      value = given.decibels(lowest_any_gain, highest_any_gain);
    else if constexpr (form == SettingForm::megahertz)
      value = given.megahertz(lowest_node_frequency, highest_node_frequency);
    else if constexpr (form == SettingForm::name)
      value = given.name();
    else if constexpr (form == SettingForm::flag)
      value = given.boolean();
    else
      value = given.text(0, longest_label);
  });
  auto patch = before.with(asked);

  // A window means nothing without saying of which filter.
  const Cursor at_filter = object["filter"];
  if (!at_filter.present() && !before.filter && !incomplete)
    object["centre_mhz"].report("is given without a filter", "the member \"filter\" beside it");
  if (!node.datasheet) return patch;
  if (asked.gain) check_gain(object["gain_db"], *asked.gain, node);
  if (!patch.filter || asked.filter.has_value() != at_filter.present()) return patch;
  const auto& filters = node.datasheet->filters;
  const auto found = std::ranges::find(filters, *patch.filter, &plan::Filter::name);
  if (found != filters.end()) {
    patch.centre = centre_of(object, *found, asked.centre, before.centre, incomplete);
  } else {
    std::vector<std::string> known;
    for (const plan::Filter& each : filters) known.push_back(each.name);
    known_or_reported(at_filter, *patch.filter, "a filter of " + in_quotes(node.datasheet->type),
                      known);
  }
  return patch;
}

}  // namespace catwalk::config
