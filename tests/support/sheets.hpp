// SPDX-License-Identifier: Apache-2.0
#pragma once
// The parts of datasheets that tests invent.

#include <string>

#include "daemon/plan/rack_plan.hpp"

namespace catwalk::test {

// −12 to +27 dB in steps of 1 dB. Without filters and figures.
inline plan::Datasheet amplifier_sheet(const std::string& type) {
  plan::Datasheet sheet;
  sheet.type = type;
  sheet.gains.lowest = rf::Gain::decibels(-12);
  sheet.gains.highest = rf::Gain::decibels(27);
  sheet.gains.step = rf::Gain::decibels(1);
  return sheet;
}

struct Figures {
  double noise_figure_db, output_p1db_dbm, output_ip3_dbm, passive_loss_db;
};
inline void set_figures(plan::Datasheet& sheet, const Figures& figures) {
  sheet.noise_figure_db = figures.noise_figure_db;
  sheet.output_p1db_dbm = figures.output_p1db_dbm;
  sheet.output_ip3_dbm = figures.output_ip3_dbm;
  sheet.passive_loss_db = figures.passive_loss_db;
}

// A window of 40 MHz.
inline plan::Filter sliding_filter(const std::string& name, const plan::Tuning& tuning) {
  plan::Filter filter;
  filter.name = name;
  filter.width = rf::Frequency::megahertz(40);
  filter.tuning = tuning;
  filter.skirt = rf::Frequency::kilohertz(500);
  return filter;
}
// 430 to 740 MHz in steps of 25 kHz.
inline plan::Tuning fine_tuning() {
  return {rf::Frequency::megahertz(430), rf::Frequency::megahertz(740),
          rf::Frequency::kilohertz(25)};
}

inline plan::Filter fixed_filter(const std::string& name, const rf::Band& band,
                                 rf::Frequency skirt) {
  plan::Filter filter;
  filter.name = name;
  filter.fixed = band;
  filter.width = band.width();
  filter.skirt = skirt;
  return filter;
}
// 470 to 600 MHz.
inline plan::Filter wide_filter() {
  return fixed_filter("wide", {rf::Frequency::megahertz(470), rf::Frequency::megahertz(600)},
                      rf::Frequency::megahertz(1));
}

}  // namespace catwalk::test
