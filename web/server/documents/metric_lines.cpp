// SPDX-License-Identifier: Apache-2.0
#include "web/server/documents/metric_lines.hpp"

#include <array>
#include <cstdio>
#include <utility>

namespace catwalk::web {
namespace {

std::string_view without(std::string_view name, std::string_view end) {
  return name.ends_with(end) ? name.substr(0, name.size() - end.size()) : name;
}

// The older format knows no infos: a gauge that is 1 stands for one.
std::string_view name_of(MetricLines::Type type, MetricFormat format) {
  using enum MetricLines::Type;
  switch (type) {
    case counter:
      return "counter";
    case histogram:
      return "histogram";
    case info:
      return format == MetricFormat::open_metrics ? "info" : "gauge";
    case gauge:
      break;
  }
  return "gauge";
}

}  // namespace

void MetricLines::family(std::string_view name, Type type, std::string_view help) {
  if (format_ == MetricFormat::open_metrics && type == Type::counter)
    name = without(name, "_total");
  if (format_ == MetricFormat::open_metrics && type == Type::info) name = without(name, "_info");
  text_.append("# HELP ").append(name).append(" ").append(help);
  text_.append("\n# TYPE ").append(name).append(" ").append(name_of(type, format_)).append("\n");
}

void MetricLines::sample(std::string_view name, std::string_view labels, double value) {
  std::array<char, 40> number{};
  std::snprintf(number.data(), number.size(), " %.15g\n", value);
  text_ += name;
  if (!labels.empty()) text_.append("{").append(labels).append("}");
  text_ += number.data();
}

void MetricLines::single(std::string_view name, Type type, std::string_view help, double value) {
  family(name, type, help);
  sample(name, {}, value);
}

std::string MetricLines::finish() {
  if (format_ == MetricFormat::open_metrics) text_ += "# EOF\n";
  return std::move(text_);
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

}  // namespace catwalk::web
