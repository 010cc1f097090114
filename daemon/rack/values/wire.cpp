// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/values/wire.hpp"

#include "daemon/base/text.hpp"

namespace catwalk::rack {
namespace {

std::uint32_t mask_of(const plan::Inputs& inputs) {
  std::uint32_t mask = 0;
  for (const auto input : inputs) mask |= std::uint32_t{1} << (input - 1);
  return mask;
}

plan::Inputs inputs_of(std::uint32_t mask) {
  plan::Inputs inputs;
  for (std::size_t input = 1; input <= protocol::most_inputs; ++input)
    if ((mask >> (input - 1) & 1U) != 0) inputs.push_back(input);
  return inputs;
}

}  // namespace

protocol::Settings to_wire(const plan::Settings& settings) {
  return {static_cast<std::int16_t>(settings.gain.centidecibels()), settings.filter,
          static_cast<std::uint32_t>(settings.centre.hertz()), settings.power, settings.label};
}

protocol::MatrixSettings to_wire(const plan::MatrixSettings& settings) {
  protocol::MatrixSettings wire;
  for (const auto& output : settings.outputs) wire.outputs.push_back(mask_of(output));
  for (const auto& input : settings.inputs)
    wire.inputs.push_back(
        {static_cast<std::int16_t>(input.trim.centidecibels()), input.supply_mv, input.label});
  wire.label = settings.label;
  return wire;
}

protocol::Ask staged(protocol::Epoch epoch, protocol::Ticket ticket,
                     const plan::NodeSettings& settings) {
  if (const auto* matrix = settings.matrix())
    return protocol::StageMatrix{epoch, ticket, to_wire(*matrix)};
  return protocol::Stage{epoch, ticket, to_wire(*settings.amplifier())};
}

plan::Settings from_wire(const protocol::Settings& settings) {
  return {rf::Gain::centidecibels(settings.gain_cdb), settings.filter,
          rf::Frequency::hertz(settings.centre_hz), settings.power,
          made_plain(settings.label, "?")};
}

plan::MatrixSettings from_wire(const protocol::MatrixSettings& settings) {
  plan::MatrixSettings own;
  for (const auto output : settings.outputs) own.outputs.push_back(inputs_of(output));
  for (const auto& input : settings.inputs)
    own.inputs.push_back(
        {rf::Gain::centidecibels(input.trim_cdb), input.supply_mv, made_plain(input.label, "?")});
  own.label = made_plain(settings.label, "?");
  return own;
}

plan::NodeSettings settings_of(const protocol::AnyReading& reading) {
  if (const auto* matrix = std::get_if<protocol::MatrixState>(&reading))
    return from_wire(matrix->settings);
  return from_wire(std::get<protocol::Reading>(reading).settings);
}

bool is_of_its_kind(const protocol::AnyReading& reading, const plan::Device& device) {
  return device.fits(settings_of(reading));
}

}  // namespace catwalk::rack
