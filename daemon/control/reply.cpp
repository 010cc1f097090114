// SPDX-License-Identifier: Apache-2.0
#include "daemon/control/reply.hpp"

#include <algorithm>
#include <limits>
#include <utility>

#include "daemon/base/overloaded.hpp"

namespace catwalk::control {
namespace {

constexpr std::size_t most_obstacles = 16;

std::string counted(std::size_t count, const std::string& what) {
  return std::to_string(count) + ' ' + what + (count == 1 ? "" : "s");
}

std::int32_t as_int32(std::uint64_t value) {
  return static_cast<std::int32_t>(
      std::min<std::uint64_t>(value, std::numeric_limits<std::int32_t>::max()));
}

// The worst finding, with the number of those that are as bad.
std::string worst_of(const rack::Verdict& verdict) {
  if (verdict.findings.empty()) return {};
  const auto worst = std::ranges::max_element(verdict.findings, {}, &rack::Finding::severity);
  const auto alike =
      std::ranges::count(verdict.findings, worst->severity, &rack::Finding::severity);
  return worst->sentence +
         (alike > 1 ? " And " + counted(static_cast<std::size_t>(alike - 1), "finding") + " more."
                    : "");
}

std::string sentence_of(const rack::Answer& answer) {
  auto sentence = answer.detail;
  if (answer.outcome == rack::Outcome::refused || answer.outcome == rack::Outcome::needs_waiver) {
    const auto worst = worst_of(answer.verdict);
    if (sentence.find(worst) == std::string::npos)
      sentence += (sentence.empty() ? "" : " ") + worst;
  }
  if (answer.switching && sentence.empty())
    sentence = "To " + answer.switching->entered.text + ": " +
               counted(answer.switching->nodes.size(), "node") + " in " +
               counted(answer.switching->steps, "step") + '.';
  return sentence.empty() ? "Done." : sentence;
}

std::string sentence_of(const rack::Preview& preview) {
  return counted(preview.nodes.size(), "node") + " in " +
         counted(preview.way.steps.size(), "step") + ", " +
         (preview.prospect.obstacles.empty()
              ? "and nothing in the way."
              : counted(preview.prospect.obstacles.size(), "obstacle") + '.');
}

}  // namespace

About about(std::string_view name, const Command& command) {
  auto subject = std::visit(
      Overloaded{
          [](const AskPreview& what) { return what.segment.text; },
          [](const Go& what) { return what.segment ? what.segment->text : std::string{}; },
          [](const Arm& what) { return what.cue ? what.cue->text : std::string{}; },
          [](const Say& what) { return what.text; },
          [](const auto&) { return std::string{}; },
      },
      command);
  return {std::string{name}, std::move(subject)};
}

Message reply(const About& about, std::string_view outcome, std::string sentence) {
  return {about.name.empty() ? "/catwalk/reply" : "/catwalk/reply/" + about.name,
          {about.subject, std::string{outcome}, std::move(sentence)}};
}

Message reply(const About& about, const rack::Answer& answer) {
  return reply(about, rack::name_of(answer.outcome), sentence_of(answer));
}

Message reply(const About& about, const rack::Preview& preview) {
  auto message = reply(about, rack::name_of(preview.prospect.would_be), sentence_of(preview));
  const auto milliseconds = std::chrono::ceil<std::chrono::milliseconds>(preview.time).count();
  message.arguments.emplace_back(as_int32(preview.way.steps.size()));
  message.arguments.emplace_back(as_int32(static_cast<std::uint64_t>(milliseconds)));
  message.arguments.emplace_back(as_int32(preview.nodes.size()));
  for (const auto& obstacle : preview.prospect.obstacles) {
    if (message.arguments.size() == 6 + most_obstacles) break;
    message.arguments.emplace_back(obstacle);
  }
  return message;
}

}  // namespace catwalk::control
