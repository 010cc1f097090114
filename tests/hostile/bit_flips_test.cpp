// SPDX-License-Identifier: Apache-2.0
// A disk that fails, and a hand that writes anything: a real journal, with its write-ahead log, has
// bits turned, bytes replaced, pages swapped, its end cut off, or noise put behind it; then a
// daemon starts on it. It always has a journal afterwards, hands nothing unlawful to the core,
// speaks under an epoch that is not below the last that could be read, and goes on to record.
// CATWALK_FLIPS says how often, the default suits a test; CATWALK_SEED where to begin, so that a
// run that failed can be looked at again, with CATWALK_SEED the sum of its seed and run, and one
// flip.
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <random>

#include "daemon/rack/core/core.hpp"
#include "daemon/rack/values/wire.hpp"
#include "daemon/store/open_store.hpp"
#include "tests/support/store_fixture.hpp"

using namespace catwalk;
using namespace catwalk::test;
using namespace std::chrono_literals;

namespace {

const rack::TimePoint evening = std::chrono::sys_days{std::chrono::year{2026} / 8 / 14} + 20h;
constexpr std::uint32_t high_epoch = 2'000'000'000;  // above the clock's

int flips() {
  const char* asked = std::getenv("CATWALK_FLIPS");
  return asked == nullptr ? 400 : std::atoi(asked);
}

std::uint64_t first_seed() {
  const char* asked = std::getenv("CATWALK_SEED");
  return asked == nullptr ? std::random_device{}() : std::stoull(asked);
}

std::string read_file(const std::filesystem::path& file) {
  std::ifstream in{file, std::ios::binary};
  return {std::istreambuf_iterator<char>{in}, {}};
}
void write_file(const std::filesystem::path& file, const std::string& bytes) {
  std::ofstream{file, std::ios::binary | std::ios::trunc} << bytes;
}

// As it stands on the disk while a daemon runs: the database, and what is only in its log.
struct Files {
  std::string database;
  std::string log;
};

Files real_journal() {
  const TemporaryFolder folder;
  const auto file = folder.path() / "journal.sqlite";
  const auto settings = [](int i) { return slide_at(i % 9, 500 + i); };
  const auto record = [&](int i) {
    rack::Record made{static_cast<rack::RecordId>(i), {entry_no(i), entry_no(i, "right")}, {}};
    made.writes.emplace_back(
        rack::KeepWanted{uid(1 + static_cast<unsigned>(i % 2)), {settings(i), 7}});
    made.writes.emplace_back(rack::KeepUnfinished{
        {static_cast<rack::ChangeId>(i), uid(1), settings(i), settings(i + 1)}});
    made.writes.emplace_back(rack::KeepAlarm{{static_cast<rack::AlarmId>(i),
                                              rack::AlarmKind::drifted,
                                              "left",
                                              "left is not as wanted.",
                                              evening,
                                              {},
                                              {},
                                              rack::Shelving{"ana", "later", evening + 1h}}});
    return std::vector{made};
  };
  auto journal = open_journal(file);
  for (int i = 1; i <= 30; ++i) REQUIRE_FALSE(journal.keep(record(i)));
  const std::vector<rack::Record> rest{
      {1,
       {},
       {rack::KeepLock{rack::Lock{"Ana", "doors", evening}}, rack::KeepSegment{"speeches"},
        rack::KeepEpoch{{high_epoch}}, rack::KeepCue{"doors"},
        rack::KeepReached{"speeches", evening},
        rack::KeepTick{
            {"speeches", "finale", "ears-1.off", "before: ears-1 off", {"Ana", evening}}},
        rack::KeepSwitch{{77,
                          "speeches",
                          "finale",
                          "",
                          "Ana",
                          "cue",
                          rack::Waiver{"Bo", "so"},
                          true,
                          2,
                          78,
                          {{uid(1), settings(1), settings(2)}}}}}}};
  REQUIRE_FALSE(journal.keep(rest));
  by_hand(file, "PRAGMA wal_checkpoint(TRUNCATE)");
  for (int i = 31; i <= 35; ++i) REQUIRE_FALSE(journal.keep(record(i)));
  return {read_file(file), read_file(file.string() + "-wal")};
}

void spoil(std::string& bytes, std::mt19937_64& random) {
  constexpr std::size_t page = 4'096;
  if (bytes.empty()) return;
  const auto below = [&](std::size_t end) { return static_cast<std::size_t>(random() % end); };
  const auto turn_bits = [&](std::size_t from, std::size_t to) {
    for (auto left = 1 + below(8); left > 0; --left)
      bytes[from + below(to - from)] ^= static_cast<char>(1U << below(8));
  };
  switch (below(7)) {
    case 0:
      return turn_bits(0, bytes.size());
    case 1:  // where a page says what it is
      for (std::size_t i = 0; i < 4; ++i) {
        const auto at = page * below(1 + (bytes.size() - 1) / page);
        turn_bits(at, std::min(at + 120, bytes.size()));
      }
      return;
    case 2:
      return bytes.resize(below(bytes.size()));
    case 3:
      for (auto left = 1 + below(200); left > 0; --left)
        bytes[below(bytes.size())] = static_cast<char>(random());
      return;
    case 4: {
      const auto at = page * below(1 + (bytes.size() - 1) / page);
      for (auto i = at; i < std::min(at + page, bytes.size()); ++i)
        bytes[i] = static_cast<char>(random());
      return;
    }
    case 5: {
      const auto a = page * below(std::max<std::size_t>(1, bytes.size() / page));
      const auto b = page * below(std::max<std::size_t>(1, bytes.size() / page));
      if (std::max(a, b) + page <= bytes.size())
        std::swap_ranges(bytes.begin() + static_cast<std::ptrdiff_t>(a),
                         bytes.begin() + static_cast<std::ptrdiff_t>(a + page),
                         bytes.begin() + static_cast<std::ptrdiff_t>(b));
      return;
    }
    default:
      for (auto left = below(9'000); left > 0; --left) bytes += static_cast<char>(random());
  }
}

// The epoch as whoever has only SQLite would read it; nothing: it cannot be read, or is none.
std::optional<std::uint32_t> readable_epoch(const std::filesystem::path& file) {
  try {
    store::Connection connection{file.string(), store::Connection::Access::read};
    store::Statement fact{connection, "SELECT number FROM facts WHERE name = 'epoch'"};
    if (!fact.step() || !fact.is_integer(0)) return std::nullopt;
    const auto epoch = fact.integer(0);
    if (epoch < 0 || epoch >= 0xFFFF'FFFF) return std::nullopt;
    return static_cast<std::uint32_t>(epoch);
  } catch (const store::SqliteError&) {
    return std::nullopt;
  }
}

bool lawful(const plan::Settings& settings) {
  const auto wire = rack::to_wire(settings);
  return rack::from_wire(wire) == settings && settings.label.size() <= protocol::longest_label;
}

bool lawful(const plan::NodeSettings& settings) {
  if (const auto* own = settings.amplifier()) return lawful(*own);
  return rack::from_wire(rack::to_wire(*settings.matrix())) == *settings.matrix();
}

// A rack begins with it and reads its nodes. True: everything that it asks to be kept was kept.
bool run_a_rack(store::OpenedStore& opened) {
  auto plan = std::make_shared<const plan::RackPlan>(small_rack());
  rack::Core core{plan, opened.restored, evening};
  std::vector<rack::Record> records;
  const auto on = [&](const rack::Event& event) {
    for (auto& effect : core.on(event, evening))
      if (auto* record = std::get_if<rack::Record>(&effect)) records.push_back(std::move(*record));
  };
  if (!opened.set_aside.empty()) on(rack::JournalFound{opened.set_aside});
  for (const auto& line : plan->lines) on(rack::LineWentUp{line});
  for (const auto& node : plan->nodes)
    on(rack::NodeReported{uid(node.uid.bits()), reading_of(slide_at(3, 518))});
  on(rack::TimePassed{});
  const auto trouble = opened.journal.keep(records);
  if (!trouble) return true;
  CAPTURE(trouble->sentence);
  CHECK(trouble->sentence.ends_with("it sets this journal aside"));
  return false;
}

}  // namespace

TEST_CASE(
    "whatever happens to a journal's bytes, the daemon starts, lawfully, and goes on to record") {
  const auto files = real_journal();
  const auto seed = first_seed();
  MESSAGE("seed " << seed);
  int set_aside = 0;
  for (int run = 0; run < flips(); ++run) {
    CAPTURE(seed);
    CAPTURE(run);
    std::mt19937_64 random{seed + static_cast<std::uint64_t>(run)};
    const TemporaryFolder folder;
    const auto file = folder.path() / "journal.sqlite";
    auto spoilt = files;
    if (random() % 3 != 0) spoil(spoilt.database, random);
    if (random() % 2 != 0) spoil(spoilt.log, random);
    write_file(file, spoilt.database);
    write_file(file.string() + "-wal", spoilt.log);
    const auto copy = folder.path() / "copy.sqlite";
    write_file(copy, spoilt.database);
    write_file(copy.string() + "-wal", spoilt.log);
    const auto before = readable_epoch(copy);

    auto opened = store::open_store(file, evening);
    REQUIRE_MESSAGE(opened, (opened ? std::string{} : opened.error().sentence));
    auto& state = opened->restored;
    CAPTURE(opened->set_aside);
    if (before) CHECK(state.epoch.value > *before);
    CHECK(state.epoch.value >= evening.time_since_epoch() / 1s);
    for (const auto& [node, wanted] : state.wanted) CHECK(lawful(wanted.settings));
    for (const auto& one : state.unfinished) CHECK((lawful(one.before) && lawful(one.after)));
    if (!opened->set_aside.empty()) {
      ++set_aside;
      CHECK(state.wanted.empty());
      CHECK(rows_of(file).size() == 1);
      CHECK_FALSE(first_broken(file));
    }
    auto last = opened->restored.epoch.value;
    bool kept = run_a_rack(opened.value());
    // Once more, as after the evening. What only showed when it was written is set aside now.
    for (int starts = 0; starts < 2; ++starts) {
      { const auto closed = std::move(opened).value(); }
      opened = store::open_store(file, evening);
      REQUIRE_MESSAGE(opened, (opened ? std::string{} : opened.error().sentence));
      CHECK(opened->restored.epoch.value > last);
      last = opened->restored.epoch.value;
      kept = run_a_rack(opened.value());
    }
    CHECK(kept);
  }
  MESSAGE(set_aside << " of " << flips() << " set aside");
  CHECK(set_aside > 0);
}
