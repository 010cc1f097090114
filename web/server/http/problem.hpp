// SPDX-License-Identifier: Apache-2.0
#pragma once
// Errors as RFC 9457 problem details: a stable type, a sentence, and what was wrong with which
// value.

#include <chrono>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "web/server/http/http.hpp"

namespace catwalk::web {

// One bad value: where it stood, what it was, what is allowed there.
struct BadValue {
  std::string pointer;  // JSON Pointer into the body, or "query/limit", "header/If-Match"
  std::string value;    // as it was given
  std::string allowed;
  std::string sentence;
  friend bool operator==(const BadValue&, const BadValue&) = default;
};

// `type` is the last part of "/problems/<type>", as listed in the OpenAPI document.
HttpResponse problem(int status, const std::string& type, const std::string& detail);
// One that may be gone after so long, with Retry-After: RFC 9110, section 10.2.3.
HttpResponse passing_problem(int status, const std::string& type, const std::string& detail,
                             std::chrono::seconds retry_after);
// One that says more: `members` stand behind those that every problem has.
HttpResponse problem_with(int status, const std::string& type, const std::string& detail,
                          const nlohmann::ordered_json& members);
// Names every bad value; the first one's members stand at the top too.
HttpResponse bad_values(const std::vector<BadValue>& values, int status = 422);

}  // namespace catwalk::web
