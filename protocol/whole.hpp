// SPDX-License-Identifier: Apache-2.0
#pragma once
// What is asked of a node and what it says, whole: one packet, or what goes in several and makes
// one.

#include <optional>
#include <string_view>
#include <variant>
#include <vector>

#include "protocol/message.hpp"

namespace catwalk::protocol {

// As Stage, of a matrix: as many StagePart as it takes.
struct StageMatrix {
  Epoch epoch;
  Ticket ticket;
  MatrixSettings settings;
  friend bool operator==(const StageMatrix&, const StageMatrix&) = default;
};

// What a matrix is doing: its reading, the settings of that reading, and what its inputs measured.
struct MatrixState {
  MatrixReading reading;
  MatrixSettings settings;
  std::vector<InputMeasured> inputs;
  friend bool operator==(const MatrixState&, const MatrixState&) = default;
};

template <class Variant, class More>
struct Joined;
template <class... Some, class More>
struct Joined<std::variant<Some...>, More> {
  using type = std::variant<Some..., More>;
};

// Read is answered by a Reading, or of a matrix by its whole state.
using Ask = Joined<Request, StageMatrix>::type;
using Answer = Joined<Reply, MatrixState>::type;

inline Answer whole(Reply reply) {
  return std::visit([](auto& said) { return Answer{std::move(said)}; }, reply);
}
// "stage", "matrix_reading"; for logs and errors.
std::string_view name_of(const Ask& ask);
std::string_view name_of(const Answer& answer);

// What a node of either kind does now.
using AnyReading = std::variant<Reading, MatrixState>;

inline const Telemetry& telemetry_of(const AnyReading& reading) {
  const auto* matrix = std::get_if<MatrixState>(&reading);
  return matrix != nullptr ? matrix->reading.telemetry : std::get<Reading>(reading).telemetry;
}
inline Epoch epoch_of(const AnyReading& reading) {
  const auto* matrix = std::get_if<MatrixState>(&reading);
  return matrix != nullptr ? matrix->reading.epoch : std::get<Reading>(reading).epoch;
}
// Nothing: it is no reading.
std::optional<AnyReading> reading_in(const Answer& answer);

}  // namespace catwalk::protocol
