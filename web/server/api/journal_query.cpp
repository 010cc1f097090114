// SPDX-License-Identifier: Apache-2.0
#include "web/server/api/journal_query.hpp"

#include <optional>
#include <string>

#include "web/server/http/input.hpp"
#include "web/server/http/rfc3339.hpp"

namespace catwalk::web {
namespace {

constexpr std::size_t longest_text = 200;  // bytes

// Reads one parameter after the other, and keeps every complaint.
class Query {
 public:
  Query(const HttpRequest& request, const plan::TimeZone& zone, rack::TimePoint now)
      : request_{request}, zone_{zone}, now_{now} {}

  const std::string* given(const std::string& name) {
    known_.push_back(name);
    const auto found = request_.query.find(name);
    return found == request_.query.end() ? nullptr : &found->second;
  }
  void complain(const std::string& name, const std::string& value, const std::string& allowed) {
    complaints_.push_back({"query/" + name, value, allowed,
                           name + " is \"" + value + "\"; allowed is " + allowed + "."});
  }
  std::optional<std::string> text(const std::string& name, std::size_t longest) {
    const auto* value = given(name);
    if (value == nullptr) return std::nullopt;
    if (!value->empty() && value->size() <= longest) return *value;
    complain(name, value->substr(0, 80), "text of 1 to " + std::to_string(longest) + " bytes");
    return std::nullopt;
  }
  std::optional<std::uint64_t> number(const std::string& name, std::uint64_t most,
                                      const std::string& allowed) {
    const auto* value = given(name);
    if (value == nullptr) return std::nullopt;
    const auto number = parse_whole(*value);
    if (number && *number >= 1 && *number <= most) return number;
    complain(name, *value, allowed);
    return std::nullopt;
  }
  std::optional<rack::TimePoint> time(const std::string& name) {
    const auto* value = given(name);
    if (value == nullptr) return std::nullopt;
    const auto time = parse_time(*value, zone_, now_);
    if (!time)
      complain(
          name, *value,
          "a time such as 2026-08-14T20:15:00Z (RFC 3339), or 19:00 or 2026-08-14 19:00 by the "
          "clock of " +
              zone_.name);
    return time;
  }
  void check_order(const std::optional<rack::TimePoint>& from,
                   const std::optional<rack::TimePoint>& to) {
    if (from && to && *to <= *from)
      complain("to", *given("to"), "a time after from, " + *given("from"));
  }
  std::vector<BadValue> finish() {
    auto unknown = unknown_parameters(request_, known_);
    complaints_.insert(complaints_.end(), unknown.begin(), unknown.end());
    return std::move(complaints_);
  }

 private:
  const HttpRequest& request_;
  const plan::TimeZone& zone_;
  rack::TimePoint now_;
  std::vector<std::string> known_;
  std::vector<BadValue> complaints_;
};

std::optional<std::string> read_kind(Query& query) {
  const auto* value = query.given("kind");
  if (value == nullptr) return std::nullopt;
  if (named<rack::JournalKind>(*value)) return *value;
  std::string kinds;
  for (const auto& [word, kind] : words_of(rack::JournalKind{}))
    kinds += (kinds.empty() ? "" : ", ") + std::string{word};
  query.complain("kind", *value, "one of " + kinds);
  return std::nullopt;
}

}  // namespace

JournalAsk read_journal_query(const HttpRequest& request, const plan::TimeZone& zone,
                              rack::TimePoint now, std::uint64_t most) {
  constexpr std::uint64_t highest = 9'000'000'000'000'000'000U;
  Query query{request, zone, now};
  JournalAsk ask;
  if (const auto* node = query.given("node")) ask.query.node = *node;
  ask.query.kind = read_kind(query);
  ask.query.who = query.text("who", longest_name);
  ask.query.segment = query.text("segment", longest_name);
  ask.query.text = query.text("text", longest_text);
  ask.query.change = query.number("change", highest, "a whole number from 1");
  ask.query.from = query.time("from");
  ask.query.to = query.time("to");
  query.check_order(ask.query.from, ask.query.to);
  ask.query.before = query.number("before", highest, "a whole number from 1");
  if (const auto limit =
          query.number("limit", most, "a whole number from 1 to " + std::to_string(most)))
    ask.query.limit = static_cast<std::size_t>(*limit);
  ask.complaints = query.finish();
  return ask;
}

TimeAsk read_time_query(const HttpRequest& request, const plan::TimeZone& zone,
                        rack::TimePoint now) {
  Query query{request, zone, now};
  const auto from = query.time("from");
  const auto to = query.time("to");
  query.check_order(from, to);
  if (from && !to && now <= *from && request.query.contains("from"))
    query.complain("from", request.query.at("from"),
                   "a time that is over already, or a to as well");
  TimeAsk ask;
  ask.to = to.value_or(now);
  ask.from = from.value_or(ask.to - std::chrono::hours{24});
  ask.complaints = query.finish();
  return ask;
}

}  // namespace catwalk::web
