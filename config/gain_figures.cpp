// SPDX-License-Identifier: Apache-2.0
#include "config/gain_figures.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <span>
#include <vector>

#include "config/amplifier_figures.hpp"
#include "config/datasheet_file.hpp"
#include "config/exact_number.hpp"
#include "config/rf_values.hpp"
#include "daemon/rf/cascade.hpp"

namespace catwalk::config {
namespace {

using rf::Decibel;
using rf::Gain;

constexpr std::size_t most_figures = 256;
constexpr std::size_t most_stages = 8;
// More than a file would be written with by hand: what the steps of a gain come to is computed.
constexpr std::int64_t most_computed = 480;

// A datasheet whose gains could not be read has none; a figure that could not, NaN. Then nothing is
// held against them.
bool has_gains(const plan::Datasheet& sheet) { return sheet.gains.step > Gain{}; }

std::optional<Gain> read_gain_of_row(const Object& row, Rising& gains,
                                     const plan::Datasheet& sheet) {
  const auto gain = row["gain_db"].decibels(lowest_any_gain, highest_any_gain);
  if (!gain || !gains.add(gain->centidecibels(), row["gain_db"])) return std::nullopt;
  if (has_gains(sheet) && !sheet.gains.reaches(*gain))
    row["gain_db"].report("is outside the gain range",
                          decimal_text(sheet.gains.lowest.centidecibels(), 2) + " to " +
                              decimal_text(sheet.gains.highest.centidecibels(), 2) + " dB");
  return gain;
}

// At the highest gain a table and the figure beside it are one.
void check_highest(const Object& row, const char* member, double in_table, double highest) {
  if (!std::isnan(highest) && in_table != highest)
    row[member].report("contradicts \"" + std::string{member} + "\" at the highest gain",
                       "the same value in both places");
}

// At the highest gain what is said beside them holds.
void read_noise_figures(const Cursor& at, plan::Datasheet& sheet) {
  Rising gains{2, "dB"};
  for (const Cursor& element : at.elements(1, most_figures)) {
    const Object row{element, {"gain_db", "noise_figure_db"}, {}};
    const auto gain = read_gain_of_row(row, gains, sheet);
    const auto noise_figure = row["noise_figure_db"].real(0, 40, "dB");
    if (!gain || !noise_figure) continue;
    if (has_gains(sheet) && *gain == sheet.gains.highest)
      check_highest(row, "noise_figure_db", *noise_figure, sheet.noise_figure_db);
    sheet.noise_figures.push_back({*gain, *noise_figure});
  }
  if (sheet.noise_figures.empty() || sheet.noise_figures.back().gain >= sheet.gains.highest ||
      std::isnan(sheet.noise_figure_db))
    return;
  sheet.noise_figures.push_back({sheet.gains.highest, sheet.noise_figure_db});
}

// What an amplifier takes at its input does not grow with its gain.
void check_rise(const plan::GainLinearity& before, const plan::GainLinearity& row,
                const Cursor& at) {
  const double most = before.output_p1db_dbm + (row.gain - before.gain).decibels();
  if (row.output_p1db_dbm > most + 1e-9)
    at.report("rises by more than the gain does",
              "at most " + decimal_text(std::llround(most * 100), 2) + " dBm");
}

// From the lowest gain on; at the highest what is said beside it holds.
void read_linearity(const Cursor& at, const Cursor& at_highest, plan::Datasheet& sheet) {
  Rising gains{2, "dB"};
  for (const Cursor& element : at.elements(1, most_figures)) {
    const Object row{element, {"gain_db", "output_p1db_dbm", "output_ip3_dbm"}, {}};
    const auto gain = read_gain_of_row(row, gains, sheet);
    const auto p1db = row["output_p1db_dbm"].real(-100, 60, "dBm");
    const auto ip3 = row["output_ip3_dbm"].real(-100, 80, "dBm");
    if (!gain || !p1db || !ip3) continue;
    check_above_compression(row, *p1db, *ip3);
    const plan::GainLinearity figures{*gain, *p1db, *ip3};
    if (has_gains(sheet) && *gain == sheet.gains.highest) {
      check_highest(row, "output_p1db_dbm", *p1db, sheet.output_p1db_dbm);
      check_highest(row, "output_ip3_dbm", *ip3, sheet.output_ip3_dbm);
    }
    if (!sheet.linearity.empty())
      check_rise(sheet.linearity.back(), figures, row["output_p1db_dbm"]);
    else if (has_gains(sheet) && *gain > sheet.gains.lowest)
      row["gain_db"].report(
          "is not the lowest gain, below which nothing would be known",
          decimal_text(sheet.gains.lowest.centidecibels(), 2) + " dB in the first row");
    sheet.linearity.push_back(figures);
  }
  if (sheet.linearity.empty() || sheet.linearity.back().gain >= sheet.gains.highest ||
      std::isnan(sheet.output_p1db_dbm))
    return;
  const plan::GainLinearity highest{sheet.gains.highest, sheet.output_p1db_dbm,
                                    sheet.output_ip3_dbm};
  check_rise(sheet.linearity.back(), highest, at_highest);
  sheet.linearity.push_back(highest);
}

// ---- stages ----------------------------------------------------------------------------------

// All of them, or none if one could not be read.
std::vector<rf::Stage> read_stages(const Cursor& at) {
  const auto elements = at.elements(1, most_stages);
  std::vector<rf::Stage> stages;
  for (const Cursor& element : elements) {
    const Object object{
        element, {"gain_db", "noise_figure_db", "output_p1db_dbm", "output_ip3_dbm"}, {}};
    if (const auto stage = read_amplifier_figures(object)) stages.push_back(*stage);
  }
  if (stages.size() != elements.size()) stages.clear();
  return stages;
}

// The stages with a pad of this loss behind `pad_behind` of them.
rf::Cascade with_pad(std::span<const rf::Stage> stages, std::size_t pad_behind, Decibel loss) {
  std::vector<rf::Stage> all{stages.begin(), stages.end()};
  all.insert(all.begin() + static_cast<std::ptrdiff_t>(pad_behind), rf::passive_stage({}, loss));
  return rf::cascade(all);
}

void check_against_stages(const Object& datasheet, const char* member, double said, double computed,
                          const char* unit) {
  constexpr double as_good_as = 0.1;  // dB; nobody writes more than one decimal
  if (!std::isnan(said) && std::abs(said - computed) > as_good_as)
    datasheet[member].report("contradicts the stages of \"amplifier\" at the highest gain",
                             decimal_text(std::llround(computed * 10), 1) + " " + unit);
}

void read_amplifier(const Object& datasheet, plan::Datasheet& sheet) {
  const Object object{datasheet["amplifier"], {"pad_behind", "stages"}, {}};
  const auto stages = read_stages(object["stages"]);
  const auto pad_behind = object["pad_behind"].integer(0, static_cast<std::int64_t>(most_stages));
  if (stages.empty() || !pad_behind || !has_gains(sheet)) return;
  if (*pad_behind > static_cast<std::int64_t>(stages.size())) {
    object["pad_behind"].report("is more than there are stages",
                                "0 to " + std::to_string(stages.size()));
    return;
  }
  Decibel all;
  for (const auto& stage : stages) all = all + stage.gain;
  const auto least = all - Decibel::of(sheet.gains.highest);
  if (least < Decibel::of(-1e-9)) {
    object["stages"].report_about(
        "the stages together have less gain than the highest",
        decimal_text(sheet.gains.highest.centidecibels(), 2) + " dB or more");
    return;
  }
  const auto behind = static_cast<std::size_t>(*pad_behind);
  const auto at = [&](Gain gain) {
    return with_pad(stages, behind, std::max(Decibel{}, all - Decibel::of(gain)));
  };
  const auto highest = at(sheet.gains.highest);
  check_against_stages(datasheet, "noise_figure_db", sheet.noise_figure_db,
                       highest.noise_figure.value(), "dB");
  check_against_stages(datasheet, "output_p1db_dbm", sheet.output_p1db_dbm,
                       highest.output_p1db().dbm(), "dBm");
  check_against_stages(datasheet, "output_ip3_dbm", sheet.output_ip3_dbm,
                       highest.output_ip3().dbm(), "dBm");
  // At the highest gain what is said of it holds; what it is off the stages, it is at all gains.
  const auto off = [](double said, double computed) {
    return std::isnan(said) ? 0.0 : said - computed;
  };
  const double noise_off = off(sheet.noise_figure_db, highest.noise_figure.value());
  const double p1db_off = off(sheet.output_p1db_dbm, highest.output_p1db().dbm());
  const double ip3_off = off(sheet.output_ip3_dbm, highest.output_ip3().dbm());
  const auto add = [&](Gain gain) {
    const auto whole = at(gain);
    sheet.noise_figures.push_back({gain, whole.noise_figure.value() + noise_off});
    sheet.linearity.push_back(
        {gain, whole.output_p1db().dbm() + p1db_off, whole.output_ip3().dbm() + ip3_off});
  };
  const auto steps =
      (sheet.gains.highest - sheet.gains.lowest).centidecibels() / sheet.gains.step.centidecibels();
  const auto stride = steps / most_computed + 1;
  for (std::int64_t step = 0; step < steps; step += stride)
    add(Gain::centidecibels(static_cast<std::int32_t>(sheet.gains.lowest.centidecibels() +
                                                      step * sheet.gains.step.centidecibels())));
  sheet.noise_figures.push_back({sheet.gains.highest, sheet.noise_figure_db});
  sheet.linearity.push_back({sheet.gains.highest, sheet.output_p1db_dbm, sheet.output_ip3_dbm});
}

}  // namespace

void read_gain_figures(const Object& datasheet, plan::Datasheet& sheet) {
  if (!datasheet["amplifier"].present()) {
    read_noise_figures(datasheet["noise_figures"], sheet);
    read_linearity(datasheet["linearity"], datasheet["output_p1db_dbm"], sheet);
    return;
  }
  for (const char* member : {"noise_figures", "linearity"})
    datasheet[member].report("is given beside \"amplifier\", from whose stages it follows",
                             "one of the two");
  read_amplifier(datasheet, sheet);
}

}  // namespace catwalk::config
