// SPDX-License-Identifier: Apache-2.0
#pragma once
// The one rule for text, wherever it comes in: from nodes, files, people, programs; and what is
// made of text that breaks it, wherever it goes out.

#include <cstddef>
#include <string>
#include <string_view>

namespace catwalk {

// Well-formed UTF-8 (The Unicode Standard, table 3-7) without control characters (general category
// Cc), format characters (Cf: bidirectional overrides, zero-width ones and their like), line and
// paragraph separators (Zl, Zp). Letters of all scripts are welcome. Empty is allowed.
// Why: Unicode Technical Reports 36 and 55; a terminal obeys the first, and people are misled by
// the others.
bool is_plain_text(std::string_view text);

// How many bytes at the front are one character of plain text; 0 if what stands there is none.
std::size_t plain_character(std::string_view text);

// How many bytes at the front are one well-formed UTF-8 character, whatever it is; 0 for none.
std::size_t character(std::string_view text);

// Plain: every character that breaks the rule, and every byte that is no UTF-8, is replaced.
enum class LineFeeds { replaced, kept };
std::string made_plain(std::string_view text, std::string_view instead = "\xEF\xBF\xBD",
                       LineFeeds line_feeds = LineFeeds::replaced);

// The same with nothing lost: what breaks the rule is written as JSON writes it, \u202e, above
// U+FFFF in two halves (RFC 8259, section 7); bytes that are no UTF-8 become U+FFFD.
std::string with_escapes(std::string_view text, LineFeeds line_feeds = LineFeeds::replaced);

// So many hexadecimal digits in lower case, and nothing else: a digest, a key, an id.
bool is_hex(std::string_view text, std::size_t digits);

// One or more of the printable ASCII characters 0x21 to 0x7E.
bool is_type_text(std::string_view text);

}  // namespace catwalk
