// SPDX-License-Identifier: Apache-2.0
#include "daemon/base/worker.hpp"

#include <sys/resource.h>

#include <atomic>
#include <utility>

namespace catwalk {
namespace {

// On Linux a thread has a priority of its own, and hands it on to the threads that it starts.
void yield_to_others() {
  constexpr int nicer = 10;
  (void)::setpriority(PRIO_PROCESS, 0, nicer);
}

}  // namespace

Worker::Worker(std::size_t most_waiting, Manner manner)
    : most_waiting_{most_waiting}, manner_{manner}, thread_{[this] { run(); }} {}

Worker::~Worker() {
  {
    const std::lock_guard lock{mutex_};
    stop_ = true;
  }
  wake_.notify_one();
  thread_.join();
}

bool Worker::offer(std::function<void()> task) {
  {
    const std::lock_guard lock{mutex_};
    // One that nobody has begun yet waits for nobody.
    if (waiting_.size() >= most_waiting_ + (busy_ ? 0 : 1)) return false;
    waiting_.push_back(std::move(task));
  }
  wake_.notify_one();
  return true;
}

void Worker::run() {
  if (manner_ == Manner::yields) yield_to_others();
  std::unique_lock lock{mutex_};
  for (;;) {
    wake_.wait(lock, [this] { return stop_ || !waiting_.empty(); });
    if (stop_) return;
    auto task = std::move(waiting_.front());
    waiting_.pop_front();
    busy_ = true;
    lock.unlock();
    task();
    task = nullptr;  // what it holds goes before the next is let in
    lock.lock();
    busy_ = false;
  }
}

void on_two_threads(std::size_t count, const std::function<void(std::size_t)>& work) {
  std::atomic<std::size_t> next{0};
  const auto take = [&] {
    for (auto i = next++; i < count; i = next++) work(i);
  };
  const std::jthread other{take};
  take();
}

}  // namespace catwalk
