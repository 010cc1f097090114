// SPDX-License-Identifier: Apache-2.0
#include "config/reader.hpp"

#include <algorithm>
#include <cassert>
#include <charconv>
#include <cmath>

#include "config/exact_number.hpp"
#include "config/pointer.hpp"
#include "daemon/base/text.hpp"

namespace catwalk::config {
namespace {

constexpr std::string_view name_rule = "1 to 32 of a-z, 0-9 and \"-\"";
constexpr std::string_view uid_rule =
    "four hexadecimal digits, \"-\" and eight more, such as \"7a10-0000002f\", "
    "neither all 0 nor all f";

std::string with_unit(const std::string& text, std::string_view unit) {
  return unit.empty() ? text : text + " " + std::string{unit};
}

std::string plain(double number) {
  std::array<char, 32> buffer{};
  const auto end =
      std::to_chars(buffer.data(), buffer.data() + buffer.size(), number, std::chars_format::fixed);
  return {buffer.data(), end.ptr};
}

}  // namespace

bool is_name(std::string_view text) {
  const auto fits = [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-';
  };
  return !text.empty() && text.size() <= 32 && std::ranges::all_of(text, fits);
}

void Cursor::add(std::size_t line, std::string value, std::string message,
                 std::string allowed) const {
  if (!present()) return;
  config::add(*problems_, {.file = *file_,
                           .line = line,
                           .pointer = pointer_,
                           .value = std::move(value),
                           .message = std::move(message),
                           .allowed = std::move(allowed)});
}

void Cursor::report(std::string message, std::string allowed) const {
  if (present()) add(line(), shown(*value_), std::move(message), std::move(allowed));
}

void Cursor::report_about(std::string message, std::string allowed) const {
  add(line(), "", std::move(message), std::move(allowed));
}

void Cursor::report_kind(std::string_view expected, std::string allowed) const {
  report("is not " + std::string{expected}, std::move(allowed));
}

std::optional<std::string> Cursor::name() const {
  if (!present()) return std::nullopt;
  if (value_->kind == Value::Kind::text && is_name(value_->text)) return value_->text;
  report_kind("a name", std::string{name_rule});
  return std::nullopt;
}

std::optional<std::string> Cursor::text(std::size_t shortest, std::size_t longest) const {
  if (!present()) return std::nullopt;
  const std::string allowed = "text of " + std::to_string(shortest) + " to " +
                              std::to_string(longest) +
                              " bytes without control or format characters";
  const std::string& content = value_->text;
  if (value_->kind != Value::Kind::text) {
    report_kind("a text", allowed);
  } else if (content.size() < shortest) {
    report("is too short", allowed);
  } else if (content.size() > longest) {
    report("is too long, " + std::to_string(content.size()) + " bytes", allowed);
  } else if (!is_plain_text(content)) {
    report("has control or format characters", allowed);
  } else {
    return content;
  }
  return std::nullopt;
}

std::optional<bool> Cursor::boolean() const {
  if (!present()) return std::nullopt;
  if (value_->kind == Value::Kind::boolean) return value_->truth;
  report("is neither true nor false", "true or false");
  return std::nullopt;
}

std::optional<std::int64_t> Cursor::exactly(std::int64_t lowest, std::int64_t highest, int places,
                                            std::string_view unit, std::string_view step) const {
  if (!present()) return std::nullopt;
  std::string allowed =
      with_unit(decimal_text(lowest, places) + " to " + decimal_text(highest, places), unit);
  if (!step.empty()) allowed += " in steps of " + std::string{step};
  if (value_->kind != Value::Kind::number) {
    report_kind("a number", allowed);
    return std::nullopt;
  }
  const Scaled number = scaled(value_->text, places);
  if (std::holds_alternative<TooFine>(number)) {
    report(step.empty() ? "is not a whole number" : "is finer than " + std::string{step}, allowed);
    return std::nullopt;
  }
  const std::int64_t* exact = std::get_if<std::int64_t>(&number);
  if (exact == nullptr || *exact < lowest || *exact > highest) {
    report("is out of range", allowed);
    return std::nullopt;
  }
  return *exact;
}

std::optional<std::int64_t> Cursor::integer(std::int64_t lowest, std::int64_t highest,
                                            std::string_view unit) const {
  return exactly(lowest, highest, 0, unit, "");
}

std::optional<std::int64_t> Cursor::integer_among(std::span<const std::int64_t> choices,
                                                  std::string_view what,
                                                  std::string_view unit) const {
  if (!present()) return std::nullopt;
  if (value_->kind == Value::Kind::number) {
    const Scaled number = scaled(value_->text, 0);
    const auto* exact = std::get_if<std::int64_t>(&number);
    if (exact != nullptr && std::ranges::find(choices, *exact) != choices.end()) return *exact;
  }
  std::string allowed;
  for (std::size_t i = 0; i < choices.size(); ++i) {
    if (i > 0) allowed += i + 1 == choices.size() ? " or " : ", ";
    allowed += std::to_string(choices[i]);
  }
  report_kind(what, with_unit(allowed, unit));
  return std::nullopt;
}

std::optional<double> Cursor::real(double lowest, double highest, std::string_view unit) const {
  if (!present()) return std::nullopt;
  const std::string allowed = with_unit(plain(lowest) + " to " + plain(highest), unit);
  if (value_->kind != Value::Kind::number) {
    report_kind("a number", allowed);
    return std::nullopt;
  }
  double number = 0.0;
  const std::string& digits = value_->text;
  const auto read = std::from_chars(digits.data(), digits.data() + digits.size(), number);
  // Too small for a double is as good as zero; the parser has refused what is too large.
  if (read.ec == std::errc::result_out_of_range) number = 0.0;
  if (number < lowest || number > highest) {
    report("is out of range", allowed);
    return std::nullopt;
  }
  return number;
}

std::optional<rf::Frequency> Cursor::megahertz(rf::Frequency lowest, rf::Frequency highest) const {
  const auto hertz = exactly(lowest.hertz(), highest.hertz(), 6, "MHz", "1 Hz");
  return hertz ? std::optional{rf::Frequency::hertz(*hertz)} : std::nullopt;
}

std::optional<rf::Frequency> Cursor::kilohertz(rf::Frequency lowest, rf::Frequency highest) const {
  const auto hertz = exactly(lowest.hertz(), highest.hertz(), 3, "kHz", "1 Hz");
  return hertz ? std::optional{rf::Frequency::hertz(*hertz)} : std::nullopt;
}

std::optional<rf::Gain> Cursor::decibels(rf::Gain lowest, rf::Gain highest) const {
  const auto steps = exactly(lowest.centidecibels(), highest.centidecibels(), 2, "dB", "0.01 dB");
  return steps ? std::optional{rf::Gain::centidecibels(static_cast<std::int32_t>(*steps))}
               : std::nullopt;
}

std::optional<NodeUid> Cursor::uid() const {
  if (!present()) return std::nullopt;
  const auto uid =
      value_->kind == Value::Kind::text ? NodeUid::parse(value_->text) : std::optional<NodeUid>{};
  if (uid && *uid != NodeUid{} && *uid != NodeUid::everyone()) return uid;
  report_kind("a node's unique id", std::string{uid_rule});
  return std::nullopt;
}

std::optional<std::size_t> Cursor::index_of(const std::vector<std::string>& names) const {
  if (!present()) return std::nullopt;
  if (value_->kind == Value::Kind::text) {
    const auto found = std::ranges::find(names, value_->text);
    if (found != names.end()) return static_cast<std::size_t>(found - names.begin());
    if (const std::string meant = nearest(value_->text, names); !meant.empty()) {
      report("is not a choice here, did you mean " + in_quotes(meant) + "?", listed(names));
      return std::nullopt;
    }
  }
  report("is not a choice here", listed(names));
  return std::nullopt;
}

std::vector<Cursor> Cursor::elements(std::size_t fewest, std::size_t most) const {
  if (!present()) return {};
  const std::string allowed =
      "a list of " + std::to_string(fewest) + " to " + std::to_string(most) + " entries";
  if (value_->kind != Value::Kind::array) {
    report_kind("a list", allowed);
    return {};
  }
  const std::size_t count = value_->items.size();
  if (count < fewest || count > most) {
    report_about("has " + std::to_string(count) + (count == 1 ? " entry" : " entries"), allowed);
    return {};
  }
  std::vector<Cursor> cursors;
  cursors.reserve(count);
  for (std::size_t i = 0; i < count; ++i) cursors.push_back(element(value_->items[i], i));
  return cursors;
}

std::vector<std::pair<std::string, Cursor>> Cursor::members(std::size_t most) const {
  if (!present()) return {};
  const std::string allowed = "an object of at most " + std::to_string(most) + " members";
  if (value_->kind != Value::Kind::object) {
    report_kind("an object", allowed);
    return {};
  }
  if (value_->members.size() > most) {
    report_about("has " + std::to_string(value_->members.size()) + " members", allowed);
    return {};
  }
  std::vector<std::pair<std::string, Cursor>> cursors;
  cursors.reserve(value_->members.size());
  for (const Member& each : value_->members) cursors.emplace_back(each.key, member(each));
  return cursors;
}

Cursor Cursor::member_if_any(std::string_view key) const {
  const Member* found = is_object() ? value_->find(key) : nullptr;
  return found == nullptr ? Cursor{} : member(*found);
}

std::string Cursor::written_text() const {
  return present() && value_->kind == Value::Kind::text ? value_->text : std::string{};
}

std::vector<std::string> Cursor::keys() const {
  std::vector<std::string> keys;
  if (is_object())
    for (const Member& each : value_->members) keys.push_back(each.key);
  return keys;
}

Cursor Cursor::member(const Member& member) const {
  Cursor cursor{member.value, *file_, *problems_};
  cursor.pointer_ = pointer_ + "/" + escaped(member.key);
  return cursor;
}

Cursor Cursor::element(const Value& element, std::size_t index) const {
  Cursor cursor{element, *file_, *problems_};
  cursor.pointer_ = pointer_ + "/" + std::to_string(index);
  return cursor;
}

Object::Object(const Cursor& at, const std::vector<std::string>& required,
               const std::vector<std::string>& optional)
    : at_{at}, known_{required} {
  known_.insert(known_.end(), optional.begin(), optional.end());
  if (!at_.present()) return;
  if (!at_.is_object()) {
    at_.report_kind("an object", "an object with the members " +
                                     (required.empty() ? listed(known_) : listed(required, "and")));
    at_ = Cursor{};
    return;
  }
  for (const std::string& key : required)
    if (at_.value_->find(key) == nullptr)
      at_.report_about(in_quotes(key) + " is missing",
                       "an object with the members " + listed(required, "and"));
  for (const Member& member : at_.value_->members) {
    if (std::ranges::find(known_, member.key) != known_.end()) continue;
    const std::string meant = nearest(member.key, known_);
    at_.member(member).add(member.line, in_quotes(member.key),
                           meant.empty()
                               ? "is not a member here"
                               : "is not a member here, did you mean " + in_quotes(meant) + "?",
                           listed(known_));
  }
}

Cursor Object::operator[](std::string_view key) const {
  assert(std::ranges::find(known_, key) != known_.end());
  return at_.member_if_any(key);
}

bool known_or_reported(const Cursor& at, const std::string& name, std::string_view what,
                       const std::vector<std::string>& known, bool incomplete) {
  if (std::ranges::find(known, name) != known.end()) return true;
  if (incomplete) return false;
  std::string message = "is not the name of " + std::string{what};
  if (const std::string meant = nearest(name, known); !meant.empty())
    message += ", did you mean " + in_quotes(meant) + "?";
  at.report(std::move(message), listed(known));
  return false;
}

bool key_known_or_reported(const Cursor& at, const std::string& key, std::string_view what,
                           const std::vector<std::string>& known, bool incomplete) {
  if (std::ranges::find(known, key) != known.end()) return true;
  if (incomplete) return false;
  const std::string meant = nearest(key, known);
  at.report_about(in_quotes(key) + " is not the name of " + std::string{what} +
                      (meant.empty() ? "" : ", did you mean " + in_quotes(meant) + "?"),
                  listed(known));
  return false;
}

}  // namespace catwalk::config
