// SPDX-License-Identifier: Apache-2.0
#pragma once
// Paths of the API as the OpenAPI document has them, with names in their places.

#include <map>
#include <string>

namespace catwalk::test {

// "/nodes/{node}/settings" with {"node", "left"}: "/nodes/left/settings".
inline std::string with_names(std::string path, const std::map<std::string, std::string>& names) {
  for (const auto& [place, name] : names) {
    const auto mark = '{' + place + '}';
    if (const auto at = path.find(mark); at != std::string::npos)
      path.replace(at, mark.size(), name);
  }
  return path;
}

}  // namespace catwalk::test
