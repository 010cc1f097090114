// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/table.hpp"

#include <algorithm>

namespace catwalk::cli {

void Table::add(std::vector<std::string> cells, bool stress) {
  cells.resize(columns_.size());
  rows_.push_back({std::move(cells), stress});
}

std::string Table::text(bool colour) const {
  std::vector<std::size_t> widths;
  for (std::size_t i = 0; i < columns_.size(); ++i) {
    auto width = width_of(columns_[i].title);
    for (const auto& row : rows_) width = std::max(width, width_of(row.cells[i]));
    widths.push_back(width);
  }
  const auto line = [&](const std::vector<std::string>& cells) {
    std::string text;
    for (std::size_t i = 0; i < cells.size(); ++i) {
      const std::string space(widths[i] - width_of(cells[i]), ' ');
      if (i > 0) text += "  ";
      text += columns_[i].right ? space + cells[i] : cells[i] + space;
    }
    text.erase(text.find_last_not_of(' ') + 1);
    return text;
  };
  std::vector<std::string> titles;
  for (const auto& column : columns_) titles.push_back(column.title);
  std::string text = line(titles) + '\n';
  for (const auto& row : rows_) {
    const auto plain = line(row.cells);
    text += colour && row.stress ? "\x1b[1m" + plain + "\x1b[0m\n" : plain + '\n';
  }
  return text;
}

}  // namespace catwalk::cli
