// SPDX-License-Identifier: Apache-2.0
#include "config/matrix_section.hpp"

#include <algorithm>

#include "config/exact_number.hpp"
#include "config/matrix_file.hpp"

namespace catwalk::config {
namespace {

constexpr std::size_t most_matrices = 16;

// "3" for a socket of so many; nothing: reported.
std::optional<std::size_t> number_of(const std::string& key, const Cursor& at, const char* what,
                                     std::size_t most) {
  for (std::size_t number = 1; number <= most; ++number)
    if (key == std::to_string(number)) return number;
  at.report_about(in_quotes(key) + " is no " + what + " of it", "1 to " + std::to_string(most));
  return std::nullopt;
}

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
  const auto trim = at.decibels(sheet.trims->lowest, sheet.trims->highest);
  if (trim && !sheet.trims->on_step(*trim)) {
    at.report("is between two steps",
              "steps of " + decimal_text(sheet.trims->step.centidecibels(), 2) + " dB from " +
                  decimal_text(sheet.trims->lowest.centidecibels(), 2) + " dB");
    return std::nullopt;
  }
  return trim;
}

plan::MatrixSettings read_settings(const Object& object, const plan::MatrixSheet& sheet) {
  plan::MatrixSettings settings;
  settings.outputs.resize(sheet.outputs);
  settings.trims.assign(sheet.inputs, rf::Gain{});
  for (const auto& [key, at] : object["routes"].members(plan::most_outputs))
    if (const auto output = number_of(key, at, "output", sheet.outputs))
      settings.outputs[*output - 1] = read_inputs(at, sheet);
  for (const auto& [key, at] : object["trims_db"].members(plan::most_inputs))
    if (const auto input = number_of(key, at, "input", sheet.inputs))
      settings.trims[*input - 1] = read_trim(at, sheet).value_or(rf::Gain{});
  return settings;
}

}  // namespace

MatrixSection::MatrixSection(const Cursor& at, const Datasheets& datasheets) {
  if (!at.present()) return;
  incomplete_ = !at.is_array();
  matrices_ = at.elements(0, most_matrices,
                          [&](const Cursor& element) { return read(element, datasheets); });
}

std::optional<plan::Matrix> MatrixSection::read(const Cursor& at, const Datasheets& datasheets) {
  const Object object{at, {"name", "datasheet", "routes"}, {"stands", "trims_db"}};
  const auto name = object["name"].name();
  const auto stands = object["stands"].text(0, 80);
  const auto sheet = read_datasheet_name(object["datasheet"], datasheets);
  if (!name || !each_name_.add(*name, object["name"])) {
    incomplete_ = true;
    return std::nullopt;
  }
  names_.emplace(*name, object["name"]);
  if (sheet == nullptr) return std::nullopt;
  const auto problems = at.problems();
  auto settings = read_settings(object, *sheet);
  if (at.problems() > problems || !object["routes"].present()) wrong_routes_.insert({*name});
  return plan::Matrix{{*name}, sheet, stands.value_or(""), std::move(settings)};
}

std::shared_ptr<const plan::MatrixSheet> MatrixSection::read_datasheet_name(
    const Cursor& at, const Datasheets& datasheets) const {
  const auto type = at.name();
  if (!type) return nullptr;
  const auto found = datasheets.matrices.find(*type);
  if (found != datasheets.matrices.end()) return found->second;
  // One that is wrong elsewhere may have been meant for a matrix.
  const auto other = datasheets.by_type.find(*type);
  if (other == datasheets.by_type.end())
    known_or_reported(at, *type, "a datasheet of a matrix", keys_of(datasheets.matrices),
                      datasheets.incomplete);
  else if (other->second != nullptr)
    at.report("is an amplifier", "a datasheet whose \"kind\" is \"matrix\"");
  return nullptr;
}

std::optional<std::pair<plan::NodeName, std::size_t>> MatrixSection::read_socket(const Cursor& at,
                                                                                 const char* what) {
  if (!at.present()) return std::nullopt;
  const Object object{at, {"matrix", what}, {}};
  const auto name = object["matrix"].name();
  if (!name ||
      !known_or_reported(object["matrix"], *name, "a matrix", keys_of(names_), incomplete_))
    return std::nullopt;
  const auto matrix = std::ranges::find(matrices_, plan::NodeName{*name}, &plan::Matrix::name);
  if (matrix == matrices_.end()) return std::nullopt;
  const auto most =
      std::string_view{what} == "input" ? matrix->sheet->inputs : matrix->sheet->outputs;
  const auto number = object[what].integer(1, static_cast<std::int64_t>(most));
  if (!number) return std::nullopt;
  return std::pair{matrix->name, static_cast<std::size_t>(*number)};
}

std::optional<plan::InputOf> MatrixSection::read_input(const Cursor& at) {
  const auto socket = read_socket(at, "input");
  if (!socket) return std::nullopt;
  const plan::InputOf input{socket->first, socket->second};
  if (!inputs_.add(input, at)) return std::nullopt;
  plugged_.push_back(input);
  return input;
}

std::optional<plan::OutputOf> MatrixSection::read_output(const Cursor& at) {
  const auto socket = read_socket(at, "output");
  if (!socket) return std::nullopt;
  const plan::OutputOf output{socket->first, socket->second};
  if (!outputs_.add(output, at)) return std::nullopt;
  heard_.emplace_back(output, at);
  return output;
}

std::vector<plan::InputOf> MatrixSection::inputs_of(const plan::OutputOf& output) const {
  std::vector<plan::InputOf> inputs;
  const auto matrix = std::ranges::find(matrices_, output.matrix, &plan::Matrix::name);
  if (matrix == matrices_.end()) return inputs;
  for (const auto input : matrix->settings.outputs[output.output - 1])
    inputs.push_back({output.matrix, input});
  return inputs;
}

void MatrixSection::check_diversity(const Cursor& at, const plan::OutputOf& output,
                                    std::set<plan::InputOf>& taken) const {
  for (const auto& input : inputs_of(output)) {
    const bool has_antenna = std::ranges::find(plugged_, input) != plugged_.end();
    if (!has_antenna || taken.insert(input).second) continue;
    at.report_about("output " + std::to_string(output.output) + " of " +
                        in_quotes(output.matrix.text) + " takes input " +
                        std::to_string(input.input) + ", which the other branch has already",
                    "other inputs: one antenna on both branches is no diversity");
    return;
  }
}

void MatrixSection::check(const RackFacts& facts) const {
  for (const auto& [name, at] : names_)
    if (facts.nodes.contains(name)) at.report("is the name of a node as well", "another name");
  if (facts.nodes_incomplete) return;
  for (const auto& [output, at] : heard_) {
    if (wrong_routes_.contains(output.matrix)) continue;
    const bool hears = std::ranges::any_of(inputs_of(output), [&](const plan::InputOf& input) {
      return std::ranges::find(plugged_, input) != plugged_.end();
    });
    if (!hears)
      at.report_about("no antenna is on output " + std::to_string(output.output) + " of " +
                          in_quotes(output.matrix.text),
                      "a route in its \"routes\" from an input at which a node's \"ends_at\" is");
  }
}

}  // namespace catwalk::config
