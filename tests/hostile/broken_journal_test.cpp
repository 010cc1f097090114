// SPDX-License-Identifier: Apache-2.0
// A whole daemon on a journal that is broken, on one whose chain is, and searches that are made to
// hurt: what people see of it.
#include <doctest/doctest.h>

#include <algorithm>
#include <csignal>
#include <fstream>
#include <thread>

#include "daemon/store/journal.hpp"
#include "tests/support/raw_socket.hpp"
#include "tests/support/rig.hpp"
#include "tests/support/store_fixture.hpp"

using namespace catwalk;
using namespace catwalk::test;
using Json = nlohmann::ordered_json;

namespace {

const auto patience = std::chrono::seconds{30};

void stop(Rig& rig) {
  rig.daemon->signal(SIGTERM);
  REQUIRE(rig.daemon->wait() == 0);
}

std::string sentence_of(Rig& rig, const std::string& kind) {
  const auto alarms = rig.get("/alarms").body.at("alarms");
  for (const auto& alarm : alarms)
    if (alarm.at("kind") == kind) return alarm.at("sentence");
  return {};
}

Process verify(const Rig& rig, std::vector<std::string> more) {
  more.insert(more.begin(), "--verify-journal");
  more.push_back(rig.file("rack.json").string());
  return {CATWALKD, more, rig.file("verify.log")};
}

// "4711:9f86…" of a page of the report.
std::string anchor_in(const std::string& report) {
  const std::string mark = "--anchor ";
  const auto at = report.find(mark);
  REQUIRE(at != std::string::npos);
  return report.substr(at + mark.size(), report.find(' ', at + mark.size()) - at - mark.size());
}

}  // namespace

TEST_CASE(
    "a journal of noise is set aside: the rack runs on, nothing moves, and everybody is told") {
  Rig rig{"reapply"};
  rig.start_daemon();
  REQUIRE(rig.set("net-1", {{"gain_db", 6}}).status == 200);
  REQUIRE(rig.send("POST", "/rack/lock").status == 200);
  stop(rig);
  const auto journal = rig.file("state/journal.sqlite");
  {
    std::fstream file{journal, std::ios::in | std::ios::out | std::ios::binary};
    file << std::string(8'192, '\xA5');
  }
  const auto spoilt = std::filesystem::file_size(journal);
  // While nobody looked, a knob was turned: re-applying would move it, if anything was wanted.
  rig.net->say("knob " + Rig::uid("net-1") + " gain 3");
  rig.start_daemon();
  const auto said = sentence_of(rig, "journal-broken");
  CHECK(said.starts_with("The journal could not be used: "));
  CHECK(said.find("it is locked now") != std::string::npos);
  const auto named = said.find("It is kept as ") + 14;
  const std::filesystem::path aside = said.substr(named, said.find(", and", named) - named);
  CHECK(std::filesystem::file_size(aside) == spoilt);
  CHECK(rig.daemon->output().find("journal: " + said) != std::string::npos);
  CHECK(rig.get("/rack").body.at("locked") == true);
  CHECK(rig.node("net-1").at("seen").at("settings").at("gain_db") == 3.0);
  CHECK(rig.node("net-1").at("wanted").at("gain_db") == 3.0);
  const auto rows = rig.get("/journal?kind=journal").body.at("entries");
  REQUIRE(rows.size() == 1);
  CHECK(rows[0].at("sequence") == 1);
  CHECK(rows[0].at("why") == said);
  // And on it goes.
  REQUIRE(rig.send("POST", "/rack/unlock").status == 200);
  const auto changed = rig.set("net-1", {{"gain_db", 4}});
  CAPTURE(changed.body.dump());
  CHECK(changed.status == 200);
  stop(rig);
  CHECK(verify(rig, {}).wait() == 0);
  // At the next start the journal is whole, and the alarm no longer holds.
  rig.start_daemon();
  CHECK(eventually([&] { return !rig.has_alarm("journal-broken "); }, patience));
}

TEST_CASE("a chain that a hand has broken is an alarm after the start, and refuses nobody") {
  Rig rig;
  rig.start_daemon();
  CHECK(eventually(
      [&] { return rig.daemon->output().find("journal: its chain is whole") != std::string::npos; },
      patience));
  REQUIRE(rig.set("net-1", {{"gain_db", 6}}).status == 200);
  const auto anchor = anchor_in(
      ask_http(rig.daemon_port(), "GET /api/v1/report HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n").body);
  CHECK(rig.daemon->output().find("journal: anchor " + anchor + " (with a report)") !=
        std::string::npos);
  // Beside the running daemon.
  auto holds = verify(rig, {"--anchor", anchor});
  CHECK(holds.wait() == 0);
  CHECK(holds.output().find(" holds, and all rows before it") != std::string::npos);
  stop(rig);
  REQUIRE(by_hand(rig.file("state/journal.sqlite"),
                  "DROP TRIGGER journal_keeps_words;"
                  "UPDATE journal SET who = 'nobody' WHERE sequence = 2") == "");
  rig.start_daemon();
  REQUIRE(eventually([&] { return rig.has_alarm("journal-broken "); }, patience));
  CHECK(sentence_of(rig, "journal-broken").find("broken at row 2:") != std::string::npos);
  CHECK(rig.daemon->output().find("journal: The journal's chain of hashes is broken at row 2") !=
        std::string::npos);
  CHECK(rig.set("net-1", {{"gain_db", 5}}).status == 200);
  stop(rig);
  auto broken = verify(rig, {"--anchor", anchor});
  CHECK(broken.wait() == 1);
  CHECK(broken.output().find("broken at row 2") != std::string::npos);
  CHECK(broken.output().find(" is missing: ") != std::string::npos);
}

TEST_CASE(
    "rows leave by an export beside which the journal is still proved by last night's report") {
  Rig rig;
  rig.start_daemon();
  REQUIRE(rig.set("net-1", {{"gain_db", 6}}).status == 200);
  stop(rig);
  const auto file = rig.file("season.sqlite").string();
  const auto rack = rig.file("rack.json").string();
  Process none{CATWALKD, {"--export-journal", file, rack}, rig.file("export.log")};
  CHECK(none.wait() == 0);
  CHECK(none.output() == "no row is older than the journal is kept; nothing was exported\n");
  CHECK_FALSE(std::filesystem::exists(file));
  // Rows of years ago, in the place of these.
  REQUIRE(by_hand(rig.file("state/journal.sqlite"),
                  "DROP TRIGGER journal_keeps_rows; DELETE FROM journal;"
                  "CREATE TRIGGER journal_keeps_rows BEFORE DELETE ON journal "
                  "BEGIN SELECT raise(ABORT, 'the journal keeps every row'); END;") == "");
  {
    auto journal = open_journal(rig.file("state/journal.sqlite"));
    auto old = entry_no(1);
    old.at = rack::TimePoint{std::chrono::seconds{1'600'000'000}};
    REQUIRE_FALSE(journal.keep(std::vector<rack::Record>{{1, {old, old, old}, {}}}));
  }
  rig.start_daemon();
  CHECK(rig.daemon->output().find("journal: 3 rows are older than it is kept") !=
        std::string::npos);
  Process running{CATWALKD, {"--export-journal", file, rack}, rig.file("export.log")};
  CHECK(running.wait() == 1);
  CHECK(running.output().find("is a catwalkd running on this state folder?") != std::string::npos);
  stop(rig);
  Process exporting{CATWALKD, {"--export-journal", file, rack}, rig.file("export.log")};
  CHECK(exporting.wait() == 0);
  const auto output = exporting.output();
  CHECK(output.starts_with("rows 1 to 3 are in " + file));
  const auto anchor = output.substr(output.find("anchor ") + 7, 66);
  Process exported{CATWALKD,
                   {"--verify-journal", "--journal", file, "--anchor", anchor},
                   rig.file("verify.log")};
  CHECK(exported.wait() == 0);
  auto rest = verify(rig, {"--anchor", anchor});
  CHECK(rest.wait() == 0);
  CHECK(rest.output().find("it begins after " + anchor) != std::string::npos);
  rig.start_daemon();
  CHECK(rig.set("net-1", {{"gain_db", 5}}).status == 200);
}

TEST_CASE("searches that find nothing, by the hundred, are turned away in words and stop nobody") {
  Rig rig;
  std::filesystem::create_directories(rig.file("state"));
  {
    auto journal = open_journal(rig.file("state/journal.sqlite"));
    std::vector<rack::Record> many(1);
    for (int i = 0; i < 6'000; ++i) many.front().entries.push_back(entry_no(i));
    REQUIRE_FALSE(journal.keep(many));
  }
  rig.start_daemon();
  const auto port = rig.daemon_port();
  std::vector<TcpClient> clients;
  for (int i = 0; i < 100; ++i) {
    clients.emplace_back(port);
    REQUIRE(clients.back().say(
        "GET /api/v1/journal?text=nothing-is-like-this HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n"));
  }
  CHECK(rig.set("net-1", {{"gain_db", 5}}).status == 200);
  int found = 0;
  int refused = 0;
  for (auto& client : clients) {
    const auto answer = client.response();
    if (answer.status == 200) ++found;
    if (answer.status != 503) continue;
    ++refused;
    CHECK(answer.header("retry-after") == "1");
    CHECK(answer.body.find("Too many searches of the journal are waiting") != std::string::npos);
  }
  CHECK(found + refused == 100);
  CHECK(found >= 16);
  CHECK(refused > 0);
}
