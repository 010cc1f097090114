// SPDX-License-Identifier: Apache-2.0
// The shipped datasheets against the emulated nodes, which know their limits by themselves: what
// the rack believes of a type is what a node of that type does.

#include <doctest/doctest.h>

#include <fstream>
#include <sstream>

#include "config/datasheet_file.hpp"
#include "drivers/node/node_type.hpp"

namespace catwalk::config {
namespace {

std::optional<plan::Datasheet> shipped(const std::string& type, Problems& problems) {
  const std::string path = CATWALK_SOURCE_DIR "/config/datasheets/" + type + ".json";
  std::ifstream file{path, std::ios::binary};
  REQUIRE_MESSAGE(file.good(), path);
  std::ostringstream text;
  text << file.rdbuf();
  const auto root = parse(text.str(), path, problems);
  REQUIRE(root);
  return read_datasheet({*root, path, problems});
}

TEST_CASE("each emulated type has a shipped datasheet with the same gains, filters and centres") {
  REQUIRE(drivers::built_in_types().size() == 3);
  for (const drivers::NodeType& node : drivers::built_in_types()) {
    CAPTURE(node.name);
    Problems problems;
    const auto sheet = shipped(node.name, problems);
    CHECK(problems.empty());
    REQUIRE(sheet);
    CHECK(sheet->type == node.name);
    CHECK(sheet->gains.lowest.centidecibels() == node.lowest_gain);
    CHECK(sheet->gains.highest.centidecibels() == node.highest_gain);
    CHECK(sheet->gains.step.centidecibels() == node.gain_step);
    REQUIRE(sheet->filters.size() == node.filters.size());
    for (std::size_t i = 0; i < node.filters.size(); ++i) {
      CAPTURE(i);
      const plan::Filter& filter = sheet->filters[i];
      REQUIRE(filter.tuning.has_value() == (node.filters[i].centre_step != 0));
      if (!filter.tuning) continue;
      CHECK(filter.tuning->lowest.hertz() == node.filters[i].lowest_centre);
      CHECK(filter.tuning->highest.hertz() == node.filters[i].highest_centre);
      CHECK(filter.tuning->step.hertz() == node.filters[i].centre_step);
    }
  }
}

}  // namespace
}  // namespace catwalk::config
