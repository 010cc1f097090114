// SPDX-License-Identifier: Apache-2.0
#pragma once
// The journal as a table for spreadsheets: RFC 4180, UTF-8, a header row.
//
// Whoever exports a journal opens it in a spreadsheet, and that computes whatever looks like a
// formula. Labels, names and reasons are other people's text: one that begins like a formula has an
// apostrophe put in front, which spreadsheets take for "this is text" (the usual advice, OWASP "CSV
// Injection", from memory). Programs that want every byte as it was take the JSON.

#include <string>
#include <string_view>

#include "daemon/plan/time_zone.hpp"
#include "daemon/rack/values/journal.hpp"

namespace catwalk::web {

// "sequence,at,kind,…\r\n"
std::string csv_head();
// Ends with "\r\n", as every row does: RFC 4180, section 2.
// Times by the clock of the show, with what that is ahead of UTC: RFC 3339, section 5.6.
std::string csv_row(const rack::StoredEntry& row, const plan::TimeZone& zone);

// In quotes if it has to be; harmless to spreadsheets.
std::string csv_field(std::string_view text);

}  // namespace catwalk::web
