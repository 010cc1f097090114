// SPDX-License-Identifier: Apache-2.0
#include "config/node_settings.hpp"

#include <algorithm>

#include "config/datasheet_file.hpp"
#include "config/exact_number.hpp"

namespace catwalk::config {
namespace {

std::string decibels_text(rf::Gain gain) { return decimal_text(gain.centidecibels(), 2); }
std::string megahertz_text(rf::Frequency f) { return decimal_text(f.hertz(), 6); }

void check_gain(const Cursor& at, rf::Gain gain, const NodeFacts& node) {
  const plan::Datasheet& sheet = *node.datasheet;
  const std::string range = decibels_text(sheet.lowest_gain) + " to " +
                            decibels_text(sheet.highest_gain) + " dB in steps of " +
                            decibels_text(sheet.gain_step) + " dB";
  if (gain < sheet.lowest_gain || sheet.highest_gain < gain) {
    at.report("is outside what " + in_quotes(sheet.type) + " can do", range);
  } else if ((gain - sheet.lowest_gain).centidecibels() % sheet.gain_step.centidecibels() != 0) {
    at.report("is not on a gain step of " + in_quotes(sheet.type), range);
  } else if (node.gain_limits &&
             (gain < node.gain_limits->lowest || node.gain_limits->highest < gain)) {
    at.report("is outside the rack's gain limits for this node",
              decibels_text(node.gain_limits->lowest) + " to " +
                  decibels_text(node.gain_limits->highest) + " dB");
  }
}

void check_centre(const Object& settings, std::optional<rf::Frequency> centre,
                  const plan::Filter& filter) {
  const Cursor at = settings["centre_mhz"];
  if (!filter.tuning) {
    at.report("is given, but " + in_quotes(filter.name) + " has no centre to tune",
              "no member \"centre_mhz\"");
    return;
  }
  const plan::Tuning& tuning = *filter.tuning;
  const std::string range = megahertz_text(tuning.lowest) + " to " +
                            megahertz_text(tuning.highest) + " MHz in steps of " +
                            decimal_text(tuning.step.hertz(), 3) + " kHz";
  if (!at.present()) {
    settings.at().report_about(
        "\"centre_mhz\" is missing, since " + in_quotes(filter.name) + " is a sliding filter",
        range);
  } else if (centre && !tuning.reaches(*centre)) {
    at.report("is outside where " + in_quotes(filter.name) + " can be tuned", range);
  } else if (centre && !tuning.on_step(*centre)) {
    at.report("is not on a tuning step of " + in_quotes(filter.name), range);
  }
}

}  // namespace

plan::SettingsPatch read_settings_patch(const Cursor& at, const NodeFacts& node) {
  const Object object{at, {}, {"gain_db", "filter", "centre_mhz", "power", "label"}};
  plan::SettingsPatch patch;
  patch.gain = object["gain_db"].decibels(lowest_any_gain, highest_any_gain);
  patch.filter = object["filter"].name();
  patch.centre = object["centre_mhz"].megahertz(lowest_node_frequency, highest_node_frequency);
  patch.power = object["power"].boolean();
  patch.label = object["label"].text(0, longest_label);

  // A window means nothing without saying of which filter.
  if (!object["filter"].present())
    object["centre_mhz"].report("is given without a filter", "the member \"filter\" beside it");
  if (!node.datasheet) return patch;
  if (patch.gain) check_gain(object["gain_db"], *patch.gain, node);
  if (!patch.filter) return patch;
  const auto& filters = node.datasheet->filters;
  const auto filter = std::ranges::find(filters, *patch.filter, &plan::Filter::name);
  if (filter != filters.end()) {
    check_centre(object, patch.centre, *filter);
  } else {
    std::vector<std::string> known;
    for (const plan::Filter& each : filters) known.push_back(each.name);
    known_or_reported(object["filter"], *patch.filter,
                      "a filter of " + in_quotes(node.datasheet->type), known);
  }
  return patch;
}

}  // namespace catwalk::config
