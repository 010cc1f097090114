// SPDX-License-Identifier: Apache-2.0
#pragma once
// A thread for what takes long, beside those that keep lines and panels going.

#include <condition_variable>
#include <cstddef>
#include <deque>
#include <functional>
#include <mutex>
#include <thread>

namespace catwalk {

class Worker {
 public:
  // At most `most_waiting` tasks wait behind the one that is running. One that yields leaves the
  // processor to all other threads; only what a switch waits for should not.
  enum class Manner { yields, hurries };
  explicit Worker(std::size_t most_waiting, Manner manner = Manner::yields);
  Worker(const Worker&) = delete;
  Worker& operator=(const Worker&) = delete;
  // Drops what waits; returns when the running task has ended.
  ~Worker();

  // False: too much waits already, and the task is dropped. From any thread.
  bool offer(std::function<void()> task);

 private:
  void run();

  const std::size_t most_waiting_;
  const Manner manner_;
  std::mutex mutex_;
  std::condition_variable wake_;
  std::deque<std::function<void()>> waiting_;
  bool busy_ = false;
  bool stop_ = false;
  std::thread thread_;  // the last member: it uses all others
};

// Runs work(0) … work(count − 1) on the caller's thread and one more; returns when all are done.
void on_two_threads(std::size_t count, const std::function<void(std::size_t)>& work);

}  // namespace catwalk
