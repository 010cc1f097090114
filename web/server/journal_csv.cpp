// SPDX-License-Identifier: Apache-2.0
#include "web/server/journal_csv.hpp"

#include <algorithm>
#include <array>

#include "web/server/render.hpp"

namespace catwalk::web {
namespace {

// Signs that begin a formula somewhere; the last four are their wide forms (U+FF1D, FF0B, FF0D,
// FF20), which some spreadsheets take for the same.
constexpr std::array<std::string_view, 8> formula_signs{
    "=", "+", "-", "@", "\xEF\xBC\x9D", "\xEF\xBC\x8B", "\xEF\xBC\x8D", "\xEF\xBC\xA0"};

bool looks_like_formula(std::string_view text) {
  // A tab or a line break in front begins one too; spaces are skipped by some.
  const auto first = text.find_first_not_of(" \t\r\n");
  if (first == std::string_view::npos) return false;
  const auto rest = text.substr(first);
  return std::ranges::any_of(formula_signs,
                             [rest](std::string_view sign) { return rest.starts_with(sign); });
}

}  // namespace

std::string csv_field(std::string_view text) {
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

std::string csv_row(const rack::StoredEntry& row) {
  const auto& entry = row.entry;
  auto line = std::to_string(row.sequence) + ',' + time_text(entry.at) + ',';
  line += rack::name_of(entry.kind);
  line += ',' + csv_field(entry.who) + ',' + csv_field(entry.node) + ',';
  if (entry.change != 0) line += std::to_string(entry.change);
  for (const auto* text :
       {&entry.segment, &entry.what, &entry.why, &entry.verdict, &entry.waiver, &entry.fate})
    line += ',' + csv_field(*text);
  return line + "\r\n";
}

}  // namespace catwalk::web
