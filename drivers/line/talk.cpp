// SPDX-License-Identifier: Apache-2.0
#include "drivers/line/talk.hpp"

#include <type_traits>
#include <utility>

#include "protocol/matrix_codec.hpp"

namespace catwalk::drivers {

using protocol::Answer;
using protocol::PartsOf;
using protocol::Reply;
using protocol::Request;

namespace {

// A hand may turn a matrix while it is read, but not for ever.
constexpr int most_begun_anew = 3;

// A node that says in parts what is nothing whole.
constexpr protocol::Refusal not_understood{protocol::RefusalReason::malformed, 0};

Request packet_of(const protocol::Ask& ask) {
  return std::visit(
      [](const auto& asked) -> Request {
        if constexpr (std::is_same_v<std::decay_t<decltype(asked)>, protocol::StageMatrix>)
          return protocol::StagePart{asked.epoch, asked.ticket, 0, 1, {}};
        else
          return asked;
      },
      ask);
}

}  // namespace

Talk::Talk(protocol::Ask ask, KnownMatrix known)
    : ask_{std::move(ask)}, request_{packet_of(ask_)}, known_{std::move(known)} {
  const auto* stage = std::get_if<protocol::StageMatrix>(&ask_);
  if (stage == nullptr) return;
  staged_ = protocol::encode(stage->settings);
  say_staged_part(0);
}

std::optional<Answer> Talk::heard(const Reply& reply) {
  const auto* matrix = std::get_if<protocol::MatrixReading>(&reply);
  if (matrix != nullptr && std::holds_alternative<protocol::Read>(request_)) {
    begin_to_read(*matrix);
    return std::nullopt;
  }
  const auto* part = std::get_if<protocol::Part>(&reply);
  if (part != nullptr && std::holds_alternative<protocol::ReadPart>(request_))
    return heard_part(*part);
  const auto* staged = std::get_if<protocol::StagePart>(&request_);
  const bool goes_on = staged != nullptr && std::holds_alternative<protocol::Done>(reply) &&
                       staged->part + 1 < staged->parts;
  if (!goes_on) return protocol::whole(reply);
  say_staged_part(static_cast<std::uint8_t>(staged->part + 1));
  return std::nullopt;
}

void Talk::say_staged_part(std::uint8_t part) {
  const auto& stage = std::get<protocol::StageMatrix>(ask_);
  const auto parts = protocol::parts_of(staged_.size(), protocol::largest_staged_part);
  request_ = protocol::StagePart{stage.epoch, stage.ticket, part, static_cast<std::uint8_t>(parts),
                                 protocol::part_of(staged_, part, protocol::largest_staged_part)};
}

void Talk::read(PartsOf of) {
  parts_ = {};
  request_ = protocol::ReadPart{of, 0};
}

void Talk::begin_to_read(const protocol::MatrixReading& reading) {
  reading_ = reading;
  const bool same = known_.settings != nullptr && known_.boots == reading.telemetry.boots &&
                    known_.number == reading.settings_number &&
                    ++known_.readings <= KnownMatrix::most_readings;
  if (!same) known_ = {reading.telemetry.boots, reading.settings_number, nullptr};
  read(same ? PartsOf::inputs : PartsOf::settings);
}

std::optional<Answer> Talk::heard_part(const protocol::Part& part) {
  const auto asked = std::get<protocol::ReadPart>(request_);
  if (part.settings_number != known_.number) {
    // Other settings came into force meanwhile.
    if (++begun_anew_ > most_begun_anew) return not_understood;
    request_ = protocol::Read{};
    return std::nullopt;
  }
  if (part.of != asked.of || part.part != asked.part ||
      !parts_.add(part.part, part.parts, protocol::largest_read_part, part.bytes))
    return not_understood;
  if (!parts_.complete()) {
    request_ = protocol::ReadPart{asked.of, parts_.next()};
    return std::nullopt;
  }
  if (asked.of == PartsOf::settings) return settings_came();
  auto inputs = protocol::decode_inputs(parts_.bytes());
  if (!inputs || inputs->size() != known_.settings->inputs.size()) return not_understood;
  return protocol::MatrixState{reading_, *known_.settings, *std::move(inputs)};
}

std::optional<Answer> Talk::settings_came() {
  auto settings = protocol::decode_matrix_settings(parts_.bytes(), protocol::Labels::any);
  if (!settings) return not_understood;
  known_.settings = std::make_shared<const protocol::MatrixSettings>(*std::move(settings));
  read(PartsOf::inputs);
  return std::nullopt;
}

}  // namespace catwalk::drivers
