// SPDX-License-Identifier: Apache-2.0
// The record of the show through the API: what of the journal may be asked for, the table for
// spreadsheets (RFC 4180), and the document to print.
#include <doctest/doctest.h>

#include <algorithm>
#include <regex>

#include "tests/support/web_fixture.hpp"
#include "web/server/api/journal_query.hpp"
#include "web/server/api/makers.hpp"
#include "web/server/documents/html.hpp"
#include "web/server/documents/journal_csv.hpp"
#include "web/server/documents/report.hpp"
#include "web/server/http/rfc3339.hpp"

using namespace catwalk;
using namespace catwalk::test;
using namespace catwalk::web;
using namespace std::chrono_literals;

namespace {

constexpr rack::TimePoint evening =
    std::chrono::sys_days{std::chrono::year{2026} / 8 / 14} + 20h + 15min;

HttpRequest asking(std::map<std::string, std::string> query) {
  HttpRequest request;
  request.query = std::move(query);
  return request;
}

std::size_t count_of(const std::string& text, const std::string& what) {
  std::size_t count = 0;
  for (std::size_t at = 0; (at = text.find(what, at)) != std::string::npos; at += what.size())
    ++count;
  return count;
}

// A reader by the grammar of RFC 4180, section 2: records of fields. Anything outside of it fails.
std::vector<std::vector<std::string>> read_csv(const std::string& text) {
  std::vector<std::vector<std::string>> records;
  std::size_t at = 0;
  while (at < text.size()) {
    auto& record = records.emplace_back();
    for (bool more = true; more;) {
      std::string field;
      if (at < text.size() && text[at] == '"') {
        for (++at; at < text.size(); ++at) {
          if (text[at] != '"')
            field += text[at];
          else if (at + 1 < text.size() && text[at + 1] == '"')
            field += text[at++];
          else
            break;
        }
        REQUIRE(at < text.size());
        ++at;
      } else {
        while (at < text.size() && text[at] != ',' && text[at] != '\r') field += text[at++];
        REQUIRE(field.find_first_of("\"\n") == std::string::npos);
      }
      record.push_back(field);
      REQUIRE(at < text.size());
      more = text[at] == ',';
      if (more) ++at;
    }
    REQUIRE(text.substr(at, 2) == "\r\n");
    at += 2;
  }
  return records;
}

// Tags that are opened are closed, in order; nothing stands raw that could be taken for markup.
void check_nesting(const std::string& html) {
  static const std::regex tag{R"(<(/?)([a-z0-9]+)[^<>]*>)"};
  std::vector<std::string> open;
  for (std::sregex_iterator it{html.begin(), html.end(), tag}, end; it != end; ++it) {
    const auto name = (*it)[2].str();
    if (name == "meta" || name == "br") continue;
    if ((*it)[1].str().empty()) {
      open.push_back(name);
    } else {
      REQUIRE_FALSE(open.empty());
      CHECK(open.back() == name);
      open.pop_back();
    }
  }
  CHECK(open.empty());
}

const std::string hostile =
    "<script>alert(1)</script>\"'&\x01\xFF</td></table><img src=x onerror=y>";

}  // namespace

namespace {

// Two hours ahead of UTC, three from 2026-03-29 01:00 to 2026-10-25 01:00 UTC: the rule of the
// European Union (Directive 2000/84/EC), as in Helsinki.
plan::TimeZone helsinki() {
  using std::chrono::sys_days;
  using std::chrono::year;
  return {"Europe/Helsinki",
          {{sys_days{year{2025} / 10 / 26} + 1h, 2h},
           {sys_days{year{2026} / 3 / 29} + 1h, 3h},
           {sys_days{year{2026} / 10 / 25} + 1h, 2h}}};
}

JournalAsk read_query(const HttpRequest& request) {
  return read_journal_query(request, helsinki(), evening);
}

void check_too_much(WebBench& bench, const std::string& what) {
  const auto refused = bench.call("GET", "/journal.csv");
  CHECK(refused.status == 422);
  CHECK(refused.text("type") == "/problems/too-many-rows");
  CHECK(refused.text("detail") ==
        what + "; narrow it with from and to, or say how many with limit.");
}

}  // namespace

TEST_CASE("a time is also read by the clock of the show") {
  const auto zone = helsinki();
  const auto read = [&](std::string_view text) { return parse_time(text, zone, evening); };
  // 20:15 UTC is 23:15 there, and still the 14th.
  CHECK(read("23:15") == evening);
  CHECK(read("19:00") == std::chrono::sys_days{std::chrono::year{2026} / 8 / 14} + 16h);
  CHECK(read("2026-08-14") == std::chrono::sys_days{std::chrono::year{2026} / 8 / 13} + 21h);
  CHECK(read("2026-08-14 19:00:30") == read("2026-08-14T19:00:30"));
  CHECK(read("2026-12-01T12:00") == std::chrono::sys_days{std::chrono::year{2026} / 12 / 1} + 10h);
  CHECK(read("2026-08-14T20:15:00Z") == evening);
  // Shown twice when clocks are put back: the first time.
  CHECK(read("2026-10-25 03:30") ==
        std::chrono::sys_days{std::chrono::year{2026} / 10 / 25} + 30min);
  // At half past ten in the evening UTC it is tomorrow there.
  CHECK(parse_time("01:00", zone, evening + 135min) == evening + 105min);
  for (const auto* wrong : {"24:00", "7:00", "19", "19:0", "2026-02-30", "2026-08-14 ", "19:00Z",
                            "2026-08-14 19:00x", "2026-13-01", ""})
    CHECK_FALSE(read(wrong));
}

TEST_CASE("the journal's query is read, and every bad parameter is told") {
  const auto good = read_query(asking({{"node", "left"},
                                       {"kind", "fate"},
                                       {"who", "ana"},
                                       {"segment", "finale"},
                                       {"text", "cable"},
                                       {"from", "2026-08-14T20:15:00Z"},
                                       {"to", "2026-08-14T23:15:00+02:00"},
                                       {"change", "7"},
                                       {"before", "90"},
                                       {"limit", "1000"}}));
  CHECK(good.complaints.empty());
  CHECK(good.query.node == "left");
  CHECK(good.query.kind == "fate");
  CHECK(good.query.who == "ana");
  CHECK(good.query.segment == "finale");
  CHECK(good.query.text == "cable");
  CHECK(good.query.from == evening);
  CHECK(good.query.to == evening + 1h);
  CHECK(good.query.change == 7);
  CHECK(good.query.before == 90);
  CHECK(good.query.limit == 1000);

  const auto complaint_about = [](const std::string& name, const std::string& value) {
    const auto ask = read_query(asking({{name, value}}));
    REQUIRE(ask.complaints.size() == 1);
    CHECK(ask.complaints[0].pointer == "query/" + name);
    CHECK(ask.complaints[0].value == value);
    return ask.complaints[0].sentence;
  };
  struct Rule {
    std::string allowed;
    std::vector<std::string> names;
    std::vector<std::string> bad;  // each for every name
  };
  const std::string a_time =
      "a time such as 2026-08-14T20:15:00Z (RFC 3339), or 19:00 or 2026-08-14 19:00 by the clock "
      "of Europe/Helsinki";
  for (const auto& rule : std::vector<Rule>{
           {"one of intent, fate, refused, adopted, found, lock, segment, alarm, command, plan, "
            "switch, step, arming, turned-away, journal, carriers, crew",
            {"kind"},
            {"fates"}},
           {"a whole number from 1 to 1000", {"limit"}, {"0", "1001", "", "1e3"}},
           {"a whole number from 1",
            {"before", "change"},
            {"0", "-1", "+7", "9000000000000000001"}},
           {"text of 1 to 64 bytes", {"who", "segment"}, {""}},
           {"text of 1 to 200 bytes", {"text"}, {""}},
           {a_time, {"from", "to"}, {"yesterday", "2026-08"}}})
    for (const auto& name : rule.names)
      for (const auto& value : rule.bad)
        CHECK(complaint_about(name, value) ==
              name + " is \"" + value + "\"; allowed is " + rule.allowed + ".");
  CHECK(complaint_about("page", "2") ==
        "There is no query parameter \"page\" here; known are: node, kind, who, segment, text, "
        "change, from, to, before, limit.");
  CHECK(read_query(asking({{"text", std::string(201, 'x')}})).complaints.size() == 1);
  const auto backwards =
      read_query(asking({{"from", "2026-08-14T20:15:00Z"}, {"to", "2026-08-14T20:15:00Z"}}));
  REQUIRE(backwards.complaints.size() == 1);
  CHECK(backwards.complaints[0].sentence ==
        "to is \"2026-08-14T20:15:00Z\"; allowed is a time after from, 2026-08-14T20:15:00Z.");
}

TEST_CASE("a time is read as RFC 3339 writes it") {
  // The examples of RFC 3339, section 5.8 (from memory), and the edges of its grammar.
  CHECK(parse_time("1985-04-12T23:20:50.52Z") ==
        std::chrono::sys_days{std::chrono::year{1985} / 4 / 12} + 23h + 20min + 50s + 520ms);
  CHECK(parse_time("1996-12-19T16:39:57-08:00") == parse_time("1996-12-20T00:39:57Z"));
  CHECK(parse_time("1937-01-01T12:00:27.87+00:20") == parse_time("1937-01-01T11:40:27.87Z"));
  CHECK(parse_time("1990-12-31T23:59:60Z") == parse_time("1991-01-01T00:00:00Z"));
  CHECK(parse_time("2026-08-14t20:15:00z") == evening);
  CHECK(parse_time("2026-08-14T20:15:00.123456789Z") == evening + 123456us);
  CHECK(parse_time("2024-02-29T00:00:00Z"));
  for (const char* wrong :
       {"", "2026-08-14", "2026-08-14T20:15Z", "2026-08-14T20:15:00", "2026-08-14 20:15:00Z",
        "2026-8-14T20:15:00Z", "2026-13-14T20:15:00Z", "2026-02-29T20:15:00Z",
        "2026-08-14T24:00:00Z", "2026-08-14T20:60:00Z", "2026-08-14T20:15:61Z",
        "2026-08-14T20:15:00.Z", "2026-08-14T20:15:00+2:00", "2026-08-14T20:15:00+24:00",
        "2026-08-14T20:15:00Z ", "+026-08-14T20:15:00Z", "2026-08-14T20:15:00 02:00", "now"}) {
    CAPTURE(wrong);
    CHECK_FALSE(parse_time(wrong));
  }
}

TEST_CASE("a table field is in quotes where it has to be, and no spreadsheet computes it") {
  for (const auto& [text, field] : std::vector<std::pair<std::string, std::string>>{
           {"", ""},
           {"long cable", "long cable"},
           {"80 m, coiled", "\"80 m, coiled\""},
           {"say \"left\"", "\"say \"\"left\"\"\""},
           {"two\nlines", "\"two\nlines\""},
           {"two\r\nlines", "\"two\xEF\xBF\xBD\nlines\""},
           {"gain +0 dB → +3 dB", "gain +0 dB → +3 dB"},
           {"=1+1", "'=1+1"},
           {"+1", "'+1"},
           {"-1", "'-1"},
           {"@SUM(A1)", "'@SUM(A1)"},
           {" =1", "' =1"},
           {"\t=1", "'\xEF\xBF\xBD=1"},
           {"\r=1", "'\xEF\xBF\xBD=1"},
           {"\v=1", "'\xEF\xBF\xBD=1"},
           {"\xC2\xA0=1", "'\xC2\xA0=1"},            // no-break space
           {"\xE3\x80\x80 =1", "'\xE3\x80\x80 =1"},  // ideographic space
           {"\xEF\xBB\xBF=1", "'\xEF\xBF\xBD=1"},    // byte order mark
           {"\xE2\x80\x8B=1", "'\xEF\xBF\xBD=1"},    // zero width space
           {"\x1B[2J", "\xEF\xBF\xBD[2J"},
           {"=HYPERLINK(\"http://x\",\"y\")", "\"'=HYPERLINK(\"\"http://x\"\",\"\"y\"\")\""},
           {"＝1", "'＝1"},
           {"'quoted'", "'quoted'"}}) {
    const auto& the_text = text;
    CAPTURE(the_text);
    CHECK(csv_field(text) == field);
  }
}

TEST_CASE("the journal as a table has a head and every row, as RFC 4180 writes them") {
  WebBench bench;
  REQUIRE(bench.set("left", {{"gain_db", 6}, {"why", "=cmd|' /C calc'!A0, \"so\""}}).status == 200);
  const auto called = bench.call("GET", "/journal.csv");
  CHECK(called.status == 200);
  CHECK(called.type == "text/csv; charset=utf-8; header=present");
  CHECK(called.header("Content-Disposition") == "attachment; filename=\"journal.csv\"");
  const auto records = read_csv(called.body.get<std::string>());
  REQUIRE(records.size() == bench.gate.journal.size() + 1);
  CHECK(records[0] == std::vector<std::string>{"sequence", "at", "kind", "who", "node", "change",
                                               "segment", "what", "why", "verdict", "waiver",
                                               "fate"});
  for (const auto& record : records) CHECK(record.size() == 12);
  // Newest first, as the JSON has them, and the same.
  const auto rows = bench.call("GET", "/journal").body.at("entries");
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const auto& record = records[i + 1];
    CHECK(record[0] == std::to_string(rows[i].at("sequence").get<int>()));
    // By the clock of the show, which is that of UTC here.
    auto at = rows[i].at("at").get<std::string>();
    at.replace(at.size() - 1, 1, "+00:00");
    CHECK(record[1] == at);
    CHECK(record[2] == rows[i].at("kind"));
    CHECK(record[7] == rows[i].value("what", ""));
  }
  const auto intent =
      std::ranges::find_if(records, [](const auto& record) { return record[2] == "intent"; });
  REQUIRE(intent != records.end());
  CHECK((*intent)[8] == "'=cmd|' /C calc'!A0, \"so\"");
  const auto narrowed =
      read_csv(bench.call("GET", "/journal.csv?kind=intent").body.get<std::string>());
  CHECK(narrowed.size() == 2);
  CHECK(read_csv(bench.call("GET", "/journal.csv?limit=2").body.get<std::string>()).size() == 3);
  CHECK(bench.call("GET", "/journal.csv?limit=50001").text("detail") ==
        "limit is \"50001\"; allowed is a whole number from 1 to 50000.");
  CHECK(bench.call("GET", "/journal.csv?page=2").status == 422);
  bench.gate.journal_reads = false;
  CHECK(bench.call("GET", "/journal.csv").status == 503);
}

TEST_CASE(
    "a search that the store ends at its bound goes on, and says so if it has to end before") {
  WebBench bench;
  while (bench.gate.journal.size() < 4'000)
    bench.gate.journal.push_back({bench.gate.journal.size() + 1, {}});
  bench.gate.journal[7].entry.who = "bo";
  bench.gate.rows_of_a_reading = 1'000;
  bench.gate.readings = 0;
  const auto whole = bench.call("GET", "/journal?who=bo");
  CHECK(whole.status == 200);
  CHECK(bench.gate.readings == 4);
  REQUIRE(whole.body.at("entries").size() == 1);
  CHECK_FALSE(whole.body.contains("looked_down_to"));
  CHECK(bench.gate.last_query->goes_on);
  CHECK(bench.gate.last_query->asker == "ana");

  bench.gate.rows_of_a_reading = 100;
  const auto ended = bench.call("GET", "/journal?who=bo");
  CHECK(ended.status == 200);
  CHECK(ended.body.at("entries").empty());
  CHECK(ended.body.at("looked_down_to") == 3'201);
  // Whoever goes on from there finds it, and nothing twice.
  auto before = ended.body.at("looked_down_to").get<int>();
  std::size_t found = 0;
  for (int asks = 1; before != 0; ++asks) {
    REQUIRE(asks < 10);
    const auto next = bench.call("GET", "/journal?who=bo&before=" + std::to_string(before));
    found += next.body.at("entries").size();
    before = next.body.value("looked_down_to", 0);
  }
  CHECK(found == 1);
  // A table is whole, however many readings it takes.
  CHECK(read_csv(bench.call("GET", "/journal.csv").body.get<std::string>()).size() == 4'001);
  const auto much = bench.call("GET", "/journal?limit=1000").body;
  CHECK(much.at("entries").size() == 800);
  CHECK(much.at("looked_down_to") == 3'201);
}

TEST_CASE("when too many searches wait the answer says so, and when to ask again") {
  WebBench bench;
  bench.gate.journal_is_busy = true;
  for (const char* path : {"/journal", "/journal.csv", "/report"}) {
    const auto busy = bench.call("GET", path);
    CHECK(busy.status == 503);
    CHECK(busy.text("type") == "/problems/too-many-searches");
    CHECK(busy.header("Retry-After") == "1");
  }
}

TEST_CASE("tables and reports are made a few at a time, of one asker and of all") {
  WebBench bench;
  bench.gate.journal.push_back({1, {}});
  bench.gate.journal_holds = true;
  const auto& table = bench.begin("GET", "/journal.csv");
  const auto& report = bench.begin("GET", "/report");
  for (const char* path : {"/journal.csv", "/report"}) {
    const auto refused = bench.call("GET", path);
    CHECK(refused.status == 503);
    CHECK(refused.text("type") == "/problems/too-many-searches");
    CHECK(refused.header("Retry-After") == "2");
  }
  CHECK(bench.begin("GET", "/journal").empty());  // a list waits like any other

  for (const auto& answer : std::exchange(bench.gate.readings_held, {})) answer();
  bench.gate.journal_holds = false;
  REQUIRE(table.size() == 1);
  CHECK(table[0].status == 200);
  REQUIRE(report.size() == 1);
  CHECK(report[0].status == 200);
  for (int i = 0; i < 5; ++i) CHECK(bench.call("GET", "/journal.csv").status == 200);
}

TEST_CASE("those who have tables made leave each other room") {
  web::Makers makers;
  auto first = makers.begin("ana");
  const auto second = makers.begin("ana");
  CHECK(first);
  CHECK(second);
  CHECK_FALSE(makers.begin("ana"));
  const auto third = makers.begin("ben");
  const auto fourth = makers.begin("cem");
  CHECK(fourth);
  CHECK_FALSE(makers.begin("dia"));
  first.reset();
  CHECK(makers.begin("dia"));
}

TEST_CASE("a table of a few rows may be too large as well") {
  WebBench bench;
  rack::StoredEntry long_one;
  long_one.entry.why.assign(1'000'000, 'x');
  for (std::uint64_t i = 1; i <= 20; ++i) {
    long_one.sequence = i;
    bench.gate.journal.push_back(long_one);
  }
  check_too_much(bench, "The table would be larger than 16 MiB");
  CHECK(bench.call("GET", "/journal.csv?limit=10").status == 200);
}

TEST_CASE("the report carries the head of the journal, by which it proves later what that said") {
  WebBench bench;
  CHECK(bench.call("GET", "/report").body.get<std::string>().find("Proof") == std::string::npos);
  const std::string hash(64, 'b');
  bench.gate.journal_said.head = {4'711, hash};
  const auto html = bench.call("GET", "/report").body.get<std::string>();
  check_nesting(html);
  CHECK(html.find("the journal ended with row 4711.") != std::string::npos);
  CHECK(html.find("catwalkd --verify-journal --anchor 4711:" + hash + " RACKFILE") !=
        std::string::npos);
}

TEST_CASE("a table that would not be the whole journal is refused, and says how to narrow it") {
  WebBench bench;
  const auto row = [](std::uint64_t sequence) {
    rack::StoredEntry stored;
    stored.sequence = sequence;
    stored.entry.who = "ana";
    return stored;
  };
  while (bench.gate.journal.size() < 50'000)
    bench.gate.journal.push_back(row(bench.gate.journal.size() + 1));
  CHECK(bench.call("GET", "/journal.csv").status == 200);
  bench.gate.journal.push_back(row(50'001));
  check_too_much(bench, "The journal has more than 50000 such rows");
  CHECK(bench.call("GET", "/journal.csv?limit=50000").status == 200);
}

TEST_CASE("a long journal is read page by page, each row once, and no more than asked for") {
  WebBench bench;
  while (bench.gate.journal.size() < 2'345)
    bench.gate.journal.push_back({bench.gate.journal.size() + 1, {}});
  const auto all = read_csv(bench.call("GET", "/journal.csv").body.get<std::string>());
  REQUIRE(all.size() == 2'346);
  for (std::size_t i = 1; i < all.size(); ++i) CHECK(all[i][0] == std::to_string(2'346 - i));
  for (const std::size_t limit : {1U, 999U, 1000U, 1001U, 2000U, 2345U, 5000U}) {
    const auto some = read_csv(
        bench.call("GET", "/journal.csv?limit=" + std::to_string(limit)).body.get<std::string>());
    CHECK(some.size() == std::min<std::size_t>(limit, 2'345) + 1);
  }
}

TEST_CASE("text in a document is text, whatever it looks like") {
  CHECK(escaped("a < b & c > \"d\" 'e'") == "a &lt; b &amp; c &gt; &quot;d&quot; &#39;e&#39;");
  CHECK(escaped("two\nlines\tand\r") == "two<br>lines and\xEF\xBF\xBD");
  CHECK(escaped(std::string_view{"nul\0bell\a del\x7F", 14}) ==
        "nul\xEF\xBF\xBD"
        "bell\xEF\xBF\xBD del\xEF\xBF\xBD");
  CHECK(escaped("größer → 😀") == "größer → 😀");
  // Not UTF-8: overlong, a surrogate, cut off, out of range (Unicode 15, table 3-7).
  for (const char* wrong : {"\xC0\xBC", "\xED\xA0\x80", "\xE2\x82", "\xF4\x90\x80\x80", "\xFF"}) {
    const auto safe = escaped(wrong);
    CHECK(safe.find_first_not_of("\xEF\xBF\xBD") == std::string::npos);
    CHECK_FALSE(safe.empty());
  }
}

TEST_CASE("a style is known by its hash as CSP writes it") {
  // printf '' | openssl dgst -sha256 -binary | base64; printf 'abc' likewise.
  CHECK(csp_hash("") == "'sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU='");
  CHECK(csp_hash("abc") == "'sha256-ungWv48Bz+pBQUDeXa4iI7ADYaOWF3qctBD/YfIAFa0='");
}

TEST_CASE("the report has plan, settings, alarms, and who changed what with which waiver") {
  WebBench bench;
  bench.gate.turn(2, slide_at(9, 518));
  REQUIRE(
      bench.call("POST", "/alarms/1/shelve", R"({"for_s":600,"why":"the mast moves"})").status ==
      200);
  const auto before = bench.set("left", {{"gain_db", 6},
                                         {"centre_mhz", 521},
                                         {"why", "long cable"},
                                         {"waiver", {{"who", "Ana"}, {"reason", "heard it"}}}});
  CAPTURE(before.body.dump());
  REQUIRE(before.status == 200);
  const auto called = bench.call("GET", "/report");
  CHECK(called.status == 200);
  CHECK(called.type == "text/html; charset=utf-8");
  const auto html = called.body.get<std::string>();
  CHECK(html.starts_with("<!DOCTYPE html>\n<html lang=\"en\">"));
  CHECK(html.ends_with("</html>\n"));
  check_nesting(html);
  for (const char* part :
       {"Record of small", "made 2026-08-14 00:00:00 for ana", "speeches", "finale", "(active)",
        "voice-1", "510.000 MHz", "560.000 to 580.000 MHz", "broadcast", "vocals A",
        "gain +6 dB, slide at 521.000 MHz, power on", "shelved by ana", "the mast moves",
        "long cable", "settled", "right shows", "over the stage"}) {
    CAPTURE(part);
    CHECK(html.find(part) != std::string::npos);
  }
}

TEST_CASE("a waiver stands in the report beside the change that it was signed for") {
  WebBench bench;
  // The closed lane "tower" lies in the window.
  const auto signed_for = bench.set(
      "left", {{"centre_mhz", 525}, {"waiver", {{"who", "Ana"}, {"reason", "it is off"}}}});
  REQUIRE(signed_for.status == 200);
  const auto html = bench.call("GET", "/report").body.get<std::string>();
  CHECK(html.find("<td>Ana: it is off</td>") != std::string::npos);
  // Intent and fate are one row.
  CHECK(count_of(html, "<td>settled<br>") + count_of(html, "<td>settled</td>") == 1);
}

TEST_CASE("the report is of the last 24 hours, or of the time that is asked for") {
  WebBench bench;
  CHECK(bench.call("GET", "/report").status == 200);
  REQUIRE(bench.gate.last_query);
  CHECK(bench.gate.last_query->to == bench.gate.now);
  CHECK(bench.gate.last_query->from == bench.gate.now - 24h);
  bench.call("GET", "/report?from=2026-08-13T20:00:00Z&to=2026-08-13T22:00:00Z");
  CHECK(*bench.gate.last_query->to - *bench.gate.last_query->from == 2h);
  bench.call("GET", "/report?to=2026-08-13T22:00:00Z");
  CHECK(*bench.gate.last_query->to - *bench.gate.last_query->from == 24h);
  for (const auto& [query, detail] : std::vector<std::pair<std::string, std::string>>{
           {"from=noon",
            "from is \"noon\"; allowed is a time such as 2026-08-14T20:15:00Z (RFC 3339), or 19:00 "
            "or 2026-08-14 19:00 by the clock of UTC."},
           {"from=2026-08-13T20:00:00Z&to=2026-08-12T20:00:00Z",
            "to is \"2026-08-12T20:00:00Z\"; allowed is a time after from, 2026-08-13T20:00:00Z."},
           {"from=2030-01-01T00:00:00Z",
            "from is \"2030-01-01T00:00:00Z\"; allowed is a time that is over already, or a to as "
            "well."},
           {"node=left", "There is no query parameter \"node\" here; known are: from, to."}}) {
    const auto bad = bench.call("GET", "/report?" + query);
    CHECK(bad.status == 422);
    CHECK(bad.text("detail") == detail);
  }
  bench.gate.journal_reads = false;
  CHECK(bench.call("GET", "/report").status == 503);
}

TEST_CASE("names, labels and reasons of others stay text in the report") {
  auto rack = small_rack();
  rack.name = hostile;
  rack.nodes[0].hangs = hostile;
  rack.segments[0].title = hostile;
  rack.segments[0].lanes[0].why = hostile;
  rack.segments[0].carriers[0].name = {hostile};
  rack.segments[0].settings[{"left"}] = {.label = hostile};
  rack.running_order.cues = {{{hostile}, {"speeches"}, plan::ByMessage{hostile}}};
  auto labelled = slide_at(3, 518);
  labelled.label = "<b>&\"'</b>";
  WebBench bench{rack};
  bench.gate.turn(1, labelled);
  bench.gate.ask(rack::ShelveRequested{0, 1, 60s, hostile, hostile}, [](const auto&) {});
  bench.gate.ask(rack::LockRequested{0, true, hostile, hostile}, [](const auto&) {});
  const auto html = bench.call("GET", "/report").body.get<std::string>();
  check_nesting(html);
  for (const char* raw : {"<script", "<img", "<b>", "onerror=y>", "\x01", "\xFF"}) {
    CAPTURE(raw);
    CHECK(html.find(raw) == std::string::npos);
  }
  CHECK(count_of(html, "&lt;script&gt;alert(1)") > 8);
  CHECK(html.find("&lt;b&gt;&amp;&quot;&#39;&lt;/b&gt;") != std::string::npos);
  CHECK(count_of(html, "<style>") == 1);
}

TEST_CASE("the report runs nothing, loads nothing, and its one style is the one that may be") {
  WebBench bench;
  const auto called = bench.call("GET", "/report");
  const auto html = called.body.get<std::string>();
  const auto begin = html.find("<style>") + 7;
  const auto style = html.substr(begin, html.find("</style>") - begin);
  CHECK(called.header("Content-Security-Policy") ==
        "default-src 'none'; style-src " + csp_hash(style) +
            "; base-uri 'none'; form-action 'none'; frame-ancestors 'none'");
  CHECK(style.find("@media print") != std::string::npos);
  for (const char* never : {"<script", "style=", "src=", "href=", "url(", "@import", "http:"})
    CHECK(html.find(never) == std::string::npos);
}

TEST_CASE("a time with too much in it for a document says so") {
  WebBench bench;
  rack::JournalEntry entry;
  entry.at = bench.gate.now - 1h;
  entry.kind = rack::JournalKind::lock;
  while (bench.gate.journal.size() < 5'100)
    bench.gate.journal.push_back({bench.gate.journal.size() + 1, entry});
  const auto html = bench.call("GET", "/report").body.get<std::string>();
  CHECK(html.find("These are the latest 5000 rows of the journal; there are more") !=
        std::string::npos);
}

TEST_CASE("the report opens with what went wrong, and tells what was on the air when") {
  using catwalk::test::microphone;
  const auto entry = [](rack::JournalKind kind, std::chrono::minutes at, std::string what,
                        std::string node = {}, std::string why = {}) {
    rack::JournalEntry one;
    one.kind = kind;
    one.at = evening + at;
    one.what = std::move(what);
    one.node = std::move(node);
    one.why = std::move(why);
    one.segment = "speeches";
    return one;
  };
  // Newest first, as the journal gives them.
  const std::vector<rack::StoredEntry> rows{
      {5, entry(rack::JournalKind::plan, 40min, "plan replaced: small", "",
                "speeches: voice-1 511.000 MHz, was 510.000 MHz")},
      {4,
       entry(rack::JournalKind::carriers, 40min, "voice-1 511.000 MHz; ears-1 (ours) 570.000 MHz")},
      {3, entry(rack::JournalKind::alarm, 33min, "silent returned", "left", "left is silent")},
      {2, entry(rack::JournalKind::alarm, 30min, "silent raised", "left", "left is silent")},
  };
  WebBench bench;
  ReportAsk ask{evening,
                evening + 1h,
                evening + 2h,
                "ana",
                {},
                rack::StoredEntry{1, entry(rack::JournalKind::carriers, -5min,
                                           "voice-1 510.000 MHz; ears-1 (ours) 570.000 MHz")}};
  const auto html = report_text(*bench.gate.snapshot(), rows, false, ask);
  check_nesting(html);
  const auto at = [&](std::string_view words) {
    const auto place = html.find(words);
    CAPTURE(words);
    REQUIRE(place != std::string::npos);
    return place;
  };
  CHECK(at("What went wrong") < at("Carriers as used"));
  CHECK(at("Carriers as used") < at("Alarms now"));
  CHECK(html.find("<td>2026-08-14 20:45:00</td><td>3 min</td><td>speeches</td><td>left is "
                  "silent</td><td>receiver vocals, voice-1 and voice-2</td>") != std::string::npos);
  // Before the plan was replaced the old frequency, afterwards the new one.
  CHECK(html.find("<td>2026-08-14 20:15:00</td><td>2026-08-14 20:55:00</td><td>speeches</td>"
                  "<td>voice-1 510.000 MHz<br>ears-1 (ours) 570.000 MHz</td>") !=
        std::string::npos);
  CHECK(html.find("<td>2026-08-14 20:55:00</td><td>2026-08-14 21:15:00</td><td>speeches</td>"
                  "<td>voice-1 511.000 MHz<br>") != std::string::npos);
  CHECK(html.find("The plan was replaced 1 time in this time") != std::string::npos);
  CHECK(html.find("was 510.000 MHz") != std::string::npos);
}
