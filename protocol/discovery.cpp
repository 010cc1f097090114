// SPDX-License-Identifier: Apache-2.0
#include "protocol/discovery.hpp"

#include <algorithm>

namespace catwalk::protocol {
namespace {

constexpr std::uint64_t first_factor = 0x9E37'79B9'7F4B;  // odd, so it has an inverse
constexpr std::uint64_t second_factor = 0xC2B2'AE3D'27D5;
constexpr unsigned width = 48;

constexpr std::uint64_t times(std::uint64_t a, std::uint64_t b) { return a * b & NodeUid::mask; }

// The inverse of an odd number modulo 2^48, by Newton's iteration: each round doubles the bits.
constexpr std::uint64_t inverse(std::uint64_t odd) {
  std::uint64_t x = odd;
  for (int round = 0; round < 5; ++round) x = times(x, (2 - times(odd, x)) & NodeUid::mask);
  return x;
}
static_assert(times(first_factor, inverse(first_factor)) == 1);
static_assert(times(second_factor, inverse(second_factor)) == 1);

// The inverse of x ^= x >> 24 is itself, as 2 × 24 bits are all there are.
constexpr std::uint64_t fold(std::uint64_t x) { return x ^ x >> (width / 2); }

// A line that answers a question asked twice in the same way is believed.
constexpr int quiet_rounds_needed = 2;
constexpr int stubborn_answers_allowed = 3;

}  // namespace

std::uint64_t mixed(NodeUid uid) {
  std::uint64_t x = uid.bits();
  x = fold(x);
  x = times(x, first_factor);
  x = fold(x);
  x = times(x, second_factor);
  return fold(x);
}

NodeUid unmixed(std::uint64_t value) {
  std::uint64_t x = fold(value & NodeUid::mask);
  x = times(x, inverse(second_factor));
  x = fold(x);
  x = times(x, inverse(first_factor));
  return NodeUid::from_bits(fold(x));
}

bool matches(const Find& find, NodeUid uid) {
  if (find.prefix_bits == 0) return true;
  const unsigned past = width - std::min<unsigned>(find.prefix_bits, width);
  return mixed(uid) >> past == find.prefix >> past;
}

Bisection::Bisection() : branches_{Find{}}, step_{Unmute{}} {}

void Bisection::done() {
  // After Unmute the first question; after Mute the same branch again: others may stand behind.
  ask_top();
}

void Bisection::silence() {
  // A node that does not answer its Mute may have heard it all the same: the branch will tell.
  if (std::holds_alternative<Find>(step_)) {
    stubborn_ = 0;
    const bool whole_line = branches_.back().prefix_bits == 0;
    branches_.pop_back();
    if (whole_line) ++quiet_rounds_;
  }
  ask_top();
}

void Bisection::found(const Found& answer) {
  const auto* asked = std::get_if<Find>(&step_);
  if (asked == nullptr) return;
  quiet_rounds_ = 0;
  if (!matches(*asked, answer.uid)) {
    collision();
    return;
  }
  if (is_known(answer.uid)) {
    if (++stubborn_ > stubborn_answers_allowed) {
      // It will not be muted. Going down still finds the others on this branch.
      stubborn_ = 0;
      if (trouble_.empty()) trouble_ = "node " + answer.uid.text() + " cannot be muted";
      if (asked->prefix_bits == width) {
        branches_.pop_back();
        ask_top();
      } else {
        split_top();
      }
      return;
    }
  } else {
    stubborn_ = 0;
    nodes_.push_back(answer);
  }
  step_ = Mute{answer.uid};
}

void Bisection::collision() {
  if (!std::holds_alternative<Find>(step_)) return;
  quiet_rounds_ = 0;
  stubborn_ = 0;
  if (branches_.back().prefix_bits == width) {
    if (trouble_.empty()) {
      trouble_ = "answers collide for the single uid " + unmixed(branches_.back().prefix).text() +
                 ": two nodes have the same, or the line is noisy";
    }
    branches_.pop_back();
    ask_top();
    return;
  }
  split_top();
}

void Bisection::split_top() {
  const Find whole = branches_.back();
  branches_.pop_back();
  const auto bits = static_cast<std::uint8_t>(whole.prefix_bits + 1);
  const std::uint64_t half = std::uint64_t{1} << (width - bits);
  branches_.push_back(Find{bits, whole.prefix | half});
  branches_.push_back(Find{bits, whole.prefix});
  ask_top();
}

void Bisection::ask_top() {
  if (branches_.empty()) {
    // An answer lost to noise looks like silence, so the whole line is asked again at the end.
    // With trouble on record that would only go the same way down once more.
    if (quiet_rounds_ >= quiet_rounds_needed || !trouble_.empty()) {
      finish();
      return;
    }
    branches_.push_back(Find{});
  }
  if (questions_ >= most_questions) {
    if (trouble_.empty()) {
      trouble_ = "gave up after " + std::to_string(most_questions) + " questions";
    }
    finish();
    return;
  }
  ++questions_;
  step_ = branches_.back();
}

bool Bisection::is_known(NodeUid uid) const {
  return std::any_of(nodes_.begin(), nodes_.end(),
                     [&](const Found& node) { return node.uid == uid; });
}

void Bisection::finish() {
  branches_.clear();
  step_ = Finished{trouble_};
}

}  // namespace catwalk::protocol
