// SPDX-License-Identifier: Apache-2.0
#pragma once
// The manual page of a kind of file, out of its JSON schema: every member with its type, what is
// allowed, and what it is for.

#include <nlohmann/json.hpp>
#include <string>

#include "daemon/papers/program_pages.hpp"

namespace catwalk::papers {

using Schema = nlohmann::ordered_json;

// catwalk-`kind`(5). `what`: in a few words.
std::string page_of_file(const Schema& schema, const std::string& kind, const std::string& what,
                         const Edition& edition);

}  // namespace catwalk::papers
