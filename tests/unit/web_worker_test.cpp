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

namespace {

// A task that has begun, and does not end before it may.
class Held {
 public:
  void hold() {
    begun_.set_value();
    may_end_.get_future().wait();
  }
  void wait_until_held() { begun_.get_future().wait(); }
  void let_go() { may_end_.set_value(); }

 private:
  std::promise<void> begun_;
  std::promise<void> may_end_;
};

}  // namespace

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
  Held first;
  REQUIRE(worker.offer([&] { first.hold(); }));
  first.wait_until_held();
  CHECK(worker.offer([] {}));
  std::promise<void> through;
  CHECK(worker.offer([&] { through.set_value(); }));
  CHECK_FALSE(worker.offer([] { FAIL("this was refused"); }));
  first.let_go();
  through.get_future().wait();
  std::promise<void> later;
  CHECK(worker.offer([&] { later.set_value(); }));
  later.get_future().wait();
}

TEST_CASE("a worker that goes finishes what it has begun, and keeps nothing of what waited") {
  const auto held = std::make_shared<int>(0);
  std::atomic<bool> finished{false};
  {
    Held first;
    Worker worker{2};
    REQUIRE(worker.offer([&] {
      first.hold();
      finished = true;
    }));
    first.wait_until_held();
    REQUIRE(worker.offer([held] {}));
    CHECK(held.use_count() == 2);
    first.let_go();
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
