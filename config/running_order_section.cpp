// SPDX-License-Identifier: Apache-2.0
#include "config/running_order_section.hpp"

#include <algorithm>
#include <map>

#include "config/clock_text.hpp"
#include "config/zone_database.hpp"

namespace catwalk::config {
namespace {

using plan::AfterRestart;
using plan::SecondTrigger;
using std::chrono::seconds;

constexpr std::size_t most_cues = 256;
constexpr std::size_t longest_zone = 64;
constexpr std::size_t longest_message = 64;
constexpr std::int64_t day_in_seconds = 86'400;

plan::TimeZone read_zone(const Cursor& at) {
  const auto name = at.text(1, longest_zone);
  if (!name) return {};
  if (auto zone = time_zone_named(*name)) return *std::move(zone);
  if (time_zone_names().empty()) {
    at.report("cannot be looked up: this machine has no time zone database",
              "\"UTC\", or any zone once the package tzdata is installed");
    return {};
  }
  const std::string meant = nearest_time_zone(*name);
  at.report("is not a time zone" +
                (meant.empty() ? std::string{} : ", did you mean " + in_quotes(meant) + "?"),
            "a name of the IANA time zone database, such as \"Europe/Helsinki\", or \"UTC\"");
  return {};
}

// What OSC 1.0 makes its strings of: ASCII. Letters beyond it can be written in two ways that look
// the same, and the wrong one would stay without an answer in the middle of a show.
std::optional<std::string> read_message(const Cursor& at) {
  auto text = at.text(1, longest_message);
  const auto is_ascii = [](char c) { return static_cast<unsigned char>(c) < 0x7F; };
  if (!text || std::ranges::all_of(*text, is_ascii)) return text;
  at.report("has letters beyond ASCII",
            "text of 1 to " + std::to_string(longest_message) + " printable ASCII characters");
  return std::nullopt;
}

class CueReader {
 public:
  CueReader(const std::vector<std::string>& segments, bool incomplete)
      : segments_{segments}, incomplete_{incomplete} {}

  void read(const Cursor& at) {
    const Object object{at, {"segment"}, {"name", "clock", "date", "after", "after_s", "message"}};
    const Cursor at_segment = object["segment"];
    const auto segment = at_segment.name();
    const bool known =
        segment && known_or_reported(at_segment, *segment, "a segment", segments_, incomplete_);
    const auto name = read_name(object, segment);
    plan::Trigger trigger = read_trigger(object);
    if (!known)
      earlier_incomplete_ = true;
    else if (std::ranges::find(earlier_, *segment) == earlier_.end())
      earlier_.push_back(*segment);
    if (name && known)
      cues_.push_back({.name = {*name}, .segment = {*segment}, .trigger = std::move(trigger)});
  }

  std::vector<plan::Cue> take() && { return std::move(cues_); }

 private:
  // That of the segment, unless it has one of its own.
  std::optional<std::string> read_name(const Object& object,
                                       const std::optional<std::string>& segment) {
    const Cursor at_name = object["name"];
    const bool own = at_name.present();
    const Cursor at = own ? at_name : object["segment"];
    auto name = own ? at_name.name() : segment;
    if (!name) return std::nullopt;
    const auto [found, is_new] = lines_.emplace(*name, at.line());
    if (is_new) return name;
    at.report("is already the name of the cue on line " + std::to_string(found->second),
              own ? "each only once" : "a member \"name\", since the segment is used again");
    return std::nullopt;
  }

  plan::Trigger read_trigger(const Object& object) const {
    const Cursor at_clock = object["clock"];
    const Cursor at_after = object["after"];
    const Cursor at_message = object["message"];
    const auto clock = read_time_of_day(at_clock);
    const auto date = read_date(object["date"], first_zoned_day, last_zoned_day);
    const auto after = read_after(object);
    const auto message = read_message(at_message);
    if (!at_clock.present())
      object["date"].report("is given without a time of day", "the member \"clock\" beside it");
    if (at_clock.present() + at_after.present() + at_message.present() > 1)
      object.at().report_about("a cue has one trigger besides a hand, not several",
                               "one of \"clock\", \"after\" and \"message\"");
    if (clock) return plan::AtClock{{.of_day = *clock, .date = date}};
    if (after) return *after;
    if (message) return plan::ByMessage{*message};
    return plan::ByHand{};
  }

  std::optional<plan::AfterSegment> read_after(const Object& object) const {
    const Cursor at_after = object["after"];
    const Cursor at_by = object["after_s"];
    const auto segment = at_after.name();
    const auto by = at_by.integer(0, day_in_seconds, "s");
    const bool known =
        segment && known_or_reported(at_after, *segment, "a segment of an earlier cue", earlier_,
                                     earlier_incomplete_);
    if (at_after.present() && !at_by.present())
      object.at().report_about("\"after_s\" is missing, since the cue comes after a segment",
                               "0 to 86400 s");
    if (!at_after.present())
      at_by.report("is given without a segment", "the member \"after\" beside it");
    if (!known || !by) return std::nullopt;
    return plan::AfterSegment{.segment = {*segment}, .by = seconds{*by}};
  }

  const std::vector<std::string>& segments_;
  bool incomplete_;
  std::vector<plan::Cue> cues_;
  std::map<std::string, std::size_t> lines_;  // of cues, by name
  std::vector<std::string> earlier_;          // segments of the cues so far
  bool earlier_incomplete_ = false;
};

}  // namespace

plan::RunningOrder read_running_order(const Cursor& at, const std::vector<std::string>& segments,
                                      bool incomplete) {
  plan::RunningOrder order;
  if (!at.present()) return order;
  const Object object{
      at, {}, {"zone", "second_trigger", "after_restart", "arming_lasts_s", "cues"}};
  order.zone = read_zone(object["zone"]);
  order.second_trigger =
      object["second_trigger"].one_of<SecondTrigger>().value_or(order.second_trigger);
  order.after_restart =
      object["after_restart"].one_of<AfterRestart>().value_or(order.after_restart);
  if (const auto lasts = object["arming_lasts_s"].integer(10, day_in_seconds, "s"))
    order.arming_lasts = seconds{*lasts};
  CueReader cues{segments, incomplete};
  for (const Cursor& element : object["cues"].elements(0, most_cues)) cues.read(element);
  order.cues = std::move(cues).take();
  return order;
}

}  // namespace catwalk::config
