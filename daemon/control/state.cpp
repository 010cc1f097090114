// SPDX-License-Identifier: Apache-2.0
#include "daemon/control/state.hpp"

#include <algorithm>
#include <utility>

namespace catwalk::control {
namespace {

std::int32_t number(std::ptrdiff_t count) { return static_cast<std::int32_t>(count); }

// "2026-08-14T17:15:00Z"; empty: no time.
std::string time_text(std::optional<rack::TimePoint> at) {
  if (!at) return {};
  const auto day = std::chrono::floor<std::chrono::days>(*at);
  return plan::in_words(std::chrono::year_month_day{day}) + 'T' +
         plan::in_words(std::chrono::floor<std::chrono::seconds>(*at - day)) + 'Z';
}

template <class Name>
std::string text_of(const std::optional<Name>& name) {
  return name ? name->text : std::string{};
}

Message next_of(const rack::Snapshot& snapshot) {
  const auto& next = snapshot.order.next;
  const auto* const cue = next ? snapshot.plan->running_order.find(*next) : nullptr;
  return {"/catwalk/state/next", {text_of(next), cue ? cue->segment.text : std::string{}}};
}

Message waiting_of(const rack::OrderView& order) {
  Message message{"/catwalk/state/waiting", {}};
  for (const auto& segment : order.waiting) message.arguments.emplace_back(segment.text);
  return message;
}

Message lock_of(const std::optional<rack::Lock>& lock) {
  return {"/catwalk/state/lock",
          {std::int32_t{lock ? 1 : 0}, lock ? lock->who : std::string{},
           lock ? lock->why : std::string{}}};
}

Message armed_of(const std::optional<rack::Armed>& armed) {
  if (!armed) return {"/catwalk/state/armed", {std::string{}, std::string{}, std::string{}}};
  return {"/catwalk/state/armed", {armed->cue.text, armed->who, time_text(armed->until)}};
}

// Nodes are there that are where the switch, or the way back from it, takes them.
Message switch_of(const rack::SwitchViewPtr& view) {
  static const rack::SwitchView none;
  const auto& running = view ? *view : none;
  const bool back = running.back || running.stage == rack::SwitchStage::rolled_back;
  const auto goal = back ? rack::Whereabouts::before : rack::Whereabouts::target;
  const auto there = std::ranges::count(running.nodes, goal, &rack::SwitchedNode::where);
  return {"/catwalk/state/switch",
          {running.left.text, running.entered.text,
           view ? std::string{rack::name_of(running.stage)} : std::string{"none"},
           std::int32_t{running.back ? 1 : 0}, number(static_cast<std::ptrdiff_t>(running.step)),
           number(static_cast<std::ptrdiff_t>(running.steps)), number(there),
           number(std::ssize(running.nodes)), running.reason}};
}

}  // namespace

std::vector<Message> state_of(const rack::Snapshot& snapshot) {
  const auto& order = snapshot.order;
  return {{"/catwalk/state/segment", {snapshot.segment.text}},
          {"/catwalk/state/cue", {text_of(order.at)}},
          next_of(snapshot),
          {"/catwalk/state/due", {time_text(order.due)}},
          waiting_of(order),
          lock_of(snapshot.lock),
          armed_of(order.armed),
          switch_of(snapshot.switching),
          {"/catwalk/state/alarms",
           {number(std::ranges::count_if(*snapshot.alarms, &rack::Alarm::active))}}};
}

}  // namespace catwalk::control
