// SPDX-License-Identifier: Apache-2.0
#include "config/matrix_settings.hpp"

#include <algorithm>

#include "config/datasheet_file.hpp"
#include "config/exact_number.hpp"
#include "config/matrix_file.hpp"
#include "daemon/base/setting.hpp"

namespace catwalk::config {
namespace {

plan::Inputs read_inputs(const Cursor& at, const plan::MatrixSheet& sheet) {
  plan::Inputs inputs;
  Once<std::int64_t> once;
  for (const Cursor& element : at.elements(0, sheet.most_summed()))
    if (const auto input = element.integer(1, static_cast<std::int64_t>(sheet.inputs));
        input && once.add(*input, element))
      inputs.push_back(static_cast<std::size_t>(*input));
  std::ranges::sort(inputs);
  return inputs;
}

std::optional<rf::Gain> read_trim(const Cursor& at, const plan::MatrixSheet& sheet) {
  if (!sheet.trims) {
    at.report("is given, but a " + in_quotes(sheet.type) + " has no trim", "no \"trims_db\"");
    return std::nullopt;
  }
  const auto trim = at.decibels(lowest_any_gain, highest_any_gain);
  if (!trim || (sheet.trims->reaches(*trim) && sheet.trims->on_step(*trim))) return trim;
  const auto text = [](rf::Gain gain) { return decimal_text(gain.centidecibels(), 2); };
  at.report(sheet.trims->reaches(*trim) ? "is not on a trim step of " + in_quotes(sheet.type)
                                        : "is outside what " + in_quotes(sheet.type) + " can do",
            text(sheet.trims->lowest) + " to " + text(sheet.trims->highest) + " dB in steps of " +
                text(sheet.trims->step) + " dB");
  return std::nullopt;
}

std::optional<std::uint16_t> read_supply_of(const Cursor& at, const plan::MatrixSheet& sheet) {
  if (!sheet.supply) {
    at.report("is given, but a " + in_quotes(sheet.type) + " feeds nothing", "no \"supplies_mv\"");
    return std::nullopt;
  }
  std::vector<std::int64_t> choices{0};
  choices.insert(choices.end(), sheet.supply->millivolts.begin(), sheet.supply->millivolts.end());
  const auto millivolts = at.integer_among(choices, "a voltage of " + in_quotes(sheet.type), "mV");
  if (!millivolts) return std::nullopt;
  return static_cast<std::uint16_t>(*millivolts);
}

// read(cursor) for each socket of this kind that is named.
template <class Value, class Read>
void read_sockets(const Cursor& at, const char* what, std::size_t sockets,
                  std::map<std::size_t, Value>& values, const Read& read) {
  for (const auto& [key, cursor] : at.members(plan::most_inputs))
    if (const auto number = number_of_socket(key, cursor, what, sockets))
      if (std::optional<Value> value = read(cursor)) values.insert_or_assign(*number, *value);
}

}  // namespace

void read_routes(const Cursor& at, const plan::MatrixSheet& sheet, plan::MatrixPatch& patch) {
  read_sockets(at, "output", sheet.outputs, patch.routes,
               [&](const Cursor& cursor) { return std::optional{read_inputs(cursor, sheet)}; });
}

void read_trims(const Cursor& at, const plan::MatrixSheet& sheet, plan::MatrixPatch& patch) {
  read_sockets(at, "input", sheet.inputs, patch.trims,
               [&](const Cursor& cursor) { return read_trim(cursor, sheet); });
}

plan::MatrixPatch read_matrix_patch(const Cursor& at, const plan::MatrixSheet& sheet,
                                    const plan::MatrixPatch& before) {
  const Object object{at, {}, {"label", "routes", "trims_db", "supplies_mv", "labels"}};
  auto patch = before;
  read_routes(object["routes"], sheet, patch);
  read_trims(object["trims_db"], sheet, patch);
  read_sockets(object["supplies_mv"], "input", sheet.inputs, patch.supplies_mv,
               [&](const Cursor& cursor) { return read_supply_of(cursor, sheet); });
  read_sockets(object["labels"], "input", sheet.inputs, patch.labels,
               [](const Cursor& cursor) { return cursor.text(0, longest_label); });
  if (const auto label = object["label"].text(0, longest_label)) patch.label = *label;
  return patch;
}

}  // namespace catwalk::config
