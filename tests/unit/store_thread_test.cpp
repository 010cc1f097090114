// SPDX-License-Identifier: Apache-2.0
#include "daemon/store/store_thread.hpp"

#include <algorithm>
#include <mutex>
#include <numeric>
#include <thread>

#include "tests/support/store_fixture.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

// Answers as they come on the store's thread; read by the test when the thread has ended.
struct Answers {
  std::vector<std::pair<rack::RecordId, std::optional<store::StoreError>>> kept;
  std::mutex mutex;
  store::StoreThread::Kept taker() {
    return [this](rack::RecordId id, std::optional<store::StoreError> error) {
      const std::lock_guard lock{mutex};
      kept.emplace_back(id, std::move(error));
    };
  }
  std::vector<rack::RecordId> ids() {
    const std::lock_guard lock{mutex};
    std::vector<rack::RecordId> all;
    for (const auto& [id, error] : kept) all.push_back(id);
    return all;
  }
};

}  // namespace

TEST_CASE("each record is answered once, in order, and is on disk when the thread has ended") {
  TemporaryFolder folder;
  const auto file = folder.path() / "journal.sqlite";
  Answers answers;
  std::vector<rack::RecordId> expected(500);
  std::iota(expected.begin(), expected.end(), 1);
  {
    store::StoreThread thread{open_journal(file), answers.taker()};
    for (const auto id : expected) thread.keep({id, {entry_no(static_cast<int>(id))}, {}});
  }
  CHECK(answers.ids() == expected);
  for (const auto& [id, error] : answers.kept) CHECK_FALSE(error);
  auto journal = open_journal(file);
  rack::JournalQuery all;
  all.limit = 1000;
  const auto rows = journal.read(all);
  REQUIRE(rows);
  REQUIRE(rows->size() == 500);
  CHECK(rows->front().entry == entry_no(500));
  CHECK_FALSE(*journal.first_broken_row());
}

TEST_CASE("a reading sees every record that was asked for before it") {
  TemporaryFolder folder;
  Answers answers;
  std::vector<std::size_t> sizes;
  {
    store::StoreThread thread{open_journal(folder.path() / "journal.sqlite"), answers.taker()};
    for (std::size_t i = 1; i <= 20; ++i) {
      thread.keep({i, {entry_no(static_cast<int>(i))}, {}});
      thread.read({}, [&sizes](auto rows) { sizes.push_back(rows ? rows->size() : 0); });
    }
  }
  REQUIRE(sizes.size() == 20);
  for (std::size_t i = 0; i < sizes.size(); ++i) CHECK(sizes[i] >= i + 1);
  CHECK(sizes.back() == 20);
}

TEST_CASE("a record that cannot be kept is answered with the reason, and later ones are kept") {
  TemporaryFolder folder;
  const auto file = folder.path() / "journal.sqlite";
  Answers answers;
  {
    forbid_wanted(file, 99);
    store::StoreThread thread{open_journal(file), answers.taker()};
    thread.keep({1, {entry_no(1)}, {rack::KeepWanted{uid(99), {slide_at(9, 500), 9}}}});
    REQUIRE(eventually([&] { return answers.ids().size() == 1; }));
    thread.keep({2, {entry_no(2)}, {}});
  }
  REQUIRE(answers.ids() == std::vector<rack::RecordId>{1, 2});
  REQUIRE(answers.kept[0].second);
  CHECK(answers.kept[0].second->sentence == "step: forbidden by the test");
  CHECK_FALSE(answers.kept[1].second);
  auto journal = open_journal(file);
  CHECK(journal.read({})->size() == 1);
}

TEST_CASE("records come from many threads, and none is lost or answered twice") {
  TemporaryFolder folder;
  Answers answers;
  {
    store::StoreThread thread{open_journal(folder.path() / "journal.sqlite"), answers.taker()};
    std::vector<std::thread> askers;
    for (rack::RecordId from = 0; from < 4; ++from)
      askers.emplace_back([&thread, from] {
        for (rack::RecordId i = 0; i < 50; ++i)
          thread.keep({from * 50 + i, {entry_no(static_cast<int>(i))}, {}});
      });
    for (auto& asker : askers) asker.join();
  }
  auto ids = answers.ids();
  std::ranges::sort(ids);
  std::vector<rack::RecordId> expected(200);
  std::iota(expected.begin(), expected.end(), 0);
  CHECK(ids == expected);
}
