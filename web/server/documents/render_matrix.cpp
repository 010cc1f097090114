// SPDX-License-Identifier: Apache-2.0
#include "web/server/documents/render_matrix.hpp"

#include <algorithm>

#include "daemon/plan/routed.hpp"

namespace catwalk::web {
namespace {

// {"1": …, "2": …} of all sockets.
template <class Sockets, class Value>
Json by_number(const Sockets& sockets, const Value& value) {
  Json json = Json::object();
  for (std::size_t i = 0; i < sockets.size(); ++i) json[std::to_string(i + 1)] = value(sockets[i]);
  return json;
}

Json render(const plan::MatrixSheet& sheet) {
  Json json = {{"title", sheet.title},
               {"inputs", sheet.inputs},
               {"outputs", sheet.outputs},
               {"most_summed", sheet.most_summed()},
               {"applies", name_of(sheet.applies)}};
  if (const auto& isolation = sheet.isolation_of_inputs)
    json["isolation_of_inputs_db"] = isolation->value();
  if (const auto& isolation = sheet.isolation_of_outputs)
    json["isolation_of_outputs_db"] = isolation->value();
  if (const auto& trims = sheet.trims)
    json["trim_db"] = {{"lowest", trims->lowest.decibels()},
                       {"highest", trims->highest.decibels()},
                       {"step", trims->step.decibels()}};
  if (const auto& supply = sheet.supply) {
    json["supplies_mv"] = supply->millivolts;
    json["most_ma"] = supply->most_ma;
    json["most_ma_of_all"] = supply->most_ma_of_all;
  }
  json["measures_current"] = sheet.measures_current;
  json["measures_level"] = sheet.measures_level;
  return json;
}

Json measured_json(const protocol::InputMeasured& measured) {
  Json json = Json::object();
  if (measured.measures_current) {
    json["current_ma"] = measured.supply_ma;
    json["limited"] = measured.limited;
  }
  if (measured.measures_level) json["level_dbm"] = measured.level_cdbm / 100.0;
  return json;
}

Json inputs_json(const plan::RackPlan& plan, const plan::Matrix& matrix,
                 const rack::NodeView* view) {
  Json inputs = Json::array();
  for (std::size_t input = 1; input <= matrix.sheet->inputs; ++input) {
    Json json = {{"input", input}};
    if (const auto* node = plan::at_input(plan, {matrix.name, input}))
      json["antenna"] = node->name.text;
    if (const auto before = plan::before_input(plan, {matrix.name, input}))
      json["from"] = {{"matrix", before->matrix->name.text}, {"output", before->output}};
    if (view != nullptr && view->seen && input <= view->seen->reading.inputs.size())
      if (auto measured = measured_json(view->seen->reading.inputs[input - 1]); !measured.empty())
        json["measured"] = std::move(measured);
    inputs.push_back(std::move(json));
  }
  return inputs;
}

// The antennas that come to an output, by the routes in force.
void add_antennas(const plan::RackPlan& plan, const plan::Matrix& matrix, std::size_t output,
                  Json& names) {
  for (const auto input : plan::taken_by(matrix, output)) {
    const plan::InputOf at{matrix.name, input};
    if (const auto* node = plan::at_input(plan, at)) names.push_back(node->name.text);
    if (const auto before = plan::before_input(plan, at))
      add_antennas(plan, *before->matrix, before->output, names);
  }
}

Json outputs_json(const plan::RackPlan& plan, const plan::Matrix& matrix) {
  Json outputs = Json::array();
  for (std::size_t output = 1; output <= matrix.sheet->outputs; ++output) {
    Json json = {{"output", output}};
    Json hears = Json::array();
    add_antennas(plan, matrix, output, hears);
    if (const auto onward = matrix.onward.find(output); onward != matrix.onward.end())
      json["ends_at"] = {{"matrix", onward->second.to.matrix.text},
                         {"input", onward->second.to.input}};
    for (const auto& receiver : plan.receivers)
      for (std::size_t branch = 0; branch < receiver.branches.size(); ++branch)
        if (receiver.branches[branch].from == plan::OutputOf{matrix.name, output}) {
          json["receiver"] = receiver.name.text;
          json["branch"] = branch + 1;
        }
    json["hears"] = std::move(hears);
    outputs.push_back(std::move(json));
  }
  return outputs;
}

}  // namespace

Json render(const plan::MatrixSettings& settings, const plan::MatrixSheet& sheet) {
  using Input = plan::InputSettings;
  Json json = {{"label", settings.label}};
  json["routes"] = by_number(settings.outputs, [](const plan::Inputs& inputs) { return inputs; });
  if (sheet.trims)
    json["trims_db"] =
        by_number(settings.inputs, [](const Input& input) { return input.trim.decibels(); });
  if (sheet.supply)
    json["supplies_mv"] =
        by_number(settings.inputs, [](const Input& input) { return input.supply_mv; });
  json["labels"] = by_number(settings.inputs, [](const Input& input) { return input.label; });
  return json;
}

Json render(const plan::MatrixPatch& patch) {
  Json json = Json::object();
  const auto add = [&json](const char* member, const auto& asked, const auto& value) {
    for (const auto& [number, of_socket] : asked)
      json[member][std::to_string(number)] = value(of_socket);
  };
  const auto as_it_is = [](const auto& value) { return value; };
  if (patch.label) json["label"] = *patch.label;
  add("routes", patch.routes, as_it_is);
  add("trims_db", patch.trims, [](rf::Gain trim) { return trim.decibels(); });
  add("supplies_mv", patch.supplies_mv, as_it_is);
  add("labels", patch.labels, as_it_is);
  return json;
}

Json render(const plan::Matrix& matrix, const rack::Snapshot& snapshot, rack::TimePoint now) {
  const auto view = snapshot.find_matrix(matrix.name);
  Json json = view ? render(*view, now)
                   : Json{{"name", matrix.name.text},
                          {"type", matrix.sheet->type},
                          {"stands", matrix.stands}};
  json["set_from_here"] = matrix.on_line.has_value();
  json["datasheet"] = render(*matrix.sheet);
  json["inputs"] = inputs_json(*snapshot.plan, matrix, view.get());
  json["outputs"] = outputs_json(*snapshot.plan, matrix);
  if (!matrix.on_line) json["set_by_hand"] = render(matrix.settings, *matrix.sheet);
  return json;
}

Json render_matrices(const rack::Snapshot& snapshot, rack::TimePoint now) {
  Json all = Json::array();
  for (const auto& matrix : snapshot.plan->matrices) all.push_back(render(matrix, snapshot, now));
  return all;
}

}  // namespace catwalk::web
