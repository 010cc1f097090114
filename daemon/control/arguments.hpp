// SPDX-License-Identifier: Apache-2.0
#pragma once
// The arguments of a message, read one after the other. What is wrong with them is gathered: all of
// it at once, each with the argument's name, its value, and what is allowed.

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "daemon/control/osc_packet.hpp"

namespace catwalk::control {

// As it stands in a sentence: "finale" in quotes, 7 (int32), true.
std::string in_words(const Argument& argument);
// In quotes, at most 64 bytes of it, and a question mark for what cannot be shown.
std::string in_quotes(std::string_view text);

class Arguments {
 public:
  explicit Arguments(const Message& message) : message_{message} {}

  // The next one, which must be a string. Absent: it is none, or is missing and `required`.
  std::optional<std::string> text(std::string_view name, const std::string& allowed, bool required);
  // The next one, an int32 within these bounds, if there is one.
  std::optional<std::int32_t> integer(std::string_view name, std::int32_t lowest,
                                      std::int32_t highest);
  // What was read has a value that is not allowed.
  void refuse(std::string_view name, const std::string& value, const std::string& allowed);
  // Everything that is wrong, those included that were not read; empty: nothing.
  std::string finish();

 private:
  void complain(const std::string& sentence);
  const Argument* next();

  const Message& message_;
  std::size_t read_ = 0;
  std::string wrong_;
};

}  // namespace catwalk::control
