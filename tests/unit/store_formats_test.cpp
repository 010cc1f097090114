// SPDX-License-Identifier: Apache-2.0
// State folders of older and of later programs. tests/unit/kept_states has one of each format from
// 7 on, as keep_state.sh left it when that format was the last: a switch under way, and an end that
// is only in the log.
#include "daemon/store/open_store.hpp"
#include "daemon/store/tables.hpp"
#include "tests/support/store_fixture.hpp"

using namespace catwalk;
using namespace catwalk::test;
using namespace std::chrono_literals;

namespace {

constexpr int first_kept = 7;
const rack::TimePoint later_on = std::chrono::sys_days{std::chrono::year{2027} / 1 / 1} + 20h;

struct KeptState {
  TemporaryFolder folder;
  std::filesystem::path file = folder.path() / "journal.sqlite";

  explicit KeptState(int format) {
    const std::filesystem::path kept{CATWALK_KEPT_STATES};
    for (const auto& part :
         std::filesystem::directory_iterator{kept / ("format-" + std::to_string(format))})
      std::filesystem::copy(part.path(), folder.path());
  }
  std::filesystem::path copy_of(int format, const std::string& more = {}) const {
    return file.string() + ".format-" + std::to_string(format) + more;
  }
};

// All rows of a statement, as SQLite itself writes them, so that this program's reading of a table
// is not held against itself.
std::string told(const std::filesystem::path& file, const std::string& sql) {
  sqlite3* raw = nullptr;
  REQUIRE(sqlite3_open_v2(file.c_str(), &raw, SQLITE_OPEN_READONLY, nullptr) == SQLITE_OK);
  const std::unique_ptr<sqlite3, decltype(&sqlite3_close)> handle{raw, &sqlite3_close};
  std::string text;
  const auto add = [](void* rows, int columns, char** values, char** /*names*/) {
    auto& lines = *static_cast<std::string*>(rows);
    for (int i = 0; i < columns; ++i)
      lines.append(values[i] == nullptr ? "NULL" : values[i]).append("|");
    lines += '\n';
    return 0;
  };
  REQUIRE(sqlite3_exec(raw, sql.c_str(), add, &text, nullptr) == SQLITE_OK);
  return text;
}

const std::vector<std::string> what_is_kept{
    "SELECT sequence, at_us, kind, who, node, change, segment, what, why, fate, hash FROM journal",
    "SELECT uid, revision, gain_cdb, filter, centre_hz, power, label FROM wanted ORDER BY uid",
    "SELECT id, kind, subject, raised_us, returned FROM alarms ORDER BY id",
    "SELECT id, left_segment, entered_segment, step FROM switching",
    "SELECT place, uid, before_centre_hz, target_centre_hz FROM switching_nodes ORDER BY place",
    "SELECT left_segment, entered_segment, row, who FROM ticks",
    "SELECT segment, at_us FROM reached ORDER BY segment"};

std::vector<std::string> contents(const std::filesystem::path& file) {
  std::vector<std::string> all;
  for (const auto& sql : what_is_kept) all.push_back(told(file, sql));
  return all;
}

}  // namespace

TEST_CASE("the state folder of every older format is taken with all that was in it") {
  for (int format = first_kept; format < store::file_format; ++format) {
    CAPTURE(format);
    const KeptState state{format};
    const auto before = contents(state.file);
    for (const auto& table : before) CHECK_FALSE(table.empty());

    const auto opened = store::open_store(state.file, later_on);
    REQUIRE_MESSAGE(opened, (opened ? std::string{} : opened.error().sentence));
    CHECK(opened->set_aside.empty());
    CHECK(contents(state.file) == before);
    CHECK_FALSE(first_broken(state.file));
    CHECK(opened->restored.wanted.size() == 8);
    REQUIRE(opened->restored.switching);
    CHECK(opened->restored.switching->entered == "lantern-parade");
    CHECK(opened->restored.segment == "speeches");
    CHECK(opened->restored.ticks.size() == 1);
    CHECK(told(state.file, "PRAGMA user_version") == std::to_string(store::file_format) + "|\n");

    CHECK(opened->journal.brought_up() ==
          "The journal was brought from format " + std::to_string(format) + " to " +
              std::to_string(store::file_format) + "; as it was before it is kept as " +
              state.copy_of(format).string() + ".");
  }
}

TEST_CASE("the copy is whole, of the older format, closed to others, and can be given back") {
  const KeptState state{first_kept};
  const auto before = contents(state.file);
  { REQUIRE(store::open_store(state.file, later_on)); }
  const auto copy = state.copy_of(first_kept);
  CHECK(contents(copy) == before);
  CHECK(told(copy, "PRAGMA user_version") == std::to_string(first_kept) + "|\n");
  CHECK_FALSE(first_broken(copy));
  using std::filesystem::perms;
  CHECK(std::filesystem::status(copy).permissions() ==
        (perms::owner_read | perms::owner_write | perms::group_read));
  CHECK_FALSE(std::filesystem::exists(state.file.string() + ".format.part"));

  // Given back to the older program, which writes on; then the later one comes again.
  const auto first_copy = bytes_of(copy);
  std::filesystem::copy(copy, state.file, std::filesystem::copy_options::overwrite_existing);
  REQUIRE(by_hand(state.file, "DELETE FROM reached") == "");
  { REQUIRE(store::open_store(state.file, later_on)); }
  CHECK(bytes_of(copy) == first_copy);
  CHECK(told(state.copy_of(first_kept, "-2"), "SELECT count(*) FROM reached") == "0|\n");
}

TEST_CASE("a journal of our own format is not copied, and nothing is said") {
  const TemporaryFolder folder;
  const auto file = folder.path() / "journal.sqlite";
  for (int start = 0; start < 2; ++start) {
    const auto journal = open_journal(file);
    CHECK(journal.brought_up().empty());
  }
  for (const auto& entry : std::filesystem::directory_iterator{folder.path()})
    CHECK(entry.path().filename().string().find(".format") == std::string::npos);
}

TEST_CASE("a journal of a later program is refused in words, and is not touched") {
  const TemporaryFolder folder;
  const auto file = folder.path() / "journal.sqlite";
  {
    auto journal = open_journal(file);
    REQUIRE_FALSE(journal.keep(std::vector<rack::Record>{{1, {entry_no(1)}, {}}}));
  }
  const auto next = std::to_string(store::file_format + 1);
  REQUIRE(by_hand(file, "CREATE TABLE of_tomorrow (x); UPDATE facts SET number = " + next +
                            " WHERE name = 'format'; PRAGMA user_version = " + next) == "");
  const auto before = bytes_of(file);
  const auto opened = store::open_store(file, later_on);
  REQUIRE_FALSE(opened);
  CHECK(opened.error().kind == store::StoreError::Kind::newer);
  const auto own = std::to_string(store::file_format);
  CHECK(opened.error().sentence ==
        "the journal has format " + next +
            ", which a later Catwalk writes; this one knows up to format " + own +
            ", and has not touched it. Install the later one again, or give this one the copy that "
            "the later one kept beside it under the name journal.sqlite.format-" +
            own + ", or another state folder");
  CHECK(bytes_of(file) == before);
  for (const auto& entry : std::filesystem::directory_iterator{folder.path()})
    CHECK(entry.path().filename().string().find("broken") == std::string::npos);
}

TEST_CASE("where no copy can be written an older journal stays as it is") {
  const KeptState state{first_kept};
  // What cannot be written has a folder in its place.
  std::filesystem::create_directory(state.file.string() + ".format.part");
  const auto journal = store::Journal::open(state.file);
  REQUIRE_FALSE(journal);
  // Not as a disk that has failed, whose daemon would run on without this journal.
  CHECK(journal.error().kind == store::StoreError::Kind::no_copy);
  CHECK(journal.error().sentence.starts_with(
      "the journal is to be brought from format " + std::to_string(first_kept) + " to " +
      std::to_string(store::file_format) +
      ", and no copy of it can be kept before, so nothing of it was changed: "));
  CHECK(journal.error().sentence.find(".format.part: File exists") != std::string::npos);
  CHECK(told(state.file, "PRAGMA user_version") == std::to_string(first_kept) + "|\n");
}

TEST_CASE("a state folder that is reached by a link is brought up to date, once") {
  const KeptState state{first_kept};
  const TemporaryFolder beside;
  const auto link = beside.path() / "linked";
  std::filesystem::create_directory_symlink(state.file.parent_path(), link);
  for (int start = 0; start < 2; ++start) {
    CAPTURE(start);
    const auto opened = store::Journal::open(link / state.file.filename());
    REQUIRE(opened);
    CHECK((opened->brought_up() == "") == (start == 1));
  }
  int copies = 0;
  for (const auto& entry : std::filesystem::directory_iterator{state.file.parent_path()})
    copies += entry.path().filename().string().find(".format-") != std::string::npos ? 1 : 0;
  CHECK(copies == 1);
}
