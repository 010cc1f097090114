// SPDX-License-Identifier: Apache-2.0
#include "web/server/http/accept.hpp"

#include <algorithm>
#include <charconv>
#include <string>

#include "web/server/http/http.hpp"

namespace catwalk::web {
namespace {

struct Range {
  std::string_view type;
  double weight = 1;
};

// Calls `take` with each range of the list, in lower case; parameters other than q do not matter
// for what we have.
template <class Take>
void for_each_range(std::string_view accept, Take take) {
  const auto list = lower_case(accept);
  std::string_view rest = list;
  while (!rest.empty()) {
    const auto comma = std::min(rest.find(','), rest.size());
    auto element = rest.substr(0, comma);
    rest.remove_prefix(std::min(comma + 1, rest.size()));
    Range range{trimmed(element.substr(0, element.find(';')))};
    for (auto at = element.find(';'); at != std::string_view::npos; at = element.find(';')) {
      element.remove_prefix(at + 1);
      const auto parameter = trimmed(element.substr(0, element.find(';')));
      if (!parameter.starts_with("q=")) continue;
      // A weight that is none counts as nothing.
      range.weight = 0;
      std::from_chars(parameter.data() + 2, parameter.data() + parameter.size(), range.weight);
      range.weight = std::clamp(range.weight, 0.0, 1.0);
    }
    if (!range.type.empty()) take(range);
  }
}

}  // namespace

double weight_of(std::string_view accept, std::string_view type) {
  if (trimmed(accept).empty()) return 1;
  const auto slash = type.find('/');
  int closest = -1;
  double weight = 0;
  for_each_range(accept, [&](const Range& range) {
    const bool of_kind =
        range.type.ends_with("/*") && range.type.substr(0, slash + 1) == type.substr(0, slash + 1);
    const int close = range.type == type ? 2 : of_kind ? 1 : range.type == "*/*" ? 0 : -1;
    if (close < 0 || close < closest) return;
    // The same range twice, with other parameters: the one that wants it more.
    weight = close == closest ? std::max(weight, range.weight) : range.weight;
    closest = close;
  });
  return weight;
}

bool names_type(std::string_view accept, std::string_view type) {
  bool named = false;
  for_each_range(accept, [&](const Range& range) { named = named || range.type == type; });
  return named;
}

}  // namespace catwalk::web
