// SPDX-License-Identifier: Apache-2.0
#include "tests/support/json_schema.hpp"

#include <algorithm>
#include <regex>
#include <set>
#include <stdexcept>

namespace catwalk::test {
namespace {

using Json = nlohmann::json;

bool is_of(const Json& value, const std::string& type) {
  if (type == "object") return value.is_object();
  if (type == "array") return value.is_array();
  if (type == "string") return value.is_string();
  if (type == "boolean") return value.is_boolean();
  if (type == "null") return value.is_null();
  if (type == "number") return value.is_number();
  if (type == "integer") return value.is_number_integer();
  throw std::invalid_argument{"no such type: " + type};
}

// RFC 3339, section 5.6, as far as we write it: UTC with a Z.
bool is_date_time(const std::string& text) {
  static const std::regex form{R"(\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z)"};
  return std::regex_match(text, form);
}

// Characters, as JSON Schema counts them.
std::size_t length_of(const std::string& utf8) {
  return static_cast<std::size_t>(
      std::ranges::count_if(utf8, [](char c) { return (c & 0xC0) != 0x80; }));
}

void refuse_unknown_keywords(const Json& schema) {
  static const std::set<std::string> known{
      "$ref",       "type",      "properties", "required",    "additionalProperties",
      "items",      "enum",      "anyOf",      "minimum",     "maximum",
      "minLength",  "maxLength", "minItems",   "maxItems",    "pattern",
      "format",     "default",   "writeOnly",  "description", "propertyNames",
      "uniqueItems"};
  for (const auto& [keyword, ignored] : schema.items())
    if (!known.contains(keyword)) throw std::invalid_argument{"keyword not understood: " + keyword};
}

}  // namespace

const Json& JsonSchema::resolved(const Json& schema) const {
  const auto found = schema.find("$ref");
  if (found == schema.end()) return schema;
  const auto reference = found->get<std::string>();
  if (!reference.starts_with("#/")) throw std::invalid_argument{"not understood: " + reference};
  return resolved(document_.at(Json::json_pointer{reference.substr(1)}));
}

std::vector<std::string> JsonSchema::faults(const Json& schema, const Json& value) const {
  std::vector<std::string> found;
  check(schema, value, "", found);
  return found;
}

void JsonSchema::check(const Json& given, const Json& value, const std::string& place,
                       std::vector<std::string>& faults) const {
  const auto& schema = resolved(given);
  refuse_unknown_keywords(schema);
  const auto fault = [&](const std::string& what) {
    faults.push_back((place.empty() ? "/" : place) + ": " + what + ": " + value.dump());
  };
  if (schema.contains("type") && !is_of(value, schema["type"]))
    return fault("is no " + schema["type"].get<std::string>());
  if (schema.contains("enum") && std::ranges::find(schema["enum"], value) == schema["enum"].end())
    fault("is not one of " + schema["enum"].dump());
  if (schema.contains("anyOf") && std::ranges::none_of(schema["anyOf"], [&](const Json& one) {
        return this->faults(one, value).empty();
      }))
    fault("fits none of the choices");

  if (value.is_number()) {
    const auto number = value.get<double>();
    if (schema.contains("minimum") && number < schema["minimum"].get<double>()) fault("too low");
    if (schema.contains("maximum") && number > schema["maximum"].get<double>()) fault("too high");
  }
  if (value.is_string()) {
    const auto text = value.get<std::string>();
    if (length_of(text) < schema.value("minLength", std::size_t{0})) fault("too short");
    if (length_of(text) > schema.value("maxLength", text.size())) fault("too long");
    if (schema.contains("pattern") &&
        !std::regex_search(text, std::regex{schema["pattern"].get<std::string>()}))
      fault("does not match");
    if (schema.value("format", "") == "date-time" && !is_date_time(text)) fault("is no date-time");
  }
  if (value.is_array()) {
    if (value.size() < schema.value("minItems", std::size_t{0})) fault("too few items");
    if (value.size() > schema.value("maxItems", value.size())) fault("too many items");
    if (schema.value("uniqueItems", false) &&
        std::set<Json>{value.begin(), value.end()}.size() != value.size())
      fault("has an item twice");
    if (schema.contains("items"))
      for (std::size_t i = 0; i < value.size(); ++i)
        check(schema["items"], value[i], place + '/' + std::to_string(i), faults);
  }
  if (!value.is_object()) return;
  const auto properties = schema.value("properties", Json::object());
  for (const auto& name : schema.value("required", Json::array()))
    if (!value.contains(name.get<std::string>())) fault("lacks " + name.get<std::string>());
  const auto others = schema.value("additionalProperties", Json(true));
  for (const auto& [name, member] : value.items()) {
    auto inside = place;
    inside.append("/").append(name);
    if (schema.contains("propertyNames")) check(schema["propertyNames"], name, inside, faults);
    if (properties.contains(name))
      check(properties[name], member, inside, faults);
    else if (others.is_object())
      check(others, member, inside, faults);
    else if (!others.get<bool>())
      fault("has a member that is not described, " + name);
  }
}

}  // namespace catwalk::test
