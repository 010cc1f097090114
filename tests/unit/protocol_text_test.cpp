// SPDX-License-Identifier: Apache-2.0
// The rule for text, at its doors and on its ways out.
#include "daemon/base/text.hpp"

#include <doctest/doctest.h>

using namespace catwalk;
using namespace catwalk::protocol;

TEST_CASE("no text holds what moves a terminal or misleads a reader") {
  for (const char* bad : {"\x1B[2J", "\x07", "a\rb", "a\nb", "a\tb", "\x7F",
                          "\xC2\x9B",          // U+009B, the C1 form of ESC [
                          "\xC2\xAD",          // U+00AD, soft hyphen
                          "\xD8\x9C",          // U+061C, Arabic letter mark
                          "\xE2\x80\x8B",      // U+200B, zero width space
                          "\xE2\x80\xA8",      // U+2028, line separator
                          "\xE2\x80\xAE",      // U+202E, right-to-left override
                          "\xE2\x81\xA6",      // U+2066, left-to-right isolate
                          "\xEF\xBB\xBF",      // U+FEFF, byte order mark
                          "\xF3\xA0\x81\x81",  // U+E0041, a tag
                          "ok\xFF"}) {
    CAPTURE(bad);
    CHECK_FALSE(is_plain_text(bad));
  }
}

TEST_CASE("letters of all scripts are plain text, with their marks and spaces") {
  for (const char* good :
       {"", "Bühne links", "Ζωή", "Зоя", "舞台左", "मंच", "منصة", "במה", "🎤", "e\xCC\x81",
        "a\xC2\xA0"
        "b",
        "\xE2\x80\xA6"}) {
    CAPTURE(good);
    CHECK(is_plain_text(good));
    CHECK(made_plain(good) == good);
  }
}

TEST_CASE(
    "what is no plain text is replaced character by character, and byte by byte where it is none") {
  CHECK(made_plain("a\x1B[31mb", "?") == "a?[31mb");
  CHECK(made_plain("\xE2\x80\xAEgnirts", "?") == "?gnirts");
  CHECK(made_plain("\xE2\x80", "?") == "??");
  CHECK(made_plain("\xF4\x90\x80\x80", "?") == "????");
  CHECK(made_plain("one\ntwo", "?") == "one?two");
  CHECK(made_plain("one\ntwo\r", "?", LineFeeds::kept) == "one\ntwo?");
  CHECK(made_plain("\x07") == "\xEF\xBF\xBD");
}

TEST_CASE("with escapes nothing is lost, and nothing moves a terminal") {
  CHECK(with_escapes("a\x1B[31m\x7F\n") == "a\\u001b[31m\\u007f\\u000a");
  CHECK(with_escapes("one\ntwo", LineFeeds::kept) == "one\ntwo");
  CHECK(with_escapes("\xE2\x80\xAEgnirts") == "\\u202egnirts");
  // U+E0041 in two halves: 0xDB40 0xDC41.
  CHECK(with_escapes("\xF3\xA0\x81\x81") == "\\udb40\\udc41");
  CHECK(with_escapes("B\xC3\xBChne \xFF") == "B\xC3\xBChne \xEF\xBF\xBD");
}
