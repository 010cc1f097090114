// SPDX-License-Identifier: Apache-2.0
#pragma once
// Reading values out of a file, and reporting what is wrong on the way without stopping at it.
//
// A Cursor is one value: where it stands and what stands there. Asked for a name, a frequency, a
// list …, it gives that, or reports a Problem and gives nothing. A cursor that stands nowhere
// (a member that is absent) gives nothing and reports nothing, since its absence has been reported
// already or is allowed. Nothing here throws on account of a file's content.

#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <type_traits>
#include <utility>
#include <vector>

#include "config/problem.hpp"
#include "config/value.hpp"
#include "daemon/base/uid.hpp"
#include "daemon/base/words.hpp"
#include "daemon/rf/units.hpp"

namespace catwalk::config {

// 1 to 32 of a-z, 0-9 and "-".
bool is_name(std::string_view text);

class Cursor {
 public:
  Cursor() = default;  // stands nowhere
  // `value`, `file` and `problems` outlive the cursor.
  // The file's name is kept by reference: a temporary one would be gone.
  Cursor(const Value& value, std::string&& file, Problems& problems) = delete;
  Cursor(const Value& value, const std::string& file, Problems& problems)
      : value_{&value}, file_{&file}, problems_{&problems} {}

  bool present() const { return value_ != nullptr; }
  bool is_array() const { return present() && value_->kind == Value::Kind::array; }
  bool is_object() const { return present() && value_->kind == Value::Kind::object; }
  std::size_t line() const { return value_ != nullptr ? value_->line : 0; }
  const std::string& pointer() const { return pointer_; }
  // Of the whole load so far: more of them than before means that something has been reported.
  std::size_t problems() const { return problems_ != nullptr ? problems_->size() : 0; }

  // For members that decide how the rest is read. Stands nowhere if there is no such member.
  Cursor member_if_any(std::string_view key) const;
  // Of a text its content, unchecked; else empty. Reports nothing.
  std::string written_text() const;
  std::vector<std::string> keys() const;  // of an object; none of anything else

  // A problem with this very value. Does nothing if the cursor stands nowhere.
  void report(std::string message, std::string allowed) const;
  // A problem with something about it, so that its value is not quoted.
  void report_about(std::string message, std::string allowed) const;

  std::optional<std::string> name() const;
  // `shortest` to `longest` bytes of UTF-8 without control or format characters.
  std::optional<std::string> text(std::size_t shortest, std::size_t longest) const;
  std::optional<bool> boolean() const;
  std::optional<std::int64_t> integer(std::int64_t lowest, std::int64_t highest,
                                      std::string_view unit = "") const;
  // One of a few; `what` is "a serial speed".
  std::optional<std::int64_t> integer_among(std::span<const std::int64_t> choices,
                                            std::string_view what, std::string_view unit) const;
  // A physical quantity that is not set on anything, so that a double will do.
  std::optional<double> real(double lowest, double highest, std::string_view unit) const;
  // Exact to 1 Hz.
  std::optional<rf::Frequency> megahertz(rf::Frequency lowest, rf::Frequency highest) const;
  std::optional<rf::Frequency> kilohertz(rf::Frequency lowest, rf::Frequency highest) const;
  // Exact to 0.01 dB.
  std::optional<rf::Gain> decibels(rf::Gain lowest, rf::Gain highest) const;
  // "7a10-0000002f": 48 bits; neither all zeros nor all ones.
  std::optional<NodeUid> uid() const;

  // Which of these words it is.
  std::optional<std::size_t> index_of(const std::vector<std::string>& words) const;
  template <HasWords Choice>
  std::optional<Choice> one_of() const {
    std::vector<std::string> names;
    for (const auto& choice : words_of(Choice{})) names.emplace_back(choice.first);
    const std::optional<std::size_t> chosen = index_of(names);
    return chosen ? std::optional{static_cast<Choice>(*chosen)} : std::nullopt;
  }

  // The elements of an array; none if it is not one or has too few or too many.
  std::vector<Cursor> elements(std::size_t fewest, std::size_t most) const;
  // What `read` makes of each of them, but for those of which it makes nothing.
  template <class Read>
  auto elements(std::size_t fewest, std::size_t most, Read read) const {
    std::vector<typename std::invoke_result_t<Read, const Cursor&>::value_type> made;
    for (const Cursor& element : elements(fewest, most))
      if (auto one = read(element)) made.push_back(std::move(*one));
    return made;
  }
  // The members of an object whose keys are names that the file chose; none if it is not one.
  std::vector<std::pair<std::string, Cursor>> members(std::size_t most) const;

 private:
  friend class Object;

  Cursor member(const Member& member) const;
  Cursor element(const Value& element, std::size_t index) const;
  std::optional<std::int64_t> exactly(std::int64_t lowest, std::int64_t highest, int places,
                                      std::string_view unit, std::string_view step) const;
  // Says that the value is not what it should be.
  void report_kind(std::string_view expected, std::string allowed) const;
  void add(std::size_t line, std::string value, std::string message, std::string allowed) const;

  const Value* value_ = nullptr;
  const std::string* file_ = nullptr;
  Problems* problems_ = nullptr;
  std::string pointer_;
};

// An object whose members are known beforehand. Building it reports members that are missing and
// those that nobody knows, with the one that was probably meant.
class Object {
 public:
  Object(const Cursor& at, const std::vector<std::string>& required,
         const std::vector<std::string>& optional);

  // Stands nowhere if the member is absent. Precondition: `key` was named to the constructor.
  Cursor operator[](std::string_view key) const;
  const Cursor& at() const { return at_; }

 private:
  Cursor at_;
  std::vector<std::string> known_;
};

// Refuses what was there before: names, addresses, identities.
template <class Key>
class Once {
 public:
  // True if the key is new; otherwise reported at the cursor.
  bool add(const Key& key, const Cursor& at) {
    const auto [found, is_new] = lines_.emplace(key, at.line());
    if (!is_new)
      at.report("is already used on line " + std::to_string(found->second), "each only once");
    return is_new;
  }

 private:
  std::map<Key, std::size_t> lines_;
};

template <class Map>
std::vector<std::string> keys_of(const Map& map) {
  std::vector<std::string> keys;
  for (const auto& [key, value] : map) keys.push_back(key);
  return keys;
}

// Whether `name` is among `known`; if not, it is reported with the nearest and the list. `what` is
// "a node". If the list is known to be incomplete, a name beyond it is not reported.
bool known_or_reported(const Cursor& at, const std::string& name, std::string_view what,
                       const std::vector<std::string>& known, bool incomplete = false);
// The same of the key under which the member `at` stands.
bool key_known_or_reported(const Cursor& at, const std::string& key, std::string_view what,
                           const std::vector<std::string>& known, bool incomplete);

}  // namespace catwalk::config
