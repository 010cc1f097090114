// SPDX-License-Identifier: Apache-2.0
#pragma once
// Lines of the text format of Prometheus, version 0.0.4.

#include <string>
#include <string_view>

namespace catwalk::web {

// The head of a family, before its samples.
void family(std::string& text, const std::string& name, std::string_view type,
            std::string_view help);

// `name="value"`. Names of nodes and lines need no escape today (config::is_name); whatever stands
// in a value stays in it.
std::string label(std::string_view name, std::string_view value);

// `labels`: of label(), with commas between; empty: none.
void sample(std::string& text, const std::string& name, const std::string& labels, double value);

}  // namespace catwalk::web
