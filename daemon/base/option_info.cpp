// SPDX-License-Identifier: Apache-2.0
#include "daemon/base/option_info.hpp"

#include <algorithm>

namespace catwalk {

std::string usage_of(const OptionInfo& option) {
  return std::string{option.name} + (option.value.empty() ? "" : " ") + std::string{option.value};
}

std::size_t width_of(std::string_view utf8) {
  return static_cast<std::size_t>(
      std::ranges::count_if(utf8, [](char c) { return (c & 0xC0) != 0x80; }));
}

std::string wrapped(std::string_view text, std::size_t columns, const std::string& indent) {
  std::string result;
  std::size_t used = 0;
  while (!text.empty()) {
    const auto end = std::min(text.find(' '), text.size());
    const auto word = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    const auto width = width_of(word);
    if (used > 0 && used + 1 + width > columns) {
      result += '\n' + indent;
      used = indent.size();
    } else if (used > 0) {
      result += ' ';
      ++used;
    }
    result += word;
    used += width;
  }
  return result + '\n';
}

std::string help_row(const OptionInfo& option, std::size_t at) {
  constexpr std::size_t columns = 100;
  const std::string indent(at, ' ');
  auto row = "  " + usage_of(option);
  const auto width = width_of(row);
  row += width + 2 <= at ? std::string(at - width, ' ') : '\n' + indent;
  // The first line begins at `at`, as the others do.
  const auto text = wrapped(option.help, columns - at, "");
  for (const char c : text) row += c == '\n' ? "\n" + indent : std::string{c};
  row.erase(row.find_last_not_of(' ') + 1);
  return row;
}

}  // namespace catwalk
