// SPDX-License-Identifier: Apache-2.0
#pragma once
// Tables for people.

#include <string>
#include <string_view>
#include <vector>

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

// Columns on a terminal: characters, not bytes.
std::size_t width_of(std::string_view utf8);

// The text in lines of at most `columns`, each after the first behind `indent`; ends with a line
// break. A word that is longer stands alone.
std::string wrapped(std::string_view text, std::size_t columns, const std::string& indent);

}  // namespace catwalk::cli
