// SPDX-License-Identifier: Apache-2.0
#include "config/matrix_file.hpp"

#include <cmath>

#include "config/amplifier_figures.hpp"
#include "config/datasheet_file.hpp"
#include "config/exact_number.hpp"
#include "config/rf_values.hpp"

namespace catwalk::config {
namespace {

constexpr std::int64_t highest_voltage_mv = 60'000;  // what goes up a coax and may be touched
constexpr std::size_t most_voltages = 8;
constexpr double highest_combining_loss = 60;
constexpr double highest_isolation = 150;

std::string hundredths(double value) {
  return decimal_text(std::llround(std::ceil(value * 100 - 1e-9)), 2);
}

// Of 1, 2, 3 … inputs.
std::vector<rf::Decibel> read_combining_losses(const Cursor& at, std::size_t inputs) {
  std::vector<rf::Decibel> losses;
  if (!at.present()) return {rf::Decibel{}};
  for (const Cursor& element : at.elements(1, inputs)) {
    const auto loss = read_ratio(element, 0, highest_combining_loss);
    if (!loss) return {};
    const double count = static_cast<double>(losses.size() + 1);
    const double least = 10.0 * std::log10(count);
    if (losses.empty() && loss->value() != 0.0) {
      element.report("is the loss of one input alone, which the gain has already", "0 dB");
      return {};
    }
    // As it is written, in hundredths.
    if (loss->value() < least - 0.005) {
      element.report("is less than a combiner of so many inputs can lose",
                     hundredths(least) + " to 60 dB; what is made up for belongs to \"gain_db\"");
      return {};
    }
    losses.push_back(std::max(*loss, rf::Decibel::of(least)));
  }
  return losses;
}

std::optional<plan::Steps<rf::Gain>> read_trims(const Cursor& at) {
  using rf::Gain;
  const Object object{at, {"lowest", "step"}, {}};
  const auto lowest = object["lowest"].decibels(lowest_any_gain, Gain{});
  const auto step = object["step"].decibels(Gain::centidecibels(1), Gain::centidecibels(6000));
  if (!lowest || !step) return std::nullopt;
  if (lowest->centidecibels() % step->centidecibels() != 0) {
    object["step"].report(
        "does not lead from the lowest trim to 0 dB",
        "a whole fraction of " + decimal_text(-lowest->centidecibels(), 2) + " dB");
    return std::nullopt;
  }
  return plan::Steps<Gain>{*lowest, Gain{}, *step};
}

std::optional<plan::InputSupply> read_supply(const Cursor& at) {
  const Object object{at, {"voltages_mv", "most_ma", "most_ma_of_all"}, {}};
  plan::InputSupply supply;
  Rising voltages{3, "V"};
  const auto elements = object["voltages_mv"].elements(1, most_voltages);
  for (const Cursor& element : elements)
    if (const auto voltage = element.integer(1'000, highest_voltage_mv, "mV");
        voltage && voltages.add(*voltage, element))
      supply.millivolts.push_back(static_cast<std::uint16_t>(*voltage));
  const auto most = object["most_ma"].integer(1, 60'000, "mA");
  const auto of_all = object["most_ma_of_all"].integer(1, 1'000'000, "mA");
  if (most && of_all && *of_all < *most) {
    object["most_ma_of_all"].report("is less than one input gives",
                                    "the value of \"most_ma\" or more");
    return std::nullopt;
  }
  if (!most || !of_all || elements.empty() || supply.millivolts.size() != elements.size())
    return std::nullopt;
  supply.most_ma = static_cast<std::uint16_t>(*most);
  supply.most_ma_of_all = static_cast<std::uint32_t>(*of_all);
  return supply;
}

std::optional<plan::PassiveRoutes> read_unsupplied(const Cursor& at, std::size_t inputs,
                                                   std::size_t outputs) {
  const Object object{at, {"routes", "loss_db"}, {}};
  const auto loss = read_ratio(object["loss_db"], 0, 60);
  plan::PassiveRoutes passive{std::vector<plan::Inputs>(outputs), loss.value_or(rf::Decibel{})};
  bool all = loss.has_value() && object["routes"].is_object();
  if (all && object["routes"].keys().empty()) {
    object["routes"].report_about("names no output",
                                  "1 to " + std::to_string(outputs) + ", or no \"unsupplied\"");
    all = false;
  }
  for (const auto& [key, at_input] : object["routes"].members(plan::most_outputs)) {
    const auto output = number_of_socket(key, at_input, "output", outputs);
    const auto input = at_input.integer(1, static_cast<std::int64_t>(inputs));
    all = all && output && input;
    if (output && input) passive.outputs[*output - 1] = {static_cast<std::size_t>(*input)};
  }
  return all ? std::optional{std::move(passive)} : std::nullopt;
}

}  // namespace

std::optional<std::size_t> number_of_socket(const std::string& key, const Cursor& at,
                                            const char* what, std::size_t most) {
  for (std::size_t number = 1; number <= most; ++number)
    if (key == std::to_string(number)) return number;
  at.report_about(in_quotes(key) + " is no " + what + " of it", "1 to " + std::to_string(most));
  return std::nullopt;
}

std::optional<SheetKind> sheet_kind(const Cursor& root) {
  const Cursor kind = root.member_if_any("kind");
  if (!kind.present()) return SheetKind::amplifier;
  if (const auto index = kind.index_of({"amplifier", "matrix"}))
    return *index == 0 ? SheetKind::amplifier : SheetKind::matrix;
  return std::nullopt;
}

std::optional<plan::MatrixSheet> read_matrix_sheet(const Cursor& root) {
  const Object object{root,
                      {"kind", "type", "title", "inputs", "outputs", "gain_db", "noise_figure_db",
                       "output_p1db_dbm", "output_ip3_dbm"},
                      {"$schema", "applies", "combining_losses_db", "isolation_db",
                       "output_ip5_dbm", "trim_db", "supply", "unsupplied", "measures"}};
  const auto type = read_type(object["type"]);
  const auto title = object["title"].text(1, 80);
  const auto inputs = object["inputs"].integer(1, std::int64_t{plan::most_inputs});
  const auto outputs = object["outputs"].integer(1, std::int64_t{plan::most_outputs});
  const auto figures = read_amplifier_figures(object);
  const Cursor at_ip5 = object["output_ip5_dbm"];
  const auto ip5 = read_level(at_ip5, -30, 80);
  const Cursor at_trims = object["trim_db"];
  const Cursor at_supply = object["supply"];
  plan::MatrixSheet sheet;
  const auto combining =
      read_combining_losses(object["combining_losses_db"],
                            inputs ? static_cast<std::size_t>(*inputs) : plan::most_inputs);
  if (at_trims.present()) sheet.trims = read_trims(at_trims);
  if (at_supply.present()) sheet.supply = read_supply(at_supply);
  if (const Cursor at = object["measures"]; at.present()) {
    const Object measures{at, {}, {"current", "level"}};
    sheet.measures_current = measures["current"].boolean().value_or(false);
    sheet.measures_level = measures["level"].boolean().value_or(false);
  }
  if (const Cursor at = object["isolation_db"]; at.present()) {
    const Object isolation{at, {}, {"inputs", "outputs"}};
    sheet.isolation_of_inputs = read_ratio(isolation["inputs"], 0, highest_isolation);
    sheet.isolation_of_outputs = read_ratio(isolation["outputs"], 0, highest_isolation);
  }
  if (const auto applies = object["applies"].one_of<plan::Applies>()) sheet.applies = *applies;
  const Cursor at_unsupplied = object["unsupplied"];
  if (at_unsupplied.present() && inputs && outputs)
    sheet.unsupplied = read_unsupplied(at_unsupplied, static_cast<std::size_t>(*inputs),
                                       static_cast<std::size_t>(*outputs));
  if (!type || !title || !inputs || !outputs || !figures || combining.empty() ||
      (at_ip5.present() && !ip5) || (at_trims.present() && !sheet.trims) ||
      (at_supply.present() && !sheet.supply) || (at_unsupplied.present() && !sheet.unsupplied))
    return std::nullopt;
  sheet.type = *type;
  sheet.title = *title;
  sheet.inputs = static_cast<std::size_t>(*inputs);
  sheet.outputs = static_cast<std::size_t>(*outputs);
  sheet.combining_losses = combining;
  sheet.gain = figures->gain;
  sheet.noise_figure = figures->noise_figure;
  sheet.output_p1db = *figures->output_p1db;
  sheet.output_ip3 = *figures->output_ip3;
  sheet.output_ip5 = ip5;
  return sheet;
}

}  // namespace catwalk::config
