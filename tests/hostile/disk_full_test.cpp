// SPDX-License-Identifier: Apache-2.0
// The disk is full under a running daemon, and has room again. "Full" is a limit on how far its
// files may grow (RLIMIT_FSIZE, setrlimit(2)): it needs no rights and no file system of its own,
// and write(2) fails in the same place as with ENOSPC. The signal that comes with it is ignored
// from before the daemon's start, as a full disk sends none.
#include <doctest/doctest.h>
#include <sys/resource.h>

#include <csignal>

#include "tests/support/no_room.hpp"
#include "tests/support/raw_socket.hpp"
#include "tests/support/rig.hpp"

using namespace catwalk::test;

namespace {

const auto patience = std::chrono::seconds{30};

void limit_files(int pid, rlim_t largest) {
  const rlimit limit{largest, RLIM_INFINITY};
  REQUIRE(::prlimit(pid, RLIMIT_FSIZE, &limit, nullptr) == 0);
}

// ThreadSanitizer maps a file of its own when a program starts, and cannot under such a limit.
#ifdef __SANITIZE_THREAD__
constexpr bool starts_on_full = false;
#else
constexpr bool starts_on_full = true;
#endif

struct DiskBench {
  Rig rig;
  DiskBench() { std::signal(SIGXFSZ, SIG_IGN); }

  std::uint16_t port() const { return rig.daemon_port(); }
  RawResponse get(const std::string& path) const {
    return ask_http(port(), "GET " + path + " HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n");
  }
  // Not a byte more than there is now.
  void fill() const {
    limit_files(rig.daemon->pid(),
                std::filesystem::file_size(rig.file("state/journal.sqlite-wal")));
  }
  void make_room() const { limit_files(rig.daemon->pid(), RLIM_INFINITY); }

  std::size_t logged(const std::string& words) const {
    const auto log = rig.daemon->output();
    std::size_t count = 0;
    for (std::size_t at = 0; (at = log.find(words, at)) != std::string::npos; ++at) ++count;
    return count;
  }
  double failures() const {
    const auto text = get("/metrics").body;
    const std::string name = "\ncatwalk_journal_records_failed_total ";
    const auto at = text.find(name);
    REQUIRE(at != std::string::npos);
    return std::stod(text.substr(at + name.size()));
  }
  bool verified() {
    Process verify{
        CATWALKD, {"--verify-journal", rig.file("rack.json").string()}, rig.file("verify.log")};
    return verify.wait() == 0;
  }
};

}  // namespace

TEST_CASE("a full disk refuses changes in words, everybody is told, and room mends all of it") {
  DiskBench bench;
  auto& rig = bench.rig;
  rig.start_daemon();
  REQUIRE(rig.set("bus-1", {{"gain_db", 3}}).status == 200);
  CHECK(bench.get("/readyz").status == 200);
  CHECK(bench.failures() == 0);

  bench.fill();
  for (int i = 0; i < 3; ++i) {
    const auto refused = rig.set("bus-1", {{"gain_db", 4 + i}});
    CHECK(refused.status == 503);
    CHECK(refused.text("outcome") == "not-recorded");
    CHECK(refused.text("detail").find("The journal could not be written") == 0);
  }
  CHECK(rig.send("POST", "/rack/lock").status == 503);
  CHECK(rig.node("bus-1").at("wanted").at("gain_db") == 3.0);
  CHECK(rig.get("/rack").body.at("locked") == false);
  REQUIRE(eventually([&] { return rig.has_alarm("journal-failed "); }, patience));
  const auto not_ready = bench.get("/readyz");
  CHECK(not_ready.status == 503);
  CHECK(not_ready.body.starts_with("The journal cannot be written ("));
  CHECK(not_ready.header("retry-after") == "1");
  CHECK(bench.get("/healthz").status == 200);
  CHECK(bench.failures() >= 4);
  CHECK(bench.logged("journal: it cannot be written (") == 1);
  // What only looks goes on.
  CHECK(rig.get("/nodes").status == 200);
  CHECK(rig.get("/journal?limit=5").status == 200);
  CHECK(bench.get("/api/v1/report").status == 200);
  // A knob that is turned meanwhile is seen, and owed to the journal.
  rig.bus->say("knob " + Rig::uid("bus-2") + " gain 7");
  REQUIRE(eventually([&] { return rig.has_alarm("drifted bus-2"); }, patience));

  bench.make_room();
  REQUIRE(eventually([&] { return bench.get("/readyz").status == 200; }, patience));
  CHECK(bench.logged("journal: it can be written again; ") == 1);
  CHECK(bench.logged("journal: it cannot be written (") == 1);
  CHECK_FALSE(rig.has_alarm("journal-failed "));
  CHECK(rig.set("bus-1", {{"gain_db", 5}}).status == 200);
  // Nothing of what happened meanwhile is lost.
  const auto rows = rig.get("/journal?kind=alarm").body.at("entries").dump();
  CHECK(rows.find("journal-failed raised") != std::string::npos);
  CHECK(rows.find("drifted raised") != std::string::npos);
  rig.daemon->signal(SIGTERM);
  CHECK(rig.daemon->wait() == 0);
  CHECK(bench.verified());
  rig.start_daemon();
  CHECK(rig.node("bus-1").at("wanted").at("gain_db") == 5.0);
}

TEST_CASE("a daemon that ends on a full disk starts on it, shows the rack, and mends with room" *
          doctest::skip(!starts_on_full)) {
  DiskBench bench;
  auto& rig = bench.rig;
  rig.start_daemon();
  REQUIRE(rig.set("bus-1", {{"gain_db", 3}}).status == 200);
  std::uintmax_t largest = 0;
  SUBCASE("killed") {
    bench.fill();
    CHECK(rig.set("bus-1", {{"gain_db", 4}}).status == 503);
    rig.daemon->kill();
    largest = std::filesystem::file_size(rig.file("state/journal.sqlite-wal"));
  }
  // Not even for the file by which SQLite's connections know of each other, 32 KiB.
  SUBCASE("stopped") {
    rig.daemon->signal(SIGTERM);
    REQUIRE(rig.daemon->wait() == 0);
    largest = 16'384;
  }
  {
    const NoRoom full{largest};
    rig.start_daemon();
  }
  CHECK(rig.node("bus-1").at("wanted").at("gain_db") == 3.0);
  // As far as the log has room, it is written; then it is refused.
  int gain = 5;
  REQUIRE(eventually(
      [&] {
        return rig.set("bus-1", {{"gain_db", gain = 11 - gain}}).status == 503;
      },
      patience));
  REQUIRE(eventually([&] { return bench.get("/readyz").status == 503; }, patience));
  bench.make_room();
  REQUIRE(eventually([&] { return bench.get("/readyz").status == 200; }, patience));
  CHECK(rig.set("bus-1", {{"gain_db", 7}}).status == 200);
  rig.daemon->signal(SIGTERM);
  CHECK(rig.daemon->wait() == 0);
  CHECK(bench.verified());
}
