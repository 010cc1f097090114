// SPDX-License-Identifier: Apache-2.0
// The shipped datasheets against the emulated nodes, which know their limits by themselves: what
// the rack believes of a type is what a node of that type does.

#include <doctest/doctest.h>

#include <fstream>
#include <sstream>

#include "config/datasheet_file.hpp"
#include "config/matrix_file.hpp"
#include "drivers/node/node_type.hpp"

namespace catwalk::config {
namespace {

template <class Read>
auto shipped(const std::string& type, Problems& problems, Read read) {
  const std::string path = CATWALK_SOURCE_DIR "/config/datasheets/" + type + ".json";
  std::ifstream file{path, std::ios::binary};
  REQUIRE_MESSAGE(file.good(), path);
  std::ostringstream text;
  text << file.rdbuf();
  const auto root = parse(text.str(), path, problems);
  REQUIRE(root);
  return read(Cursor{*root, path, problems});
}

void compare(const drivers::AmplifierType& node, const plan::Datasheet& sheet) {
  CHECK(sheet.gains.lowest.centidecibels() == node.lowest_gain);
  CHECK(sheet.gains.highest.centidecibels() == node.highest_gain);
  CHECK(sheet.gains.step.centidecibels() == node.gain_step);
  REQUIRE(sheet.filters.size() == node.filters.size());
  for (std::size_t i = 0; i < node.filters.size(); ++i) {
    CAPTURE(i);
    const plan::Filter& filter = sheet.filters[i];
    REQUIRE(filter.tuning.has_value() == (node.filters[i].centre_step != 0));
    if (!filter.tuning) continue;
    CHECK(filter.tuning->lowest.hertz() == node.filters[i].lowest_centre);
    CHECK(filter.tuning->highest.hertz() == node.filters[i].highest_centre);
    CHECK(filter.tuning->step.hertz() == node.filters[i].centre_step);
  }
}

void compare(const drivers::MatrixType& node, const plan::MatrixSheet& sheet) {
  CHECK(sheet.inputs == node.inputs);
  CHECK(sheet.outputs == node.outputs);
  CHECK(sheet.most_summed() == node.most_summed);
  CHECK(sheet.measures_current == node.measures_current);
  CHECK(sheet.measures_level == node.measures_level);
  REQUIRE(sheet.trims.has_value() == (node.trim_step != 0));
  if (sheet.trims) {
    CHECK(sheet.trims->lowest.centidecibels() == node.lowest_trim);
    CHECK(sheet.trims->highest.centidecibels() == node.highest_trim);
    CHECK(sheet.trims->step.centidecibels() == node.trim_step);
  }
  REQUIRE(sheet.supply.has_value() == !node.supplies_mv.empty());
  if (sheet.supply) {
    CHECK(sheet.supply->millivolts == node.supplies_mv);
    CHECK(sheet.supply->most_ma == node.most_ma);
  }
}

TEST_CASE("each emulated type has a shipped datasheet that says what it can do") {
  REQUIRE(drivers::built_in_types().size() == 5);
  for (const drivers::NodeType& node : drivers::built_in_types()) {
    CAPTURE(node.name);
    Problems problems;
    if (const auto* matrix = std::get_if<drivers::MatrixType>(&node.can)) {
      const auto sheet = shipped(node.name, problems, read_matrix_sheet);
      REQUIRE(sheet);
      CHECK(sheet->type == node.name);
      compare(*matrix, *sheet);
    } else {
      const auto sheet = shipped(node.name, problems, read_datasheet);
      REQUIRE(sheet);
      CHECK(sheet->type == node.name);
      compare(std::get<drivers::AmplifierType>(node.can), *sheet);
    }
    CHECK(problems.empty());
  }
}

}  // namespace
}  // namespace catwalk::config
