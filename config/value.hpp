// SPDX-License-Identifier: Apache-2.0
#pragma once
// A JSON text as a tree that remembers where everything stood. Numbers keep their digits, so that
// 518.0000001 MHz can be told from 518 MHz.

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "config/problem.hpp"

namespace catwalk::config {

struct Member;

struct Value {
  enum class Kind { null, boolean, number, text, array, object };

  Kind kind = Kind::null;
  std::size_t line = 0;
  bool truth = false;           // of a boolean
  std::string text;             // of a text its content, of a number its digits
  std::vector<Value> items;     // of an array
  std::vector<Member> members;  // of an object, in the order of the file

  // Null if there is none.
  const Member* find(std::string_view key) const;
};

struct Member {
  std::string key;
  std::size_t line = 0;
  Value value;
};

constexpr std::size_t largest_file = 4'194'304;  // bytes
constexpr std::size_t deepest_nesting = 16;      // arrays and objects within each other
constexpr std::size_t most_values = 500'000;     // bounds the memory a file can ask for

// Reads JSON (RFC 8259) with comments, // to the end of the line or /* … */, and reports what is
// wrong under the name `file`. Nothing if the text cannot be read at all; a key that stands twice
// in an object is reported and its first value kept.
std::optional<Value> parse(std::string_view text, const std::string& file, Problems& problems);

// The value as it is quoted in a message: its JSON text, or […] or {…}.
std::string shown(const Value& value);

}  // namespace catwalk::config
