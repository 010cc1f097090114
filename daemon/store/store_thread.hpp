// SPDX-License-Identifier: Apache-2.0
#pragma once
// The journal on a thread of its own, so that no line ever waits for a disk. Records are kept in
// the order they come; those that wait together are made durable together.

#include <condition_variable>
#include <deque>
#include <functional>
#include <mutex>
#include <string>
#include <thread>
#include <variant>
#include <vector>

#include "daemon/rack/effect.hpp"
#include "daemon/store/journal.hpp"

namespace catwalk::store {

class StoreThread {
 public:
  // Called on the store's thread, once for each record, in order. Absent: it is durable.
  using Kept = std::function<void(rack::RecordId, std::optional<StoreError>)>;
  using Rows = std::function<void(Result<std::vector<rack::StoredEntry>, StoreError>)>;

  StoreThread(Journal journal, Kept kept);
  StoreThread(const StoreThread&) = delete;
  StoreThread& operator=(const StoreThread&) = delete;
  // Finishes what was asked for first.
  ~StoreThread();

  // From any thread.
  void keep(rack::Record record);
  void read(rack::JournalQuery query, Rows rows);

 private:
  struct Reading {
    rack::JournalQuery query;
    Rows rows;
  };
  void run();

  Journal journal_;
  Kept kept_;
  std::mutex mutex_;
  std::condition_variable work_;
  std::vector<rack::Record> records_;
  std::deque<Reading> readings_;
  bool stopping_ = false;
  std::thread thread_;
};

}  // namespace catwalk::store
