// SPDX-License-Identifier: Apache-2.0
#pragma once
// The manual pages of the three programs, out of the tables that their --help is made of.

#include <string>
#include <string_view>

namespace catwalk::papers {

// Of this version, as of this day.
struct Edition {
  std::string version;  // "0.1.0"
  std::string date;     // "2026-11-30"
};

std::string page_of_catwalk(const Edition& edition);       // catwalk(1)
std::string page_of_catwalkd(const Edition& edition);      // catwalkd(8)
std::string page_of_catwalk_node(const Edition& edition);  // catwalk-node(1)

}  // namespace catwalk::papers
