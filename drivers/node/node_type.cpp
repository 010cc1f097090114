// SPDX-License-Identifier: Apache-2.0
#include "drivers/node/node_type.hpp"

#include <algorithm>
#include <bit>

#include "daemon/base/overloaded.hpp"

namespace catwalk::drivers {
namespace {

using protocol::Refusal;
using protocol::RefusalReason;

std::vector<NodeType> make_types() {
  const NodeType tern{"tern-inline", 185, 22,
                      AmplifierType{.lowest_gain = -1200,
                                    .highest_gain = 2700,
                                    .gain_step = 100,
                                    .filters = {{"slide-40", 430'000'000, 740'000'000, 25'000},
                                                {"wide-470-600", 0, 0, 0},
                                                {"fixed-940-960", 0, 0, 0}}}};
  const NodeType gull{"gull-integral", 140, 18,
                      AmplifierType{.lowest_gain = -600,
                                    .highest_gain = 1500,
                                    .gain_step = 100,
                                    .filters = {{"slide-24", 482'000'000, 682'000'000, 25'000},
                                                {"wide", 0, 0, 0}}}};
  const NodeType plover{"plover-fixed", 95, 15,
                        AmplifierType{.lowest_gain = -1200,
                                      .highest_gain = 1200,
                                      .gain_step = 300,
                                      .filters = {{"fixed", 0, 0, 0}}}};
  const NodeType heron{"heron-sum", 420, 420,
                       MatrixType{.inputs = 12,
                                  .outputs = 6,
                                  .most_summed = 4,
                                  .lowest_trim = -1500,
                                  .highest_trim = 0,
                                  .trim_step = 50,
                                  .supplies_mv = {9'000, 12'000},
                                  .most_ma = 300,
                                  .measures_current = true,
                                  .measures_level = true}};
  const NodeType dunlin{"dunlin-select", 60, 60, MatrixType{.inputs = 5, .outputs = 3}};
  return {tern, gull, plover, heron, dunlin};
}

std::optional<Refusal> refusal_of(const AmplifierType& type, const protocol::Settings& settings) {
  if (settings.gain_cdb < type.lowest_gain || settings.gain_cdb > type.highest_gain)
    return Refusal{RefusalReason::gain_out_of_range};
  if ((settings.gain_cdb - type.lowest_gain) % type.gain_step != 0)
    return Refusal{RefusalReason::gain_off_step};
  if (settings.filter >= type.filters.size()) return Refusal{RefusalReason::filter_unknown};
  const NodeFilter& filter = type.filters[settings.filter];
  if (filter.centre_step == 0) {
    if (settings.centre_hz != 0) return Refusal{RefusalReason::centre_out_of_range};
    return std::nullopt;
  }
  if (settings.centre_hz < filter.lowest_centre || settings.centre_hz > filter.highest_centre)
    return Refusal{RefusalReason::centre_out_of_range};
  if ((settings.centre_hz - filter.lowest_centre) % filter.centre_step != 0)
    return Refusal{RefusalReason::centre_off_step};
  return std::nullopt;
}

std::optional<RefusalReason> refusal_of(const MatrixType& type,
                                        const protocol::MatrixInput& input) {
  if (input.trim_cdb < type.lowest_trim || input.trim_cdb > type.highest_trim)
    return RefusalReason::trim_out_of_range;
  if (type.trim_step != 0 && (input.trim_cdb - type.lowest_trim) % type.trim_step != 0)
    return RefusalReason::trim_off_step;
  const auto& supplies = type.supplies_mv;
  if (input.supply_mv != 0 && std::ranges::find(supplies, input.supply_mv) == supplies.end())
    return RefusalReason::supply_impossible;
  return std::nullopt;
}

std::optional<Refusal> refusal_of(const MatrixType& type,
                                  const protocol::MatrixSettings& settings) {
  if (settings.inputs.size() != type.inputs || settings.outputs.size() != type.outputs)
    return Refusal{RefusalReason::malformed};
  for (std::uint32_t i = 0; i < type.outputs; ++i)
    if (std::popcount(settings.outputs[i]) > type.most_summed)
      return Refusal{RefusalReason::route_impossible, i + 1};
  for (std::uint32_t i = 0; i < type.inputs; ++i)
    if (const auto reason = refusal_of(type, settings.inputs[i])) return Refusal{*reason, i + 1};
  return std::nullopt;
}

protocol::Settings factory_settings(const AmplifierType& type) {
  protocol::Settings settings;
  const int steps_to_zero = -type.lowest_gain / type.gain_step;
  const int gain = std::clamp(type.lowest_gain + steps_to_zero * type.gain_step,
                              int{type.lowest_gain}, int{type.highest_gain});
  settings.gain_cdb = static_cast<std::int16_t>(gain);
  if (!type.filters.empty() && type.filters.front().centre_step != 0) {
    const NodeFilter& filter = type.filters.front();
    const std::uint32_t steps = (filter.highest_centre - filter.lowest_centre) / filter.centre_step;
    settings.centre_hz = filter.lowest_centre + steps / 2 * filter.centre_step;
  }
  return settings;
}

protocol::MatrixSettings factory_settings(const MatrixType& type) {
  protocol::MatrixSettings settings;
  settings.outputs.resize(type.outputs);
  settings.inputs.resize(type.inputs);
  for (auto& input : settings.inputs)
    input.trim_cdb = std::clamp<std::int16_t>(0, type.lowest_trim, type.highest_trim);
  return settings;
}

}  // namespace

const std::vector<NodeType>& built_in_types() {
  static const std::vector<NodeType> types = make_types();
  return types;
}

std::optional<NodeType> built_in_type(std::string_view name) {
  const auto& types = built_in_types();
  const auto at = std::find_if(types.begin(), types.end(),
                               [&](const NodeType& type) { return type.name == name; });
  if (at == types.end()) return std::nullopt;
  return *at;
}

std::string built_in_type_names() {
  std::string names;
  for (const NodeType& type : built_in_types()) {
    if (!names.empty()) names += ", ";
    names += type.name;
  }
  return names;
}

std::optional<Refusal> refusal_of(const NodeType& type, const NodeSettings& settings) {
  return std::visit(Overloaded{[](const AmplifierType& can, const protocol::Settings& asked) {
                                 return refusal_of(can, asked);
                               },
                               [](const MatrixType& can, const protocol::MatrixSettings& asked) {
                                 return refusal_of(can, asked);
                               },
                               [](const auto&, const auto&) -> std::optional<Refusal> {
                                 return Refusal{RefusalReason::unknown_message};
                               }},
                    type.can, settings);
}

NodeSettings factory_settings(const NodeType& type) {
  return std::visit([](const auto& can) { return NodeSettings{factory_settings(can)}; }, type.can);
}

}  // namespace catwalk::drivers
