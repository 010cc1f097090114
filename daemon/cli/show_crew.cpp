// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/show_crew.hpp"

#include <algorithm>

#include "daemon/cli/table.hpp"

namespace catwalk::cli {
namespace {

// A sheet of paper takes as much.
constexpr std::size_t columns = 76;
const std::string indent = "      ";

std::string names_in(const Json& names) {
  std::string words;
  for (const auto& name : names) words += (words.empty() ? "" : ", ") + name.get<std::string>();
  return words;
}

bool is_ticked(const Json& row) { return row.contains("ticked"); }

std::string heading_of(const std::string& moment) {
  if (moment == "before") return "Before the first node moves:";
  if (moment == "after") return "When the last node is there:";
  return "At any moment around it:";
}

// "vocal-1.off; heard by vocals; held by Ada; ticked by bo, 2026-08-14 17:05:00Z"
std::string about(const Json& row) {
  auto words = text_of(row, "key");
  if (const auto names = names_in(row.at("receivers")); !names.empty())
    words += "; heard by " + names;
  if (const auto holder = text_of(row, "held_by"); !holder.empty()) words += "; held by " + holder;
  if (is_ticked(row))
    words += "; ticked by " + text_of(row.at("ticked"), "who") + ", " +
             to_the_second(text_of(row.at("ticked"), "at"));
  return words;
}

}  // namespace

std::string crew_words(const Json& sheet) {
  const auto& rows = sheet.at("rows");
  if (rows.empty()) return "nothing for people to do";
  return std::to_string(rows.size()) +
         (rows.size() == 1 ? " thing for people to do, " : " things for people to do, ") +
         std::to_string(std::ranges::count_if(rows, is_ticked)) + " ticked";
}

std::string show_crew(const Json& sheet) {
  const auto to = text_of(sheet, "to");
  if (text_of(sheet, "from") == to && sheet.at("rows").empty())
    return "Crew sheet, " + to +
           ": the rack is there already, and nobody has anything to change.\n";
  auto lines =
      "Crew sheet, " + text_of(sheet, "from") + " → " + to + ": " + crew_words(sheet) + '\n';
  std::string moment;
  for (const auto& row : sheet.at("rows")) {
    if (moment != text_of(row, "moment")) {
      moment = text_of(row, "moment");
      lines += '\n' + heading_of(moment) + '\n';
    }
    lines +=
        (is_ticked(row) ? "  [x] " : "  [ ] ") + wrapped(text_of(row, "what"), columns, indent);
    lines += indent + wrapped(about(row), columns, indent);
  }
  if (const auto open = text_of(sheet, "not_ticked"); !open.empty())
    lines += '\n' + wrapped("Warning: " + open, columns, "  ");
  return lines;
}

}  // namespace catwalk::cli
