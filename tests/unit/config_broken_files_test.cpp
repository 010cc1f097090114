// SPDX-License-Identifier: Apache-2.0
// Every way in which a file can be wrong that we could think of, with everything that is said of
// it.

#include "tests/unit/config/broken_files.hpp"

namespace catwalk::config {
namespace {

TEST_CASE("every broken file of the table is refused with exactly its errors") {
  check_broken_files("broken_files.json", 200, base_files());
}

TEST_CASE("text that is not UTF-8 is refused, and shown without its broken bytes") {
  Files files = base_files();
  edit(files, "rack.json", "\"jetty\"", "\"jet\xC3ty\"");
  CHECK(texts_of(load_text(files, "rack.json").problems) ==
        std::vector<std::string>{"rack.json:3: this is not JSON: invalid string: ill-formed UTF-8 "
                                 "byte; last read: '\"jet\xEF\xBF\xBDt'"});
}

TEST_CASE("a file of more than 4 MiB is refused unread") {
  Files files = base_files();
  files["show.json"] = std::string(4 * 1024 * 1024 + 1, ' ');
  CHECK(
      texts_of(load_text(files, "rack.json").problems) ==
      std::vector<std::string>{"show.json: the file has 4194305 bytes; allowed: at most 4194304"});
}

TEST_CASE("a file of more values than any show has is refused before it fills the memory") {
  Files files = base_files();
  std::string list = "[0";
  for (int i = 0; i < 500'000; ++i) list += ",0";
  files["show.json"] = list + "]";
  CHECK(texts_of(load_text(files, "rack.json").problems) ==
        std::vector<std::string>{"show.json:1: the file has more than 500000 values"});
}

TEST_CASE("after a thousand problems the rest is left out, which is said") {
  Files files = base_files();
  std::string members;
  for (int i = 0; i < 2'000; ++i) members += "\"member" + std::to_string(i) + "\": 1, ";
  edit(files, "show.json", "\"name\": \"regatta\",", members + "\"name\": \"regatta\",");
  const Loaded loaded = load_text(files, "rack.json");
  REQUIRE(loaded.problems.size() == 1'000);
  CHECK_FALSE(loaded.rack.has_value());
  CHECK(to_text(loaded.problems.back()) == "show.json: there are more problems than these");
}

TEST_CASE("what a file contains cannot move the cursor of a terminal") {
  Files files = base_files();
  edit(files, "rack.json", "\"name\": \"jetty\"", "\"\\u001b[2J\": 1, \"name\": \"jetty\"");
  const auto texts = texts_of(load_text(files, "rack.json").problems);
  REQUIRE(texts.size() == 1);
  CHECK(texts[0].rfind("rack.json:3: /\\u001b[2J: \"\\u001b[2J\" is not a member here; ", 0) == 0);
}

}  // namespace
}  // namespace catwalk::config
