// SPDX-License-Identifier: Apache-2.0
// The journal at the start, whatever stands in its place.
#include "daemon/store/open_store.hpp"

#include <sys/stat.h>

#include <fstream>
#include <functional>

#include "daemon/rack/values/epochs.hpp"
#include "daemon/store/chain.hpp"
#include "daemon/store/files.hpp"
#include "daemon/store/reader.hpp"
#include "tests/support/store_fixture.hpp"

using namespace catwalk;
using namespace catwalk::test;
using namespace std::chrono_literals;

namespace {

// 2026-08-14 20:15:00 UTC
const rack::TimePoint evening =
    std::chrono::sys_days{std::chrono::year{2026} / 8 / 14} + 20h + 15min;
constexpr std::uint32_t evening_s = 1'786'738'500;

struct OpenBench {
  TemporaryFolder folder;
  std::filesystem::path file = folder.path() / "journal.sqlite";
  std::filesystem::path aside = folder.path() / "journal.sqlite.broken-20260814T201500Z";

  // Something wanted, a lock, a segment, an epoch far above the clock's, an alarm.
  void write() const {
    auto journal = open_journal(file);
    const std::vector<rack::Record> records{
        {1,
         {entry_no(1), entry_no(2)},
         {rack::KeepWanted{uid(1), {slide_at(3, 518), 4}},
          rack::KeepUnfinished{{41, uid(1), slide_at(3, 518), slide_at(4, 518)}},
          rack::KeepLock{rack::Lock{"Ana", "doors", evening}}, rack::KeepSegment{"finale"},
          rack::KeepEpoch{{evening_s + 1'000}},
          rack::KeepAlarm{{9, rack::AlarmKind::silent, "left", "left is silent.", evening, {}, {}}},
          rack::KeepSwitch{{17,
                            "speeches",
                            "finale",
                            "last",
                            "Ana",
                            "cue",
                            {},
                            false,
                            0,
                            0,
                            {{uid(2), slide_at(1, 500), slide_at(2, 600)}}}},
          rack::KeepReached{"speeches", evening}}}};
    REQUIRE_FALSE(journal.keep(records));
  }

  store::OpenedStore open() const {
    auto opened = store::open_store(file, evening);
    REQUIRE_MESSAGE(opened, (opened ? std::string{} : opened.error().sentence));
    return std::move(opened).value();
  }
};

unsigned mode_of(const std::filesystem::path& file) {
  struct stat status {};
  REQUIRE(::lstat(file.c_str(), &status) == 0);
  return status.st_mode & 07777;
}

class Umask {
 public:
  explicit Umask(mode_t mask) : before_{::umask(mask)} {}
  Umask(const Umask&) = delete;
  Umask& operator=(const Umask&) = delete;
  ~Umask() { ::umask(before_); }

 private:
  mode_t before_;
};

using Epochs = std::vector<protocol::Epoch>;

}  // namespace

TEST_CASE("a journal that is whole is taken as it is, and nothing is set aside") {
  const OpenBench bench;
  bench.write();
  const auto opened = bench.open();
  CHECK(opened.set_aside.empty());
  CHECK(opened.restored.wanted.size() == 1);
  CHECK(opened.restored.unfinished.size() == 1);
  CHECK(opened.restored.epoch.value == evening_s + 1'001);
  CHECK_FALSE(std::filesystem::exists(bench.aside));
}

TEST_CASE("which epochs were spoken under is kept apart from those that were only taken") {
  const OpenBench bench;
  bench.write();
  const auto spoken = [&] { return bench.open().restored.spoken; };
  const auto speak = [&](protocol::Epoch epoch) {
    auto journal = open_journal(bench.file);
    const std::vector<rack::Record> records{{1, {}, {rack::KeepSpoken{epoch}}}};
    REQUIRE_FALSE(journal.keep(records));
  };
  CHECK(spoken() == protocol::OurEpochs{});
  speak({evening_s + 900});
  // Taken with each start, and not spoken under.
  for (int i = 0; i < 3; ++i) CHECK(spoken().all() == Epochs{{evening_s + 900}});
  // A number that begins again is the newest, and as many are kept as can matter.
  Epochs all;
  for (std::uint32_t i = 1; i <= protocol::OurEpochs::most; ++i)
    all.push_back({evening_s + 900 - 10 * i});
  for (const auto epoch : all) speak(epoch);
  speak(all.front());
  std::ranges::rotate(all, all.begin() + 1);
  CHECK(spoken().all() == all);
  REQUIRE(by_hand(bench.file, "UPDATE spoken SET epoch = -1 WHERE place = 5") == "");
  const auto unknown = spoken();
  CHECK(unknown.all() == Epochs{protocol::OurEpochs::unknown});
  CHECK(unknown.have({77}));
  speak({evening_s + 2'000});  // from then on it is known again
  CHECK(spoken().all() == Epochs{{evening_s + 2'000}});
}

TEST_CASE("a program from before that was kept spoke under the epoch that it took last") {
  const OpenBench bench;
  bench.write();
  REQUIRE(
      by_hand(bench.file,
              without_matrices +
                  "DROP TABLE ticks; DROP TABLE spoken; ALTER TABLE switching DROP COLUMN stuck;"
                  "PRAGMA user_version = 5;") == "");
  CHECK(bench.open().restored.spoken.all() == Epochs{{evening_s + 1'000}});
}

TEST_CASE("whatever is not a journal is set aside, and a new one begins that says so") {
  struct Case {
    const char* what;
    std::function<void(const OpenBench&)> put;
    const char* says;
    bool is_known = false;  // epoch, lock and segment can still be read
  };
  const auto by = [](const std::string& sql) {
    return [sql](const OpenBench& bench) {
      bench.write();
      REQUIRE(by_hand(bench.file, "PRAGMA ignore_check_constraints = ON;" + sql) == "");
    };
  };
  for (const auto& [what, put, says, is_known] : std::vector<Case>{
           {"text",
            [](const OpenBench& bench) {
              std::ofstream{bench.file} << "the minutes of the harbour board, no database at all\n"
                                        << std::string(200, '.');
            },
            "file is not a database"},
           {"another database",
            [](const OpenBench& bench) {
              REQUIRE(by_hand(bench.file, "CREATE TABLE minutes (said TEXT)") == "");
            },
            "it is a database of something else"},
           {"a folder",
            [](const OpenBench& bench) { std::filesystem::create_directory(bench.file); },
            "is not a regular file"},
           {"a symbolic link",
            [](const OpenBench& bench) {
              std::ofstream{bench.folder.path() / "elsewhere"} << "precious";
              std::filesystem::create_symlink(bench.folder.path() / "elsewhere", bench.file);
            },
            "is a symbolic link, which is not followed"},
           {"a link in the place of its log",
            [](const OpenBench& bench) {
              std::ofstream{bench.folder.path() / "elsewhere"} << "precious";
              std::filesystem::create_symlink(bench.folder.path() / "elsewhere",
                                              bench.file.string() + "-wal");
            },
            "is a symbolic link, which is not followed"},
           {"a bit of its format has turned", by("PRAGMA user_version = 72"),
            "the journal has format 72", true},
           {"a table is gone", by("DROP TABLE wanted"), "no such table: wanted", true},
           {"a table is another", by("DROP TABLE unfinished; CREATE TABLE unfinished (x)"),
            "table unfinished has no column named change", true},
           {"facts are gone", by("DROP TABLE facts"), "no such table: facts"},
           {"NULL",
            by("CREATE TABLE other AS SELECT * FROM wanted; DROP TABLE wanted;"
               "ALTER TABLE other RENAME TO wanted; UPDATE wanted SET gain_cdb = NULL"),
            "in table wanted, gain_cdb is \"\"; allowed is a whole number from -32768 to 32767",
            true},
           {"text for a number", by("UPDATE wanted SET centre_hz = 'many'"),
            "in table wanted, centre_hz is \"many\"; allowed is a whole number from 0 to "
            "4294967295",
            true},
           {"a gain beyond the wire", by("UPDATE wanted SET gain_cdb = 32768"),
            "gain_cdb is \"32768\"", true},
           {"a filter beyond the wire", by("UPDATE unfinished SET after_filter = 256"),
            "in table unfinished, after_filter is \"256\"; allowed is a whole number from 0 to 255",
            true},
           {"a label too long", by("UPDATE wanted SET label = printf('%.17c', 'x')"),
            "label is \"xxxxxxxxxxxxxxxxx\"; allowed is text of at most 16 bytes", true},
           {"a label of bytes", by("UPDATE wanted SET label = x'00ff'"), "label is", true},
           {"a node that is none", by("UPDATE wanted SET uid = -1"), "uid is \"-1\"", true},
           {"a revision below none", by("UPDATE wanted SET revision = -1"), "revision is", true},
           {"a time before there was any", by("UPDATE alarms SET raised_us = -1"), "raised_us is",
            true},
           {"a time after the calendar", by("UPDATE reached SET at_us = 9223372036854775807"),
            "at_us is", true},
           {"a flag of two", by("UPDATE switching SET back = 2"), "back is \"2\"", true},
           {"an alarm's number", by("UPDATE alarms SET id = -5"), "id is \"-5\"", true},
           {"a change's number", by("UPDATE unfinished SET change = 9223372036854775807"),
            "change is", true},
           {"a switch's nodes", by("UPDATE switching_nodes SET target_power = 'on'"),
            "target_power is \"on\"", true},
           {"an epoch that has none after it",
            by("UPDATE facts SET number = 4294967295 WHERE name = 'epoch'"),
            "number is \"4294967295\"; allowed is a whole number from 0 to 4294967294"},
           {"a lock of bytes", by("UPDATE facts SET text = x'aa' WHERE name = 'lock'"), "text is"},
           {"a header that forbids to write",
            [](const OpenBench& bench) {
              bench.write();
              std::fstream file{bench.file, std::ios::in | std::ios::out | std::ios::binary};
              file.seekp(18);  // the write version, 1 or 2: sqlite.org/fileformat2.html, 1.3.3
              file.put('\x82');
            },
            "the header of the file forbids to write it", true},
           {"a page of noise",
            [](const OpenBench& bench) {
              bench.write();
              std::fstream file{bench.file, std::ios::in | std::ios::out | std::ios::binary};
              file.seekp(4'096);
              file << std::string(4'096, '\x5A');
            },
            "malformed"}}) {
    const std::string the_case = what;
    CAPTURE(the_case);
    const OpenBench bench;
    put(bench);
    const bool wal = std::filesystem::is_symlink(bench.file.string() + "-wal");
    const auto opened = bench.open();
    CAPTURE(opened.set_aside);
    CHECK(opened.set_aside.find(says) != std::string::npos);
    CHECK(opened.set_aside.find(bench.aside.string()) != std::string::npos);
    CHECK(std::filesystem::exists(std::filesystem::symlink_status(bench.aside)));
    CHECK(std::filesystem::is_symlink(bench.aside.string() + "-wal") == wal);
    const auto elsewhere = bench.folder.path() / "elsewhere";
    if (std::filesystem::exists(elsewhere)) CHECK(bytes_of(elsewhere) == "precious");
    CHECK(opened.restored.wanted.empty());
    CHECK(opened.restored.unfinished.empty());
    CHECK_FALSE(opened.restored.switching);
    CHECK(opened.restored.epoch.value >= evening_s);
    REQUIRE(opened.restored.lock);
    if (is_known) {
      CHECK(opened.restored.epoch.value == evening_s + 1'001);
      CHECK(opened.restored.lock == rack::Lock{"Ana", "doors", evening});
      CHECK(opened.restored.segment == "finale");
      CHECK(opened.restored.last_alarm >= 9);
    }
    const auto rows = rows_of(bench.file);
    REQUIRE(rows.size() == 1);
    CHECK(rows[0].entry.kind == rack::JournalKind::journal);
    CHECK(rows[0].entry.why == opened.set_aside);
    CHECK_FALSE(first_broken(bench.file));
  }
}

TEST_CASE("a label that a bit or a hand has spoilt comes back plain") {
  for (const auto* label : {"CAST(x'e14c' AS TEXT)", "char(8238) || 'L'", "char(27) || 'L'"}) {
    CAPTURE(label);
    const OpenBench bench;
    bench.write();
    REQUIRE(by_hand(bench.file, "UPDATE wanted SET label = " + std::string{label}) == "");
    const auto opened = bench.open();
    CHECK(opened.set_aside == "");
    REQUIRE_FALSE(opened.restored.wanted.empty());
    for (const auto& [uid, wanted] : opened.restored.wanted)
      CHECK(wanted.settings.amplifier()->label == "?L");
  }
}

TEST_CASE("what stands in the place of a hash is not shown as one") {
  const OpenBench bench;
  bench.write();
  REQUIRE(by_hand(bench.file,
                  "INSERT OR REPLACE INTO facts (name, number, text, more) VALUES "
                  "('begins_after', 2, char(27) || '[2J', '')") == "");
  auto reader = store::JournalReader::open(bench.file);
  REQUIRE(reader);
  store::ChainWalk walk{{}};
  CHECK_FALSE(reader.value().walk(walk));
  CHECK(walk.begin() == rack::JournalHead{2, ""});
}

TEST_CASE("when nobody can say whether the rack was locked it is locked, and says why") {
  const OpenBench bench;
  std::ofstream{bench.file} << std::string(5'000, 'x');
  const auto opened = bench.open();
  CHECK(opened.restored.lock ==
        rack::Lock{"rack", "the journal was broken, and nobody knows whether the rack was locked",
                   evening});
  CHECK(opened.set_aside.find("it is locked now") != std::string::npos);
}

TEST_CASE("facts that lost a column: what stands in the others is still found") {
  const OpenBench bench;
  bench.write();
  REQUIRE(by_hand(bench.file, "ALTER TABLE facts RENAME COLUMN more TO mort") == "");
  const auto opened = bench.open();
  CHECK_FALSE(opened.set_aside.empty());
  CHECK(opened.restored.epoch.value > evening_s + 1'000);
  CHECK(opened.restored.segment == "finale");
  CHECK(opened.set_aside.find("it is locked now") != std::string::npos);  // its reason is gone
}

TEST_CASE("a rack that was open stays open when the rest of its journal is broken") {
  const OpenBench bench;
  {
    auto journal = open_journal(bench.file);
    REQUIRE(journal.restore(evening));
  }
  REQUIRE(by_hand(bench.file, "DROP TABLE wanted") == "");
  const auto opened = bench.open();
  CHECK_FALSE(opened.set_aside.empty());
  CHECK_FALSE(opened.restored.lock);
}

TEST_CASE("what is set aside keeps every byte, and a second and third have names of their own") {
  const OpenBench bench;
  std::vector<std::string> contents;
  for (int i = 0; i < 3; ++i) {
    std::filesystem::remove(bench.file);
    contents.push_back(std::string(3'000, static_cast<char>('a' + i)));
    std::ofstream{bench.file} << contents.back();
    std::filesystem::remove(bench.file.string() + "-wal");
    static_cast<void>(bench.open());
  }
  CHECK(bytes_of(bench.aside) == contents[0]);
  CHECK(bytes_of(bench.aside.string() + "-2") == contents[1]);
  CHECK(bytes_of(bench.aside.string() + "-3") == contents[2]);
}

TEST_CASE("a journal that is in use is never set aside") {
  const OpenBench bench;
  auto first = open_journal(bench.file);
  const auto second = store::open_store(bench.file, evening);
  REQUIRE_FALSE(second);
  CHECK(second.error().kind == store::StoreError::Kind::in_use);
  CHECK_FALSE(std::filesystem::exists(bench.aside));
}

TEST_CASE(
    "a journal that turned out to be broken while it was written is set aside at the next start") {
  const OpenBench bench;
  bench.write();
  store::mark_broken(bench.file);
  CHECK(bench.open().set_aside.find("turned out to be broken when it was last written") !=
        std::string::npos);
  CHECK(bench.open().set_aside.empty());
}

TEST_CASE("a change's number is not used again after a journal was set aside") {
  const OpenBench bench;
  {
    auto journal = open_journal(bench.file);
    auto entry = entry_no(1);
    entry.change = 4'711;
    REQUIRE_FALSE(journal.keep(std::vector<rack::Record>{{1, {entry}, {}}}));
  }
  REQUIRE(by_hand(bench.file, "DROP TABLE wanted") == "");
  CHECK(bench.open().restored.last_change == 4'711);
}

TEST_CASE("the journal and what belongs to it are closed to others, whatever the umask") {
  for (const mode_t mask : {mode_t{0}, mode_t{022}, mode_t{077}}) {
    CAPTURE(mask);
    const Umask umask{mask};
    const OpenBench bench;
    const auto opened = bench.open();
    for (const char* part : {"", "-wal", "-shm", ".lock"}) {
      CAPTURE(part);
      CHECK(mode_of(bench.file.string() + part) == 0640U);
    }
  }
}

TEST_CASE("a journal of before that was open to others is closed") {
  const OpenBench bench;
  bench.write();
  REQUIRE(::chmod(bench.file.c_str(), 0666) == 0);
  static_cast<void>(bench.open());
  CHECK(mode_of(bench.file) == 0640U);
}

TEST_CASE(
    "a disk that has failed before there was a journal leaves a rack without a past, locked") {
  const OpenBench bench;
  const auto folder = bench.folder.path() / "stopgap";
  std::filesystem::create_directory(folder);
  auto opened =
      store::open_stopgap(folder, {"make /state/journal.sqlite: Read-only file system"}, evening);
  REQUIRE(opened);
  CHECK(opened->set_aside.starts_with(
      "The journal could not be used: make /state/journal.sqlite: Read-only file system. Until "
      "that is mended and the daemon is started again, what happens is kept in " +
      folder.string() + " only, which does not last."));
  CHECK(opened->set_aside.find("it is locked now") != std::string::npos);
  REQUIRE(opened->restored.lock);
  CHECK(opened->restored.lock->who == "rack");
  CHECK(opened->restored.wanted.empty());
  CHECK(rows_of(folder / "journal.sqlite").size() == 1);
}
