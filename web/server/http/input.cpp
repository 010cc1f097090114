// SPDX-License-Identifier: Apache-2.0
#include "web/server/http/input.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <set>

#include "daemon/base/text.hpp"

namespace catwalk::web {
namespace {

constexpr std::size_t longest_reason = 500;  // bytes

std::string shown(const nlohmann::json& value) {
  auto text = value.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
  if (text.size() > 80) text = text.substr(0, 77) + "...";
  return with_escapes(text);
}

bool only_white(const std::string& text) {
  return text.find_first_not_of(" \t\r\n") == std::string::npos;
}

}  // namespace

std::optional<std::int64_t> exact(double value, double scale, double lowest, double highest) {
  const double scaled = value * scale;
  if (!(scaled >= lowest && scaled <= highest)) return std::nullopt;
  const double rounded = std::round(scaled);
  if (std::abs(scaled - rounded) > 1e-4) return std::nullopt;
  return static_cast<std::int64_t>(rounded);
}

Body::Body(const std::string& text) {
  if (only_white(text)) return;
  // The parser takes a NUL for the end, and would leave what follows unread; RFC 8259 has none.
  if (const auto nul = text.find('\0'); nul != std::string::npos) {
    complaints_.push_back(
        {"", "byte " + std::to_string(nul + 1), "a JSON object",
         "The body is not JSON: there is a NUL at byte " + std::to_string(nul + 1) + "."});
    return;
  }
  bool too_deep = false;
  std::optional<std::string> twice;
  std::array<std::set<std::string>, deepest_body + 2> keys;  // of the object open at each depth
  using Event = nlohmann::json::parse_event_t;
  const auto watch = [&](int depth, Event event, nlohmann::json& value) {
    too_deep = too_deep || depth > deepest_body;
    if (too_deep) return false;
    const auto level = static_cast<std::size_t>(depth);
    if (event == Event::object_start) keys[level + 1].clear();
    if (event == Event::key && !keys[level].insert(value.get<std::string>()).second)
      twice = value.get<std::string>();
    return true;
  };
  try {
    json_ = nlohmann::json::parse(text, watch);
  } catch (const nlohmann::json::out_of_range&) {
    complaints_.push_back({"", "a number beyond 1.8e308", "numbers that a double can hold",
                           "A number in the body is too large to be read."});
    json_ = nlohmann::json::object();
    return;
  } catch (const nlohmann::json::parse_error& error) {
    complaints_.push_back(
        {"", "byte " + std::to_string(error.byte), "a JSON object",
         "The body is not JSON: it cannot be read at byte " + std::to_string(error.byte) + "."});
    json_ = nlohmann::json::object();
    return;
  }
  if (twice) {
    complaints_.push_back({'/' + *twice, *twice, "each member once",
                           "The body has the member \"" + *twice + "\" more than once."});
    json_ = nlohmann::json::object();
  } else if (too_deep) {
    complaints_.push_back({"", "deeper than " + std::to_string(deepest_body) + " levels",
                           "at most " + std::to_string(deepest_body) + " levels",
                           "The body is nested too deeply."});
    json_ = nlohmann::json::object();
  } else if (!json_.is_object()) {
    complaints_.push_back({"", shown(json_), "a JSON object", "The body is not a JSON object."});
    json_ = nlohmann::json::object();
  }
}

const nlohmann::json* Body::take(const std::string& name) {
  taken_.push_back(name);
  const auto found = json_.find(name);
  return found == json_.end() ? nullptr : &*found;
}

void Body::complain(const std::string& name, const nlohmann::json& value,
                    const std::string& allowed) {
  complaints_.push_back({within_ + '/' + name, shown(value), allowed,
                         (of_.empty() ? "" : of_ + " of ") + name + " is " + shown(value) +
                             "; allowed is " + allowed + "."});
}

std::optional<std::string> Body::text(const std::string& name, std::size_t longest) {
  const auto* value = take(name);
  if (value == nullptr) return std::nullopt;
  if (value->is_string() && value->get_ref<const std::string&>().size() <= longest)
    return plain(name, *value);
  complain(name, *value, "text of at most " + std::to_string(longest) + " bytes");
  return std::nullopt;
}

std::optional<std::string> Body::reason(const std::string& name) {
  const auto* value = take(name);
  if (value == nullptr) return std::nullopt;
  if (value->is_string()) {
    const auto& said = value->get_ref<const std::string&>();
    if (said.size() <= longest_reason && !only_white(said)) return plain(name, *value);
  }
  complain(name, *value, "text of 1 to " + std::to_string(longest_reason) + " bytes, not blank");
  return std::nullopt;
}

// Precondition: it is a text.
std::optional<std::string> Body::plain(const std::string& name, const nlohmann::json& value) {
  const auto& said = value.get_ref<const std::string&>();
  if (is_plain_text(said)) return said;
  complain(name, value, "text without control or format characters");
  return std::nullopt;
}

std::optional<bool> Body::boolean(const std::string& name) {
  const auto* value = take(name);
  if (value == nullptr) return std::nullopt;
  if (value->is_boolean()) return value->get<bool>();
  complain(name, *value, "true or false");
  return std::nullopt;
}

std::optional<std::int64_t> Body::whole(const std::string& name, std::int64_t lowest,
                                        std::int64_t highest, const std::string& allowed) {
  const auto* value = take(name);
  if (value == nullptr) return std::nullopt;
  if (value->is_number_integer()) {
    const auto number = value->get<std::int64_t>();
    if (number >= lowest && number <= highest) return number;
  }
  complain(name, *value,
           allowed.empty()
               ? "a whole number from " + std::to_string(lowest) + " to " + std::to_string(highest)
               : allowed);
  return std::nullopt;
}

std::optional<rf::Gain> Body::decibels(const std::string& name, const std::string& allowed) {
  const auto* value = take(name);
  if (value == nullptr) return std::nullopt;
  if (value->is_number())
    if (const auto exactly = exact(value->get<double>(), 100.0, -32768.0, 32767.0))
      return rf::Gain::centidecibels(static_cast<std::int32_t>(*exactly));
  complain(name, *value,
           allowed.empty() ? "a number of dB from -327.68 to 327.67 in steps of 0.01" : allowed);
  return std::nullopt;
}

std::optional<rf::Frequency> Body::megahertz(const std::string& name, const std::string& allowed) {
  const auto* value = take(name);
  if (value == nullptr) return std::nullopt;
  if (value->is_number())
    if (const auto exactly = exact(value->get<double>(), 1e6, 0.0, 4'294'967'295.0))
      return rf::Frequency::hertz(*exactly);
  complain(
      name, *value,
      allowed.empty() ? "a number of MHz from 0 to 4294.967295 in steps of 0.000001" : allowed);
  return std::nullopt;
}

std::optional<rack::Waiver> Body::waiver(const std::string& name) {
  const auto* value = take(name);
  if (value == nullptr) return std::nullopt;
  const auto part = [&](const char* member) {
    const auto found = value->find(member);
    if (found == value->end() || !found->is_string()) return std::string{};
    const auto& text = found->get_ref<const std::string&>();
    const bool good = !only_white(text) && text.size() <= longest_reason && is_plain_text(text);
    return good ? text : std::string{};
  };
  if (value->is_object() && value->size() == 2) {
    rack::Waiver waiver{part("who"), part("reason")};
    if (!waiver.who.empty() && !waiver.reason.empty()) return waiver;
  }
  complain(name, *value,
           R"(an object {"who": a name, "reason": a sentence}, neither empty, both without )"
           "control or format characters");
  return std::nullopt;
}

void Body::object(const std::string& name, const std::function<void(Body&)>& read) {
  Body inner{std::string{}};
  take_object(name, inner, "an object", read);
}

void Body::object_of(const std::string& name, const std::string& allowed,
                     const std::function<void(Body&)>& read) {
  Body inner{std::string{}};
  inner.of_ = name;
  take_object(name, inner, allowed, read);
}

void Body::take_object(const std::string& name, Body& inner, const std::string& allowed,
                       const std::function<void(Body&)>& read) {
  const auto* value = take(name);
  if (value == nullptr) return;
  if (!value->is_object()) return complain(name, *value, allowed);
  inner.within_ = within_ + '/' + name;
  inner.json_ = *value;
  read(inner);
  std::ranges::move(inner.finish(), std::back_inserter(complaints_));
}

std::map<std::string, double> Body::numbers(const std::string& name, const std::string& unit) {
  std::map<std::string, double> numbers;
  const auto allowed = "a number of " + unit;
  const auto* value = take(name);
  if (value == nullptr) return numbers;
  if (!value->is_object()) {
    complain(name, *value, "an object whose members are each " + allowed);
    return numbers;
  }
  for (const auto& [member, number] : value->items()) {
    if (number.is_number())
      numbers[member] = number.get<double>();
    else
      complaints_.push_back(
          {within_ + '/' + name + '/' + pointer_part(member), shown(number), allowed,
           name + " of " + member + " is " + shown(number) + "; allowed is " + allowed + "."});
  }
  return numbers;
}

Body::Names Body::names_or_true(const std::string& name, const std::string& whose) {
  const auto* value = take(name);
  if (value == nullptr) return {};
  const auto is_text = [](const nlohmann::json& element) { return element.is_string(); };
  if (value->is_boolean()) return {value->get<bool>(), {}};
  if (value->is_array() && std::ranges::all_of(*value, is_text))
    return {false, value->get<std::vector<std::string>>()};
  complain(name, *value, "true, or a list of names of " + whose);
  return {};
}

std::vector<std::string> Body::names(const std::string& name, const std::string& whose) {
  const auto* value = take(name);
  if (value == nullptr) return {};
  if (value->is_array() && std::ranges::all_of(*value, &nlohmann::json::is_string))
    return value->get<std::vector<std::string>>();
  complain(name, *value, "a list of names of " + whose);
  return {};
}

std::vector<std::uint64_t> Body::numbers_from_one(const std::string& name) {
  const auto* value = take(name);
  if (value == nullptr) return {};
  const auto is_number = [](const nlohmann::json& element) {
    return element.is_number_unsigned() && element.get<std::uint64_t>() > 0;
  };
  if (value->is_array() && std::ranges::all_of(*value, is_number))
    return value->get<std::vector<std::uint64_t>>();
  complain(name, *value, "a list of whole numbers from 1");
  return {};
}

std::optional<std::vector<std::size_t>> Body::numbers_up_to(const std::string& name,
                                                            std::size_t most) {
  const auto* value = take(name);
  if (value == nullptr) return std::nullopt;
  std::set<std::size_t> numbers;
  const auto belongs = [&](const nlohmann::json& element) {
    return element.is_number_unsigned() && element.get<std::uint64_t>() >= 1 &&
           element.get<std::uint64_t>() <= most &&
           numbers.insert(element.get<std::size_t>()).second;
  };
  if (value->is_array() && std::ranges::all_of(*value, belongs))
    return std::vector(numbers.begin(), numbers.end());
  complain(name, *value,
           "a list of whole numbers from 1 to " + std::to_string(most) + ", each once");
  return std::nullopt;
}

void Body::require(const std::string& name, bool present, const std::string& allowed) {
  if (present || json_.contains(name)) return;  // present but bad: complained of already
  if (!complaints_.empty() && complaints_.front().pointer.empty()) return;  // not JSON at all
  complaints_.push_back({within_ + '/' + name, "(missing)", allowed,
                         name + " is missing; needed is " + allowed + "."});
}

std::vector<BadValue> Body::finish() {
  std::string known;
  for (const auto& name : taken_) known += (known.empty() ? "" : ", ") + name;
  for (const auto& [name, value] : json_.items()) {
    if (std::ranges::find(taken_, name) != taken_.end()) continue;
    complaints_.push_back(
        {within_ + '/' + pointer_part(name), shown(value), known.empty() ? "no members" : known,
         "There is no member \"" + name + "\" " + (of_.empty() ? "here" : "in " + of_) +
             "; known are: " + (known.empty() ? "none" : known) + "."});
  }
  return std::move(complaints_);
}

std::vector<BadValue> unknown_parameters(const HttpRequest& request,
                                         const std::vector<std::string>& known) {
  std::string list;
  for (const auto& name : known) list += (list.empty() ? "" : ", ") + name;
  if (list.empty()) list = "none";
  std::vector<BadValue> complaints;
  for (const auto& [name, value] : request.query)
    if (std::ranges::find(known, name) == known.end())
      complaints.push_back(
          {"query/" + name, value, list,
           "There is no query parameter \"" + name + "\" here; known are: " + list + "."});
  return complaints;
}

std::string pointer_part(std::string name) {
  for (std::size_t at = 0; (at = name.find_first_of("~/", at)) != std::string::npos; at += 2)
    name.replace(at, 1, name[at] == '~' ? "~0" : "~1");
  return name;
}

std::optional<std::uint64_t> parse_whole(std::string_view text) {
  std::uint64_t value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (text.empty() || error != std::errc{} || end != text.data() + text.size()) return std::nullopt;
  return value;
}

std::optional<std::uint64_t> IfMatch::revision(std::optional<std::uint64_t> present) const {
  if (revisions.empty()) return std::nullopt;
  const bool met = present && std::ranges::find(revisions, *present) != revisions.end();
  return met ? *present : revisions.front();
}

namespace {

// RFC 9110, section 8.8.3: W/ and a tag in quotes, none of them within.
bool is_weak_tag(std::string_view tag) {
  if (!tag.starts_with("W/\"") || !tag.ends_with('"') || tag.size() < 4) return false;
  return tag.substr(3, tag.size() - 4).find('"') == std::string_view::npos;
}

}  // namespace

IfMatch read_if_match(const HttpRequest& request) {
  IfMatch match;
  if (!request.has_header("if-match")) return match;
  const auto given = request.header("if-match");
  if (given == "*") return match;
  bool good = true;
  bool weak = false;
  for (auto rest = given; good && !rest.empty();) {
    const auto comma = std::min(rest.find(','), rest.size());
    const auto tag = trimmed(rest.substr(0, comma));
    rest.remove_prefix(std::min(comma + 1, rest.size()));
    if (tag.empty()) continue;  // RFC 9110, section 5.6.1.2
    if (is_weak_tag(tag)) {
      weak = true;
      continue;
    }
    const bool quoted = tag.size() > 2 && tag.front() == '"' && tag.back() == '"';
    const auto revision = quoted ? parse_whole(tag.substr(1, tag.size() - 2)) : std::nullopt;
    good = revision.has_value();
    if (revision) match.revisions.push_back(*revision);
  }
  match.only_weak = good && weak && match.revisions.empty();
  good = good && (weak || !match.revisions.empty());
  if (good) return match;
  const std::string allowed =
      R"(the ETag of the settings, a revision in quotes such as "3", several of them, or *)";
  match.complaint = BadValue{"header/If-Match", std::string{given}, allowed,
                             "If-Match is " + std::string{given} + "; allowed is " + allowed + "."};
  return match;
}

}  // namespace catwalk::web
