// SPDX-License-Identifier: Apache-2.0
// The parts below the files: exact numbers, lines, comments, suggestions.

#include <doctest/doctest.h>

#include "config/exact_number.hpp"
#include "config/reader.hpp"

namespace catwalk::config {
namespace {

std::optional<std::int64_t> exact(std::string_view digits, int places) {
  const Scaled number = scaled(digits, places);
  const auto* value = std::get_if<std::int64_t>(&number);
  return value != nullptr ? std::optional{*value} : std::nullopt;
}

TEST_CASE("a decimal number is read exactly, however it is written") {
  CHECK(exact("518", 6) == 518'000'000);
  CHECK(exact("518.025", 6) == 518'025'000);
  CHECK(exact("518.000001", 6) == 518'000'001);
  CHECK(exact("5.18025e2", 6) == 518'025'000);
  CHECK(exact("518025E-3", 6) == 518'025'000);
  CHECK(exact("518.0250000000000000000000", 6) == 518'025'000);
  CHECK(exact("0.1", 2) == 10);
  CHECK(exact("-0.29", 2) == -29);
  CHECK(exact("-0", 2) == 0);
  CHECK(exact("0e999999999999", 2) == 0);
  CHECK(exact("100e-2", 0) == 1);
}

TEST_CASE("a number finer than its step is not rounded in silence") {
  CHECK(std::holds_alternative<TooFine>(scaled("518.0000001", 6)));
  CHECK(std::holds_alternative<TooFine>(scaled("0.005", 2)));
  CHECK(std::holds_alternative<TooFine>(scaled("1e-999999999999999999999", 6)));
}

TEST_CASE("a number that fits nowhere is too large, not something else") {
  CHECK(std::holds_alternative<TooLarge>(scaled("1000000000000000000", 6)));
  CHECK(std::holds_alternative<TooLarge>(scaled("1e999999999999999999999", 0)));
  CHECK(std::holds_alternative<TooLarge>(scaled("-123456789012345678901", 0)));
}

TEST_CASE("numbers are written back without needless zeros") {
  CHECK(decimal_text(518'025'000, 6) == "518.025");
  CHECK(decimal_text(25'000, 3) == "25");
  CHECK(decimal_text(-5, 2) == "-0.05");
  CHECK(decimal_text(0, 6) == "0");
  CHECK(decimal_text(7, 0) == "7");
}

const Value* member(const Value& object, std::string_view key) {
  const Member* found = object.find(key);
  return found != nullptr ? &found->value : nullptr;
}

// RFC 8259 has no NUL, and the parser below takes one for the end.
TEST_CASE("what follows a NUL is not left unread") {
  using namespace std::string_literals;
  for (const auto& text : {"{}\n\0"s, "{\n\0}"s, "\n\0{}"s, "{}\n\0 // more"s}) {
    Problems problems;
    CHECK_FALSE(parse(text, "rack.json", problems));
    REQUIRE(problems.size() == 1);
    CHECK(to_text(problems.front()) ==
          "rack.json:2: this is not JSON: there is a NUL in it; allowed: text");
  }
}

TEST_CASE("every value knows its line, past comments and line ends of every kind") {
  Problems problems;
  const auto root = parse(
      "// one\n{\n  \"a\": 1\n,\n /* four\n and five */ \"b\": [\n 2.5\n, \"x\"],"
      "\r\n\"c\": null}\n",
      "f", problems);
  REQUIRE(root);
  CHECK(problems.empty());
  CHECK(root->line == 2);
  CHECK(member(*root, "a")->line == 3);
  CHECK(root->find("b")->line == 6);
  CHECK(member(*root, "b")->items.at(0).line == 7);
  CHECK(member(*root, "b")->items.at(1).line == 8);
  CHECK(member(*root, "c")->line == 9);
}

TEST_CASE("a number keeps its digits and a key may hold anything") {
  Problems problems;
  const auto root = parse(R"({"a/b~c": 518.0000001, "": 7})", "f", problems);
  REQUIRE(root);
  CHECK(member(*root, "a/b~c")->text == "518.0000001");
  const std::string file = "f";
  const Cursor at{*root, file, problems};
  at.member_if_any("a/b~c").megahertz(rf::Frequency::hertz(1), rf::Frequency::kilohertz(6'000'000));
  REQUIRE(problems.size() == 1);
  // RFC 6901, section 3: "~" is written "~0" and "/" is written "~1".
  CHECK(problems[0].pointer == "/a~1b~0c");
}

TEST_CASE("sixteen levels may be nested and seventeen may not") {
  Problems problems;
  CHECK(parse(std::string(16, '[') + std::string(16, ']'), "f", problems));
  CHECK(problems.empty());
  CHECK_FALSE(parse(std::string(17, '[') + std::string(17, ']'), "f", problems));
  REQUIRE(problems.size() == 1);
  CHECK(problems[0].pointer == "/0/0/0/0/0/0/0/0/0/0/0/0/0/0/0");
}

TEST_CASE("an empty file, or one that only comments, is not JSON") {
  for (const char* text : {"", "   \n", "// nothing\n", "/* nothing */"}) {
    Problems problems;
    CHECK_FALSE(parse(text, "f", problems));
    CHECK(problems.size() == 1);
  }
}

TEST_CASE("the name that was probably meant is found, and nothing when none is near") {
  const std::vector<std::string> known{"pontoon-bow", "pontoon-stern", "quay-east"};
  CHECK(nearest("pontoon-bwo", known) == "pontoon-bow");
  CHECK(nearest("ponton-stern", known) == "pontoon-stern");
  CHECK(nearest("quay-west", known) == "quay-east");
  CHECK(nearest("crane", known).empty());
  CHECK(nearest("", known).empty());
}

TEST_CASE("a long list of names is cut with the number of the rest") {
  std::vector<std::string> names;
  for (int i = 0; i < 15; ++i) names.push_back(std::to_string(i));
  CHECK(listed(names) ==
        R"("0", "1", "2", "3", "4", "5", "6", "7", "8", "9", "10", "11" and 3 more)");
  CHECK(listed({"a", "b"}) == R"("a" or "b")");
  CHECK(listed({"a", "b", "c"}, "and") == R"("a", "b" and "c")");
}

TEST_CASE("a long value is cut between two characters, not within one") {
  const std::string text = std::string(79, 'x') + "\xC3\xA9" + std::string(20, 'y');
  CHECK(in_quotes(text) == "\"" + std::string(79, 'x') + "…\"");
}

TEST_CASE("a cursor that stands nowhere gives nothing and says nothing") {
  const Cursor nowhere;
  CHECK_FALSE(nowhere.name());
  CHECK_FALSE(nowhere.integer(0, 1));
  CHECK_FALSE(nowhere.uid());
  CHECK(nowhere.elements(1, 2).empty());
  CHECK(nowhere.members(5).empty());
  nowhere.report("is never said", "");
  const Object object{nowhere, {"a"}, {}};
  CHECK_FALSE(object["a"].present());
}

}  // namespace
}  // namespace catwalk::config
