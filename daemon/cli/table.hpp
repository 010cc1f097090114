// SPDX-License-Identifier: Apache-2.0
#pragma once
// Tables for people.

#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/option_info.hpp"

namespace catwalk::cli {

struct Column {
  std::string title;
  bool right = false;  // numbers stand on the right
};

class Table {
 public:
  explicit Table(std::vector<Column> columns) : columns_{std::move(columns)} {}
  // `stress`: bold on a terminal. One cell a column.
  void add(std::vector<std::string> cells, bool stress = false);
  // Two spaces between columns, none at the end of a line. `colour`: the terminal understands it.
  std::string text(bool colour) const;

 private:
  struct Row {
    std::vector<std::string> cells;
    bool stress = false;
  };
  std::vector<Column> columns_;
  std::vector<Row> rows_;
};

using catwalk::width_of;
using catwalk::wrapped;

}  // namespace catwalk::cli
