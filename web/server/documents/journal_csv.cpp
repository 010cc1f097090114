// SPDX-License-Identifier: Apache-2.0
#include "web/server/documents/journal_csv.hpp"

#include <algorithm>
#include <array>
#include <cstdlib>

#include "daemon/base/text.hpp"
#include "web/server/documents/render.hpp"

namespace catwalk::web {
namespace {

// Signs that begin a formula somewhere; the last four are their wide forms (U+FF1D, FF0B, FF0D,
// FF20), which some spreadsheets take for the same.
constexpr std::array<std::string_view, 8> formula_signs{
    "=", "+", "-", "@", "\xEF\xBC\x9D", "\xEF\xBC\x8B", "\xEF\xBC\x8D", "\xEF\xBC\xA0"};

// What spreadsheets skip in front of a formula: white space as Unicode has it (White_Space=yes in
// its PropList.txt), as far as it is plain text.
constexpr std::array<std::string_view, 18> blanks{" ",
                                                  "\n",
                                                  "\xC2\xA0",
                                                  "\xE1\x9A\x80",
                                                  "\xE2\x80\x80",
                                                  "\xE2\x80\x81",
                                                  "\xE2\x80\x82",
                                                  "\xE2\x80\x83",
                                                  "\xE2\x80\x84",
                                                  "\xE2\x80\x85",
                                                  "\xE2\x80\x86",
                                                  "\xE2\x80\x87",
                                                  "\xE2\x80\x88",
                                                  "\xE2\x80\x89",
                                                  "\xE2\x80\x8A",
                                                  "\xE2\x80\xAF",
                                                  "\xE3\x80\x80",
                                                  "\xEF\xBF\xBD"};

bool looks_like_formula(std::string_view text) {
  const auto begins_with = [&text](std::string_view what) { return text.starts_with(what); };
  for (auto blank = blanks.begin(); blank != blanks.end();) {
    blank = std::ranges::find_if(blanks, begins_with);
    if (blank != blanks.end()) text.remove_prefix(blank->size());
  }
  return std::ranges::any_of(formula_signs, begins_with);
}

}  // namespace

std::string csv_field(std::string_view said) {
  // Nothing invisible is left that could stand in front of a formula, or move a terminal.
  const auto text = made_plain(said, "\xEF\xBF\xBD", LineFeeds::kept);
  std::string field;
  if (looks_like_formula(text)) field += '\'';
  field += text;
  if (field.find_first_of(",\"\r\n") == std::string::npos) return field;
  std::string quoted = "\"";
  for (const char c : field) {
    if (c == '"') quoted += '"';
    quoted += c;
  }
  return quoted + '"';
}

std::string csv_head() {
  return "sequence,at,kind,who,node,change,segment,what,why,verdict,waiver,fate\r\n";
}

namespace {

// "2026-08-14T21:00:00.000000+03:00"
std::string time_by(const plan::TimeZone& zone, rack::TimePoint at) {
  const auto ahead = zone.ahead_at(std::chrono::floor<std::chrono::seconds>(at));
  auto text = web::time_text(at + ahead);
  text.pop_back();  // the Z
  const auto minutes = std::chrono::duration_cast<std::chrono::minutes>(ahead).count();
  const auto two_digits = [](std::int64_t number) {
    return std::string{static_cast<char>('0' + number / 10 % 10),
                       static_cast<char>('0' + number % 10)};
  };
  return text + (minutes < 0 ? '-' : '+') + two_digits(std::abs(minutes) / 60) + ':' +
         two_digits(std::abs(minutes) % 60);
}

}  // namespace

std::string csv_row(const rack::StoredEntry& row, const plan::TimeZone& zone) {
  const auto& entry = row.entry;
  auto line = std::to_string(row.sequence) + ',' + time_by(zone, entry.at) + ',';
  line += rack::name_of(entry.kind);
  line += ',' + csv_field(entry.who) + ',' + csv_field(entry.node) + ',';
  if (entry.change != 0) line += std::to_string(entry.change);
  for (const auto* text :
       {&entry.segment, &entry.what, &entry.why, &entry.verdict, &entry.waiver, &entry.fate})
    line += ',' + csv_field(*text);
  return line + "\r\n";
}

}  // namespace catwalk::web
