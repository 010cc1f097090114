// SPDX-License-Identifier: Apache-2.0
#include "drivers/line/engine.hpp"

#include <algorithm>

#include "protocol/reclaim.hpp"

namespace catwalk::drivers {

void LatencyEstimate::measured(Micros latency) {
  latency = std::max(latency, Micros{0});
  if (!any_) {
    any_ = true;
    mean_ = latency;
    variation_ = latency / 2;
    return;
  }
  const Micros off = latency > mean_ ? latency - mean_ : mean_ - latency;
  variation_ = (3 * variation_ + off) / 4;
  mean_ = (7 * mean_ + latency) / 8;
}

Micros LatencyEstimate::patience() const {
  if (!any_) return longest_;
  return std::clamp(mean_ + 4 * variation_, shortest_, longest_);
}

Micros Backoff::next() {
  const Micros pause = next_;
  next_ = std::min(2 * next_, last_);
  return pause;
}

bool Deferral::put_off(const protocol::Wait& wait, TimePoint now, Micros longest,
                       TimePoint& again) {
  if (!until_) until_ = now + longest;
  again = now + tens_of_ms(wait.tens_of_ms);
  return again <= *until_;
}

bool Allowance::take(TimePoint now) {
  if (now >= began_ + std::chrono::seconds{1}) {
    began_ = now;
    taken_ = 0;
  }
  if (taken_ == most_) return false;
  ++taken_;
  return true;
}

bool Brake::pass(TimePoint now) {
  close_span(now);
  if (++came_ >= too_many) babbles_ = true;
  if (now < opens_) return false;
  passed(now);
  return true;
}

void Brake::calm_down(TimePoint now) { close_span(now); }

std::optional<TimePoint> Brake::calm_at() const {
  return babbles_ ? std::optional{span_began_ + span} : std::nullopt;
}

void Brake::close_span(TimePoint now) {
  if (now < span_began_ + span) return;
  const bool just_over = now < span_began_ + 2 * span;
  babbles_ = just_over && came_ >= too_many;
  came_ = 0;
  span_began_ = now;
}

protocol::Request proved(const protocol::Request& request, protocol::NodeUid node,
                         std::uint32_t boots, const std::optional<protocol::Key>& key) {
  const auto* asked = std::get_if<protocol::Reclaim>(&request);
  if (asked == nullptr || !key) return request;
  auto reclaim = *asked;
  reclaim.boots = boots;
  reclaim.proof = protocol::proof_of(reclaim, node, *key);
  return reclaim;
}

bool answers(const protocol::Reply& reply, const protocol::Request& request) {
  using namespace protocol;
  if (std::holds_alternative<Wait>(reply) || std::holds_alternative<Refusal>(reply)) return true;
  if (std::holds_alternative<Report>(reply) || std::holds_alternative<MatrixReport>(reply))
    return false;
  if (std::holds_alternative<Identify>(request)) return std::holds_alternative<Identity>(reply);
  if (std::holds_alternative<Read>(request))
    return std::holds_alternative<Reading>(reply) || std::holds_alternative<MatrixReading>(reply);
  if (std::holds_alternative<ReadPart>(request)) return std::holds_alternative<Part>(reply);
  if (std::holds_alternative<AskKind>(request)) return std::holds_alternative<Kind>(reply);
  if (std::holds_alternative<Find>(request)) return std::holds_alternative<Found>(reply);
  if (std::holds_alternative<AskController>(request))
    return std::holds_alternative<ControllerHeard>(reply);
  return std::holds_alternative<Done>(reply);
}

}  // namespace catwalk::drivers
