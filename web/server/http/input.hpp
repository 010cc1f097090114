// SPDX-License-Identifier: Apache-2.0
#pragma once
// What people send, made into values or into a list of everything that is wrong with it.

#include <cstdint>
#include <functional>
#include <map>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "daemon/plan/datasheet.hpp"
#include "daemon/plan/settings.hpp"
#include "daemon/rack/core/event.hpp"
#include "web/server/http/http.hpp"
#include "web/server/http/problem.hpp"

namespace catwalk::web {

// Bodies deeper than this are refused before anything is built from them.
constexpr int deepest_body = 8;
constexpr std::size_t longest_name = 64;  // bytes; of a node, a segment, a person

// A JSON object, read member by member. Every complaint is kept; members that nobody asked for are
// complained of by finish().
class Body {
 public:
  // An empty body is an empty object.
  explicit Body(const std::string& text);

  std::optional<std::string> text(const std::string& name, std::size_t longest);
  // Text that says something.
  std::optional<std::string> reason(const std::string& name);
  std::optional<bool> boolean(const std::string& name);
  // `allowed`: what complaints say instead, where more is known.
  std::optional<std::int64_t> whole(const std::string& name, std::int64_t lowest,
                                    std::int64_t highest, const std::string& allowed = {});
  // dB, exact to 0.01, within what fits the wire: -327.68 to +327.67. `allowed`: what complaints
  // say instead, where more is known.
  std::optional<rf::Gain> decibels(const std::string& name, const std::string& allowed = {});
  // MHz, exact to 1 Hz, 0 to 4294.967295.
  std::optional<rf::Frequency> megahertz(const std::string& name, const std::string& allowed = {});
  std::optional<rack::Waiver> waiver(const std::string& name);
  // A member that is an object itself: `read` reads it like a body of its own.
  void object(const std::string& name, const std::function<void(Body&)>& read);
  // The same of one whose members mean nothing without it: sentences say "routes of 3". `allowed`:
  // what else than an object is told.
  void object_of(const std::string& name, const std::string& allowed,
                 const std::function<void(Body&)>& read);
  // An object whose members are numbers of this unit, whatever they are called.
  std::map<std::string, double> numbers(const std::string& name, const std::string& unit);
  // True, or a list of names; false is an empty list.
  struct Names {
    bool all = false;
    std::vector<std::string> list;
  };
  Names names_or_true(const std::string& name, const std::string& whose);
  // A list of names; absent: an empty one.
  std::vector<std::string> names(const std::string& name, const std::string& whose);
  // A list of whole numbers from 1; absent: an empty one.
  std::vector<std::uint64_t> numbers_from_one(const std::string& name);
  // A list of whole numbers from 1 to this, each once, in any order: rising.
  std::optional<std::vector<std::size_t>> numbers_up_to(const std::string& name, std::size_t most);
  void require(const std::string& name, bool present, const std::string& allowed);

  // All complaints, in the order of reading; empty: the body is good.
  std::vector<BadValue> finish();

 private:
  const nlohmann::json* take(const std::string& name);
  void take_object(const std::string& name, Body& inner, const std::string& allowed,
                   const std::function<void(Body&)>& read);
  void complain(const std::string& name, const nlohmann::json& value, const std::string& allowed);
  std::optional<std::string> plain(const std::string& name, const nlohmann::json& value);

  std::string within_;  // pointer to this object, from the whole body
  std::string of_;      // what its members are of, in sentences; empty: nothing is said
  nlohmann::json json_ = nlohmann::json::object();
  std::vector<std::string> taken_;
  std::vector<BadValue> complaints_;
};

// The integer that `value` × `scale` is, if it is one to within the rounding of a double.
std::optional<std::int64_t> exact(double value, double scale, double lowest, double highest);
// What of `query` is not among `known`.
std::vector<BadValue> unknown_parameters(const HttpRequest& request,
                                         const std::vector<std::string>& known);

// If-Match: RFC 9110, section 13.1.1. Revisions in quotes, any of which will do, or "*": whatever
// there is. Tags are compared strongly, so that a weak one (W/"3") never does. A complaint for
// anything else.
struct IfMatch {
  std::vector<std::uint64_t> revisions = {};  // empty: any, or not given
  bool only_weak = false;                     // there are tags, and none can ever do
  std::optional<BadValue> complaint = {};

  // What a change has to meet, where this is the present one: that if it will do, else one that it
  // then does not meet. Nothing: any.
  std::optional<std::uint64_t> revision(std::optional<std::uint64_t> present) const;
};
IfMatch read_if_match(const HttpRequest& request);

// A name as a part of a JSON Pointer: RFC 6901, section 3.
std::string pointer_part(std::string name);

// A decimal number with nothing around it.
std::optional<std::uint64_t> parse_whole(std::string_view text);

}  // namespace catwalk::web
