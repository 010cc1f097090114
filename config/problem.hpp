// SPDX-License-Identifier: Apache-2.0
#pragma once
// What is wrong in a configuration file, said so that the person can mend it without a manual:
// where it stands, what stands there, and what may stand there.

#include <cstddef>
#include <iosfwd>
#include <string>
#include <string_view>
#include <vector>

namespace catwalk::config {

struct Problem {
  std::string file;      // as it was named by the user or by the file that refers to it
  std::size_t line = 0;  // from 1; 0: the file as a whole
  std::string pointer;   // JSON Pointer (RFC 6901) of the offending member; empty: the whole file
  std::string value;     // what stands there, as JSON text; empty: nothing does
  std::string message;   // "is not a name": goes on from the value
  std::string allowed;   // what may stand there; empty: the message says it
  friend bool operator==(const Problem&, const Problem&) = default;
};
using Problems = std::vector<Problem>;

// A file can be wrong in more ways than anybody reads: what comes after these is left out, and the
// last one says so.
constexpr std::size_t most_problems = 1000;
void add(Problems& problems, Problem problem);

// rack.json:12: /nodes/2/uid: "xyz" is not a unique id; allowed: four hexadecimal digits, …
// One line of plain text, whatever the file contains: what breaks the rule (protocol/text.hpp) is
// written as \u001b.
std::string to_text(const Problem& problem);

// Every problem on a line of its own.
void print(std::ostream& out, const Problems& problems);

// Text fit for a message: at most `longest` bytes of it, and bytes that are not UTF-8 as U+FFFD.
std::string readable(std::string_view text, std::size_t longest);

// Readable text as a JSON string, of at most 80 bytes.
std::string in_quotes(std::string_view text);

// "a", "b" or "c"; of a long list the first twelve and how many there are beside them.
std::string listed(const std::vector<std::string>& names, std::string_view conjunction = "or");

// The candidate that was probably meant, or an empty text if none is near.
std::string nearest(std::string_view written, const std::vector<std::string>& candidates);

}  // namespace catwalk::config
