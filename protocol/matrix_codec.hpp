// SPDX-License-Identifier: Apache-2.0
#pragma once
// What a matrix says in parts, as bytes and back. Layouts: PROTOCOL.md, section 4.4.

#include <vector>

#include "protocol/codec.hpp"

namespace catwalk::protocol {

// Of the largest: 32 inputs and outputs with full labels.
constexpr std::size_t largest_matrix_settings =
    2 + (1 + longest_label) + 4 * most_outputs + most_inputs * (4 + 1 + longest_label);
static_assert(largest_matrix_settings <= most_parts * largest_staged_part);

// Total, as encode() of a packet is.
Bytes encode(const MatrixSettings& settings);

// What is to be set has plain labels; what a node shows is taken as it is.
enum class Labels { plain, any };
Result<MatrixSettings, ParseError> decode_matrix_settings(ByteView bytes, Labels labels);

// In the order of the inputs.
Bytes encode(const std::vector<InputMeasured>& inputs);
Result<std::vector<InputMeasured>, ParseError> decode_inputs(ByteView bytes);

}  // namespace catwalk::protocol
