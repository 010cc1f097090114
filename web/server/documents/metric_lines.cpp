// SPDX-License-Identifier: Apache-2.0
#include "web/server/documents/metric_lines.hpp"

#include <array>
#include <cstdio>

namespace catwalk::web {

void family(std::string& text, const std::string& name, std::string_view type,
            std::string_view help) {
  text.append("# HELP ").append(name).append(" ").append(help);
  text.append("\n# TYPE ").append(name).append(" ").append(type).append("\n");
}

std::string label(std::string_view name, std::string_view value) {
  std::string text{name};
  text += "=\"";
  for (const char c : value) {
    if (c == '\n') {
      text += "\\n";
      continue;
    }
    if (c == '\\' || c == '"') text += '\\';
    text += c;
  }
  return text + '"';
}

void sample(std::string& text, const std::string& name, const std::string& labels, double value) {
  std::array<char, 40> number{};
  std::snprintf(number.data(), number.size(), " %.15g\n", value);
  text += name;
  if (!labels.empty()) text.append("{").append(labels).append("}");
  text += number.data();
}

}  // namespace catwalk::web
