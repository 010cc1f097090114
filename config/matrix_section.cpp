// SPDX-License-Identifier: Apache-2.0
#include "config/matrix_section.hpp"

#include <algorithm>

#include "config/chain_section.hpp"
#include "config/exact_number.hpp"
#include "config/matrix_file.hpp"
#include "config/matrix_settings.hpp"

namespace catwalk::config {
namespace {

constexpr std::size_t most_matrices = 16;

plan::MatrixSettings read_settings(const Object& object, const plan::MatrixSheet& sheet) {
  plan::MatrixPatch patch;
  read_routes(object["routes"], sheet, patch);
  read_trims(object["trims_db"], sheet, patch);
  return plan::patched(sheet.nothing_set(), patch);
}

// Members that only one which hangs on a line has, and those that only one which is set by hand
// has.
const std::vector<std::string> of_lines{"uid", "address", "endpoint", "key_file", "on_return"};
const std::vector<std::string> of_hands{"routes", "trims_db"};

// It is either set from here or by hand, so that what belongs to the other is told with why.
Object members_of(const Cursor& at, bool on_line) {
  const Object object = on_line ? Object{at,
                                         {"name", "datasheet", "line", "uid"},
                                         {"stands", "ends_at", "address", "endpoint", "key_file",
                                          "on_return", "routes", "trims_db"}}
                                : Object{at,
                                         {"name", "datasheet", "routes"},
                                         {"stands", "ends_at", "trims_db", "line", "uid", "address",
                                          "endpoint", "key_file", "on_return"}};
  for (const auto& key : on_line ? of_hands : of_lines)
    object[key].report(
        on_line ? "is given, but the matrix hangs on a line, and says itself how it is set"
                : "is given, but the matrix is on no line",
        on_line ? "no " + in_quotes(key) : "the member \"line\" beside it");
  return object;
}

// A line, or, without routes, anything else that goes with one.
bool hangs_on_line(const Cursor& at) {
  if (at.member_if_any("line").present()) return true;
  return !at.member_if_any("routes").present() &&
         std::ranges::any_of(of_lines,
                             [&](const auto& key) { return at.member_if_any(key).present(); });
}

}  // namespace

MatrixSection::MatrixSection(const Cursor& at, const Datasheets& datasheets, LineSection& lines) {
  if (!at.present()) return;
  incomplete_ = !at.is_array();
  matrices_ = at.elements(0, most_matrices,
                          [&](const Cursor& element) { return read(element, datasheets, lines); });
}

std::optional<plan::Matrix> MatrixSection::read(const Cursor& at, const Datasheets& datasheets,
                                                LineSection& lines) {
  const bool on_line = hangs_on_line(at);
  const Object object = members_of(at, on_line);
  const auto name = object["name"].name();
  const auto stands = object["stands"].text(0, 80);
  const auto sheet = read_datasheet_name(object["datasheet"], datasheets);
  const auto problems = at.problems();
  const auto place = on_line ? read_line(object, lines) : std::nullopt;
  if (!name || !each_name_.add(*name, object["name"])) {
    incomplete_ = true;
    return std::nullopt;
  }
  names_.emplace(*name, object["name"]);
  if (object["ends_at"].present()) ends_at_.emplace(plan::NodeName{*name}, object["ends_at"]);
  facts_[*name] = {sheet, on_line};
  if (sheet == nullptr || (on_line && !place)) return std::nullopt;
  auto settings = on_line ? sheet->nothing_set() : read_settings(object, *sheet);
  if (on_line || at.problems() > problems || !object["routes"].present())
    unknown_routes_.insert({*name});
  plan::Matrix matrix;
  matrix.name = {*name};
  matrix.sheet = sheet;
  matrix.stands = stands.value_or("");
  matrix.settings = std::move(settings);
  matrix.on_line = place;
  return matrix;
}

std::optional<plan::OnLine> MatrixSection::read_line(const Object& object, LineSection& lines) {
  const auto uid = object["uid"].uid();
  if (uid && each_uid_.add(*uid, object["uid"])) uids_.emplace(*uid, object["uid"]);
  const auto line = object["line"].name();
  const auto policy = object["on_return"].one_of<plan::OnReturn>();
  if (!line ||
      !known_or_reported(object["line"], *line, "a line", lines.names(), lines.incomplete()))
    return std::nullopt;
  lines.add_node(object, uid, *line);
  if (!uid) return std::nullopt;
  return plan::OnLine{
      *uid, {*line}, policy.value_or(plan::OnReturn::hold), lines.is_simulated(*line)};
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

void MatrixSection::read_onward(const Cables& cables) {
  for (auto& matrix : matrices_)
    if (const auto at = ends_at_.find(matrix.name); at != ends_at_.end())
      read_onward(at->second, cables, matrix);
  for (const auto& matrix : matrices_)
    for (const auto& [output, onward] : matrix.onward)
      if (const auto behind = ends_at_.find(onward.to.matrix); behind != ends_at_.end())
        behind->second.report_about(in_quotes(matrix.name.text) + " ends at " +
                                        in_quotes(onward.to.matrix.text) +
                                        ", which would end at another one",
                                    "two matrices in a row, and receivers at the second");
}

void MatrixSection::read_onward(const Cursor& at, const Cables& cables, plan::Matrix& matrix) {
  for (const auto& [key, to] : at.members(plan::most_outputs)) {
    const auto output = number_of_socket(key, to, "output", matrix.sheet->outputs);
    const auto socket = read_socket(to, "input", {"chain"});
    std::vector<CableUse> uses;  // nobody is heard through it by every route
    auto chain = read_chain(to.member_if_any("chain"), cables, uses);
    if (!output || !socket) continue;
    if (socket->first == matrix.name) {
      to.member_if_any("matrix").report("is the matrix itself", "another one");
      continue;
    }
    const plan::InputOf input{socket->first, socket->second};
    if (!outputs_.add({matrix.name, *output}, to) || !inputs_.add(input, to)) continue;
    matrix.onward.emplace(*output, plan::Onward{input, std::move(chain)});
  }
}

std::optional<std::pair<plan::NodeName, std::size_t>> MatrixSection::read_socket(
    const Cursor& at, const char* what, const std::vector<std::string>& more) {
  if (!at.present()) return std::nullopt;
  const Object object{at, {"matrix", what}, more};
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
  for (const auto input : matrix->settings.outputs[output.output - 1]) {
    const plan::InputOf here{output.matrix, input};
    inputs.push_back(here);
    for (const auto& before : matrices_)
      for (const auto& [by, onward] : before.onward)
        if (onward.to == here)
          for (const auto taken : before.settings.outputs[by - 1])
            inputs.push_back({before.name, taken});
  }
  return inputs;
}

bool MatrixSection::routes_known(const plan::OutputOf& output) const {
  if (unknown_routes_.contains(output.matrix)) return false;
  return std::ranges::none_of(matrices_, [&](const plan::Matrix& before) {
    return unknown_routes_.contains(before.name) &&
           std::ranges::any_of(before.onward, [&](const auto& onward) {
             return onward.second.to.matrix == output.matrix;
           });
  });
}

void MatrixSection::check_diversity(const Cursor& at, const plan::OutputOf& output,
                                    std::set<plan::InputOf>& taken) const {
  for (const auto& input : inputs_of(output)) {
    const bool has_antenna = std::ranges::find(plugged_, input) != plugged_.end();
    if (!has_antenna || taken.insert(input).second) continue;
    at.report_about(
        "output " + std::to_string(output.output) + " of " + in_quotes(output.matrix.text) +
            " takes input " + std::to_string(input.input) +
            (input.matrix == output.matrix ? "" : " of " + in_quotes(input.matrix.text)) +
            ", which the other branch has already",
        "other inputs: one antenna on both branches is no diversity");
    return;
  }
}

void MatrixSection::check(const RackFacts& facts, const std::vector<plan::Node>& nodes) const {
  for (const auto& [uid, at] : uids_)
    if (std::ranges::find(nodes, uid, &plan::Node::uid) != nodes.end())
      at.report("is the uid of a node as well", "a uid of its own");
  for (const auto& [name, at] : names_)
    if (facts.nodes.contains(name)) at.report("is the name of a node as well", "another name");
  if (facts.nodes_incomplete) return;
  for (const auto& [output, at] : heard_) {
    if (!routes_known(output)) continue;
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
