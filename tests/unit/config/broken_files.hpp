// SPDX-License-Identifier: Apache-2.0
#pragma once
// A table of files that are wrong in one way, held against what is said of each.

#include <nlohmann/json.hpp>

#include "tests/unit/config/files.hpp"

namespace catwalk::config {

// `good`: the files that the edits of the table begin with.
inline void check_broken_files(const std::string& table_name, std::size_t fewest,
                               const Files& good) {
  const auto table = nlohmann::json::parse(
      read_whole(CATWALK_SOURCE_DIR "/tests/unit/config/" + table_name), nullptr, true,
      /*ignore_comments=*/true);
  REQUIRE(table.size() >= fewest);
  for (const auto& broken : table) {
    CAPTURE(broken.at("name").get<std::string>());
    Files files = good;
    for (const auto& each : broken.at("edits"))
      edit(files, broken.at("file"), each.at("find"), each.at("with"));
    const Loaded loaded = load_text(files, "rack.json");
    const auto expected = broken.at("errors").get<std::vector<std::string>>();
    REQUIRE(!expected.empty());
    CHECK_FALSE(loaded.rack.has_value());
    CHECK(texts_of(loaded.problems) == expected);
  }
}

}  // namespace catwalk::config
