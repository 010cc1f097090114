// SPDX-License-Identifier: Apache-2.0
#include "daemon/store/store_thread.hpp"

#include <algorithm>
#include <atomic>
#include <functional>
#include <future>
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
  rack::JournalQuery all;
  all.limit = 1000;
  const auto rows = rows_of(file, all);
  REQUIRE(rows.size() == 500);
  CHECK(rows.front().entry == entry_no(500));
  CHECK_FALSE(first_broken(file));
}

TEST_CASE("a reading sees every record that was asked for before it") {
  TemporaryFolder folder;
  Answers answers;
  std::vector<std::size_t> sizes;
  {
    store::StoreThread thread{open_journal(folder.path() / "journal.sqlite"), answers.taker()};
    for (std::size_t i = 1; i <= 20; ++i) {
      thread.keep({i, {entry_no(static_cast<int>(i))}, {}});
      rack::JournalQuery query;
      query.asker = std::to_string(i % 3);
      thread.read(query, [&sizes](auto page) { sizes.push_back(page ? page->rows.size() : 0); });
    }
  }
  REQUIRE(sizes.size() == 20);
  for (std::size_t i = 0; i < sizes.size(); ++i) CHECK(sizes[i] >= 1);
  CHECK(std::ranges::max(sizes) == 20);
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
  CHECK(rows_of(file).size() == 1);
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

TEST_CASE("a record is kept while a reading goes on that never ends by itself") {
  TemporaryFolder folder;
  Answers answers;
  const auto file = folder.path() / "journal.sqlite";
  std::promise<void> go_on;
  auto may_go_on = go_on.get_future();
  std::promise<void> begun;
  {
    store::StoreThread thread{open_journal(file), answers.taker()};
    thread.read({}, [&](auto) {
      begun.set_value();
      may_go_on.wait();
    });
    begun.get_future().wait();
    thread.keep({1, {entry_no(1)}, {}});
    CHECK(eventually([&] { return answers.ids().size() == 1; }));
    go_on.set_value();
  }
  CHECK(rows_of(file).size() == 1);
}

TEST_CASE("too many readings are told so at once, each asker has a share, and pages go on") {
  TemporaryFolder folder;
  Answers answers;
  std::promise<void> go_on;
  auto may_go_on = go_on.get_future().share();
  std::promise<void> begun;
  std::vector<std::string> order;
  int refused = 0;
  const auto ask = [&](store::StoreThread& thread, const std::string& who, bool further = false) {
    rack::JournalQuery query;
    query.asker = who;
    query.goes_on = further;
    thread.read(query, [&, who](auto page) {
      if (page)
        order.push_back(who);
      else if (page.error() == rack::Unread::too_many_wait)
        ++refused;
    });
  };
  {
    store::StoreThread thread{open_journal(folder.path() / "journal.sqlite"),
                              answers.taker(),
                              {{}, {.most = 5, .most_of_one = 3}}};
    thread.read({}, [&](auto) {
      begun.set_value();
      may_go_on.wait();
    });
    begun.get_future().wait();
    for (int i = 0; i < 5; ++i) ask(thread, "greedy");
    CHECK(refused == 2);
    ask(thread, "ana");
    ask(thread, "bo");
    CHECK(refused == 2);
    ask(thread, "cy");
    CHECK(refused == 3);
    ask(thread, "bo", true);
    CHECK(refused == 3);
    go_on.set_value();
  }
  CHECK(order == std::vector<std::string>{"greedy", "ana", "bo", "greedy", "bo", "greedy"});
}

TEST_CASE("the log does not grow while somebody reads all the time") {
  TemporaryFolder folder;
  const auto file = folder.path() / "journal.sqlite";
  Answers answers;
  std::atomic<bool> stop = false;
  std::uintmax_t largest = 0;
  // Outlives the thread, which may still be in it when it is let go.
  std::function<void()> again;
  {
    store::StoreThread thread{open_journal(file), answers.taker()};
    again = [&] {
      rack::JournalQuery query;
      query.text = "nothing is like this";
      query.goes_on = true;
      thread.read(query, [&](auto) {
        if (!stop) again();
      });
    };
    again();
    for (rack::RecordId id = 1; id <= 10'000; ++id) {
      thread.keep({id, {entry_no(static_cast<int>(id))}, {}});
      if (id % 20 != 0) continue;
      REQUIRE(eventually([&] { return answers.ids().size() == id; }));
      largest = std::max(largest, std::filesystem::file_size(file.string() + "-wal"));
    }
    stop = true;
  }
  // It is begun anew at 2,000 pages of 4 KiB at the latest, and one batch more; it would be 5,000
  // by now.
  CHECK(largest < 2'200 * 4'120);
}

TEST_CASE("the chain is walked beside readings and records, and what is broken is told") {
  TemporaryFolder folder;
  const auto file = folder.path() / "journal.sqlite";
  {
    Answers answers;
    std::promise<std::string> told;
    store::StoreThread thread{open_journal(file), answers.taker()};
    for (rack::RecordId id = 1; id <= 2'500; ++id)
      thread.keep({id, {entry_no(static_cast<int>(id))}, {}});
    REQUIRE(eventually([&] { return answers.ids().size() == 2'500; }));
    thread.check_chain([&told](const std::string& trouble) { told.set_value(trouble); });
    CHECK(told.get_future().get() == "");
    CHECK(thread.head().row == 2'500);
  }
  REQUIRE(by_hand(file,
                  "DROP TRIGGER journal_keeps_words;"
                  "UPDATE journal SET who = 'Bo' WHERE sequence = 2222") == "");
  Answers answers;
  std::promise<std::string> told;
  store::StoreThread thread{open_journal(file), answers.taker()};
  thread.check_chain([&told](const std::string& trouble) { told.set_value(trouble); });
  CHECK(told.get_future().get().starts_with(
      "The journal's chain of hashes is broken at row 2222: that row, or one before it, is not"));
}
