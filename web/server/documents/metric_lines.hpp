// SPDX-License-Identifier: Apache-2.0
#pragma once
// Lines of the text format of Prometheus, version 0.0.4, or of OpenMetrics, version 1.0.0.

#include <string>
#include <string_view>

namespace catwalk::web {

enum class MetricFormat { prometheus, open_metrics };

class MetricLines {
 public:
  enum class Type { counter, gauge, histogram, info };

  explicit MetricLines(MetricFormat format) : format_{format} {}

  // The head of a family, before its samples. `name` as samples have it: counters end in "_total",
  // infos in "_info", which OpenMetrics leaves out of the family's name.
  void family(std::string_view name, Type type, std::string_view help);
  // `labels`: of label(), with commas between; empty: none.
  void sample(std::string_view name, std::string_view labels, double value);
  // A family of one sample.
  void single(std::string_view name, Type type, std::string_view help, double value);
  std::string finish();

 private:
  MetricFormat format_;
  std::string text_;
};

// `name="value"`. Names of nodes and lines need no escape today (config::is_name); whatever stands
// in a value stays in it.
std::string label(std::string_view name, std::string_view value);

}  // namespace catwalk::web
