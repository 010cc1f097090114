// SPDX-License-Identifier: Apache-2.0
#include "daemon/control/arguments.hpp"

#include <cstdio>

#include "daemon/base/overloaded.hpp"
#include "daemon/base/text.hpp"

namespace catwalk::control {
namespace {

constexpr std::size_t longest_quote = 64;

std::string number(double value) {
  char text[40];
  std::snprintf(text, sizeof text, "%.9g", value);
  return text;
}

bool is_shown(char c) { return c >= 0x20 && c < 0x7F; }

}  // namespace

std::string in_quotes(std::string_view text) {
  std::string quoted{text.substr(0, longest_quote)};
  if (text.size() > longest_quote || !is_plain_text(text))
    for (char& c : quoted)
      if (!is_shown(c)) c = '?';
  return '"' + quoted + (text.size() > longest_quote ? "…\"" : "\"");
}

std::string in_words(const Argument& argument) {
  return std::visit(
      Overloaded{
          [](std::int32_t value) { return std::to_string(value) + " (int32)"; },
          [](float value) { return number(static_cast<double>(value)) + " (float32)"; },
          [](const std::string& value) { return in_quotes(value); },
          [](std::int64_t value) { return std::to_string(value) + " (int64)"; },
          [](double value) { return number(value) + " (double)"; },
          [](bool value) { return std::string{value ? "true" : "false"}; },
          [](char value) {
            return in_quotes({&value, 1}) + " (char)";
          },
          [](TimeTag) { return std::string{"a time tag"}; },
          [](Nil) { return std::string{"nil"}; },
          [](Infinitum) { return std::string{"infinitum"}; },
      },
      argument);
}

const Argument* Arguments::next() {
  return read_ < message_.arguments.size() ? &message_.arguments[read_++] : nullptr;
}

void Arguments::complain(const std::string& sentence) {
  wrong_ += (wrong_.empty() ? "" : " ") + sentence;
}

void Arguments::refuse(std::string_view name, const std::string& value,
                       const std::string& allowed) {
  complain(std::string{name} + ": " + value + " is not allowed; allowed: " + allowed + '.');
}

std::optional<std::string> Arguments::text(std::string_view name, const std::string& allowed,
                                           bool required) {
  const auto* argument = next();
  if (argument == nullptr) {
    if (required) complain(std::string{name} + " is missing; allowed: " + allowed + '.');
    return std::nullopt;
  }
  if (const auto* text = std::get_if<std::string>(argument)) return *text;
  complain(std::string{name} + ": " + in_words(*argument) + " is no string; allowed: " + allowed +
           '.');
  return std::nullopt;
}

std::optional<std::int32_t> Arguments::integer(std::string_view name, std::int32_t lowest,
                                               std::int32_t highest) {
  const auto* argument = next();
  if (argument == nullptr) return std::nullopt;
  const auto* value = std::get_if<std::int32_t>(argument);
  if (value != nullptr && *value >= lowest && *value <= highest) return *value;
  refuse(name, in_words(*argument),
         "an int32 from " + std::to_string(lowest) + " to " + std::to_string(highest));
  return std::nullopt;
}

std::string Arguments::finish() {
  while (const auto* argument = next())
    complain("Argument " + std::to_string(read_) + ": " + in_words(*argument) +
             " is one too many; allowed: none.");
  return std::move(wrong_);
}

}  // namespace catwalk::control
