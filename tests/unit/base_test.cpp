// SPDX-License-Identifier: Apache-2.0
#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "daemon/base/hex.hpp"
#include "daemon/base/role.hpp"
#include "daemon/base/words.hpp"
#include "daemon/rack/values/alarm.hpp"
#include "daemon/rack/values/journal.hpp"
#include "daemon/rack/values/outcome.hpp"
#include "daemon/rack/values/switch_view.hpp"
#include "daemon/rack/values/verdict.hpp"

using namespace catwalk;

namespace {

enum class Weather { dry, wet };
constexpr auto words_of(Weather) {
  return WordTable<Weather, 2>{{{"no rain", Weather::dry}, {"rain", Weather::wet}}};
}
enum class Short { one, two };
constexpr auto words_of(Short) { return WordTable<Short, 1>{{{"one", Short::one}}}; }
enum class Swapped { one, two };
constexpr auto words_of(Swapped) {
  return WordTable<Swapped, 2>{{{"two", Swapped::two}, {"one", Swapped::one}}};
}

// What is kept on disk is read by its word: two of the same would be read as one.
template <HasWords E>
void check_both_ways() {
  for (const auto& [word, value] : words_of(E{})) {
    CHECK(name_of(value) == word);
    CHECK(named<E>(word) == value);
  }
}

}  // namespace

TEST_CASE("the words of an enumeration are used in both directions") {
  CHECK(name_of(Weather::wet) == "rain");
  CHECK(named<Weather>("no rain") == Weather::dry);
  CHECK_FALSE(named<Weather>("snow"));
  CHECK(name_of(static_cast<Weather>(7)) == "?");
  check_both_ways<Role>();
  check_both_ways<rack::AlarmKind>();
  check_both_ways<rack::JournalKind>();
  check_both_ways<rack::Outcome>();
  check_both_ways<rack::Rule>();
  check_both_ways<rack::Whereabouts>();
}

TEST_CASE("a value without a word, or one out of order, is found when it is compiled") {
  CHECK(words_detail::is_whole<Weather>());
  CHECK_FALSE(words_detail::is_whole<Short>());
  CHECK_FALSE(words_detail::is_whole<Swapped>());
}

TEST_CASE("bytes are written as RFC 4648 has them in base 16, and read in upper case too") {
  // Section 10 of the RFC, in lower case.
  const std::string foobar = "foobar";
  const std::vector<std::uint8_t> bytes(foobar.begin(), foobar.end());
  CHECK(to_hex(bytes) == "666f6f626172");
  CHECK(from_hex("666F6F626172") == bytes);
  CHECK(to_hex({}).empty());
  CHECK(from_hex("") == std::vector<std::uint8_t>{});
  for (const auto* wrong : {"6", "6g", "+6", "6 6", "0x"}) {
    CAPTURE(wrong);
    CHECK_FALSE(from_hex(wrong));
  }
}
