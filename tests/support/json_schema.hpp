// SPDX-License-Identifier: Apache-2.0
#pragma once
// The part of JSON Schema (draft 2020-12) that our OpenAPI document uses, for holding answers
// against it. A keyword that is not understood throws, so that none is passed over in silence.

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

namespace catwalk::test {

class JsonSchema {
 public:
  // `document` holds what $ref points into, and must outlive this.
  explicit JsonSchema(const nlohmann::json& document) : document_{document} {}

  // Everything in `value` that does not fit, each with its place; empty: it fits.
  std::vector<std::string> faults(const nlohmann::json& schema, const nlohmann::json& value) const;
  // Follows a $ref, if there is one.
  const nlohmann::json& resolved(const nlohmann::json& schema) const;

 private:
  void check(const nlohmann::json& schema, const nlohmann::json& value, const std::string& place,
             std::vector<std::string>& faults) const;

  const nlohmann::json& document_;
};

}  // namespace catwalk::test
