// SPDX-License-Identifier: Apache-2.0
#include <doctest/doctest.h>

#include "daemon/base/text.hpp"
#include "protocol/message.hpp"
#include "protocol/values.hpp"

using namespace catwalk;
using namespace catwalk::protocol;

TEST_CASE("a uid is read and written as maker and serial number") {
  CHECK(NodeUid::parse("7a10-0000002f") == NodeUid{0x7a10, 0x2f});
  CHECK(NodeUid::parse("7A10-0000002F") == NodeUid{0x7a10, 0x2f});
  CHECK(NodeUid{0x7a10, 0x2f}.text() == "7a10-0000002f");
  CHECK(NodeUid::everyone().text() == "ffff-ffffffff");
  CHECK(NodeUid{}.text() == "0000-00000000");
}

TEST_CASE("any other text is no uid") {
  for (const char* text :
       {"", "7a10", "7a100000002f", "7a10-0000002", "7a10-0000002f0", "7a10:0000002f",
        "7g10-0000002f", " 7a10-0000002f", "7a10-+000002f", "7a1-00000002f"}) {
    CAPTURE(text);
    CHECK_FALSE(NodeUid::parse(text));
  }
}

TEST_CASE("an address can be given to a node from 1 to 247") {
  CHECK_FALSE(Address{0}.is_assignable());
  CHECK(Address{1}.is_assignable());
  CHECK(Address{247}.is_assignable());
  CHECK_FALSE(Address{248}.is_assignable());
  CHECK_FALSE(Address::unassigned().is_assignable());
}

// The rows of The Unicode Standard, table 3-7, each at its edges.
TEST_CASE("a label is well-formed UTF-8") {
  for (const char* good : {"", "Quay 7", "\xC2\xA0", "\xDF\xBF", "\xE0\xA0\x80", "\xEC\xBF\xBF",
                           "\xED\x9F\xBF", "\xEE\x80\x80", "\xEF\xBF\xBF", "\xF0\x90\x80\x80",
                           "\xF3\xBF\xBF\xBF", "\xF4\x8F\xBF\xBF"}) {
    CAPTURE(good);
    CHECK(is_plain_text(good));
  }
  for (const char* bad :
       {"\x80", "\xBF", "\xC0\x80", "\xC1\xBF", "\xC2", "\xC2\x41", "\xE0\x9F\xBF", "\xE0\xA0",
        "\xED\xA0\x80", "\xED\xBF\xBF", "\xF0\x8F\xBF\xBF", "\xF0\x90\x80", "\xF4\x90\x80\x80",
        "\xF5\x80\x80\x80", "\xFF", "a\xE2\x82"}) {
    CAPTURE(bad);
    CHECK_FALSE(is_plain_text(bad));
  }
}

TEST_CASE("a label has no control characters") {
  CHECK_FALSE(is_plain_text("a\nb"));
  CHECK_FALSE(is_plain_text("\x1B[31m"));
  CHECK_FALSE(is_plain_text("\x7F"));
  CHECK_FALSE(is_plain_text("\xC2\x85"));  // U+0085, next line
  CHECK_FALSE(is_plain_text(std::string_view{"a\0b", 3}));
}

TEST_CASE("every refusal reason has a sentence of its own") {
  for (std::uint8_t reason = 1; reason <= last_refusal_reason; ++reason) {
    for (std::uint8_t other = 1; other < reason; ++other) {
      CHECK(sentence_of(static_cast<RefusalReason>(reason)) !=
            sentence_of(static_cast<RefusalReason>(other)));
    }
  }
  CHECK(sentence_of(RefusalReason::gain_out_of_range) == "the gain is out of the node's range");
}

TEST_CASE("messages are named for logs") {
  CHECK(name_of(Request{Stage{}}) == "stage");
  CHECK(name_of(Reply{Refusal{}}) == "refusal");
}
