// SPDX-License-Identifier: Apache-2.0
#include "protocol/matrix_codec.hpp"

#include "daemon/base/text.hpp"
#include "protocol/fields.hpp"

namespace catwalk::protocol {
namespace {

constexpr std::uint8_t measures_current = 0x01;
constexpr std::uint8_t measures_level = 0x02;
constexpr std::uint8_t limited = 0x04;
constexpr std::size_t bytes_of_an_input = 5;

InputMeasured take_input(Fields& in) {
  const auto flags = in.u8_between("flags", 0, measures_current | measures_level | limited);
  InputMeasured input;
  input.measures_current = (flags & measures_current) != 0;
  input.measures_level = (flags & measures_level) != 0;
  input.limited = (flags & limited) != 0;
  input.supply_ma = in.u16("supply current");
  input.level_cdbm = in.i16("level");
  return input;
}

}  // namespace

Bytes encode(const MatrixSettings& settings) {
  Bytes out;
  put(out, settings.inputs.size() & 0xFF, 1);
  put(out, settings.outputs.size() & 0xFF, 1);
  put_counted(out, settings.label);
  for (const auto inputs : settings.outputs) put(out, inputs, 4);
  for (const auto& input : settings.inputs) {
    put(out, static_cast<std::uint16_t>(input.trim_cdb), 2);
    put(out, input.supply_mv, 2);
    put_counted(out, input.label);
  }
  return out;
}

Result<MatrixSettings, ParseError> decode_matrix_settings(ByteView bytes, Labels labels) {
  const auto allowed = labels == Labels::plain ? is_plain_text : is_anything;
  Fields in{bytes, "matrix settings", 0};
  MatrixSettings settings;
  const auto inputs = in.u8_between("inputs", 1, most_inputs);
  const auto outputs = in.u8_between("outputs", 1, most_outputs);
  settings.label = in.text("label", longest_label, allowed);
  const std::uint64_t past = ~std::uint64_t{0} << inputs;
  for (std::size_t i = 0; i < outputs && !in.failed(); ++i) {
    const auto at = in.at();
    const auto takes = in.u32("output");
    if ((takes & past) != 0)
      in.fail(
          ParseCode::value_invalid, at,
          "output " + std::to_string(i + 1) + " takes an input above " + std::to_string(inputs));
    settings.outputs.push_back(takes);
  }
  for (std::size_t i = 0; i < inputs && !in.failed(); ++i) {
    MatrixInput input;
    input.trim_cdb = in.i16("trim");
    input.supply_mv = in.u16("supply");
    input.label = in.text("label of an input", longest_label, allowed);
    settings.inputs.push_back(std::move(input));
  }
  if (auto error = in.finish()) return Failure{std::move(*error)};
  return settings;
}

Bytes encode(const std::vector<InputMeasured>& inputs) {
  Bytes out;
  for (const auto& input : inputs) {
    const int flags = (input.measures_current ? measures_current : 0) |
                      (input.measures_level ? measures_level : 0) | (input.limited ? limited : 0);
    put(out, static_cast<std::uint8_t>(flags), 1);
    put(out, input.supply_ma, 2);
    put(out, static_cast<std::uint16_t>(input.level_cdbm), 2);
  }
  return out;
}

Result<std::vector<InputMeasured>, ParseError> decode_inputs(ByteView bytes) {
  Fields in{bytes, "inputs", 0};
  std::vector<InputMeasured> inputs;
  while (!in.failed() && in.at() < bytes.size() && inputs.size() < most_inputs)
    inputs.push_back(take_input(in));
  if (auto error = in.finish()) return Failure{std::move(*error)};
  return inputs;
}

}  // namespace catwalk::protocol
