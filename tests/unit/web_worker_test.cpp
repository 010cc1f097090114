// SPDX-License-Identifier: Apache-2.0
// The thread for what takes long: bounded, in order, and gone when it is told to.
#include "daemon/base/worker.hpp"

#include <doctest/doctest.h>

#include <atomic>
#include <future>
#include <memory>
#include <vector>

using catwalk::on_two_threads;
using catwalk::Worker;

TEST_CASE("what a worker takes is done in order, on a thread of its own") {
  Worker worker{8};
  std::vector<int> done;
  std::promise<std::thread::id> last;
  CHECK(worker.offer([&] { done.push_back(1); }));
  CHECK(worker.offer([&] { done.push_back(2); }));
  CHECK(worker.offer([&] { last.set_value(std::this_thread::get_id()); }));
  CHECK(last.get_future().get() != std::this_thread::get_id());
  CHECK(done == std::vector<int>{1, 2});
}

TEST_CASE("a task too many is refused at once, and taken when there is room again") {
  Worker worker{2};
  std::promise<void> begun;
  std::promise<void> go_on;
  REQUIRE(worker.offer([&, wait = go_on.get_future().share()] {
    begun.set_value();
    wait.wait();
  }));
  begun.get_future().wait();
  CHECK(worker.offer([] {}));
  std::promise<void> through;
  CHECK(worker.offer([&] { through.set_value(); }));
  CHECK_FALSE(worker.offer([] { FAIL("this was refused"); }));
  go_on.set_value();
  through.get_future().wait();
  std::promise<void> later;
  CHECK(worker.offer([&] { later.set_value(); }));
  later.get_future().wait();
}

TEST_CASE("a worker that goes finishes what it has begun, and keeps nothing of what waited") {
  const auto held = std::make_shared<int>(0);
  std::atomic<bool> finished{false};
  {
    Worker worker{2};
    std::promise<void> begun;
    std::promise<void> go_on;
    REQUIRE(worker.offer([&, wait = go_on.get_future().share()] {
      begun.set_value();
      wait.wait();
      finished = true;
    }));
    begun.get_future().wait();
    REQUIRE(worker.offer([held] {}));
    CHECK(held.use_count() == 2);
    go_on.set_value();
  }
  CHECK(finished);
  CHECK(held.use_count() == 1);
}

TEST_CASE("two threads do every part once") {
  for (const std::size_t count : {0U, 1U, 2U, 1000U}) {
    std::vector<std::atomic<int>> parts(count);
    on_two_threads(count, [&](std::size_t i) { ++parts[i]; });
    for (const auto& part : parts) CHECK(part == 1);
  }
}

TEST_CASE("two threads are two: each can wait for the other") {
  std::promise<void> first;
  std::promise<void> second;
  std::atomic<int> met{0};
  on_two_threads(2, [&](std::size_t i) {
    (i == 0 ? first : second).set_value();
    if ((i == 0 ? second : first).get_future().wait_for(std::chrono::seconds{20}) ==
        std::future_status::ready)
      ++met;
  });
  CHECK(met == 2);
}
