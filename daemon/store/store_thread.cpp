// SPDX-License-Identifier: Apache-2.0
#include "daemon/store/store_thread.hpp"

#include <utility>

namespace catwalk::store {

StoreThread::StoreThread(Journal journal, Kept kept)
    : journal_{std::move(journal)}, kept_{std::move(kept)}, thread_{[this] { run(); }} {}

StoreThread::~StoreThread() {
  {
    const std::lock_guard lock{mutex_};
    stopping_ = true;
  }
  work_.notify_one();
  thread_.join();
}

void StoreThread::keep(rack::Record record) {
  {
    const std::lock_guard lock{mutex_};
    records_.push_back(std::move(record));
  }
  work_.notify_one();
}

void StoreThread::read(rack::JournalQuery query, Rows rows) {
  {
    const std::lock_guard lock{mutex_};
    readings_.push_back({std::move(query), std::move(rows)});
  }
  work_.notify_one();
}

void StoreThread::run() {
  for (;;) {
    std::vector<rack::Record> records;
    std::deque<Reading> readings;
    {
      std::unique_lock lock{mutex_};
      work_.wait(lock, [this] { return stopping_ || !records_.empty() || !readings_.empty(); });
      records.swap(records_);
      readings.swap(readings_);
      if (records.empty() && readings.empty()) return;
    }
    if (!records.empty()) {
      const auto trouble = journal_.keep(records);
      for (const auto& record : records) kept_(record.id, trouble);
    }
    for (auto& reading : readings) reading.rows(journal_.read(reading.query));
  }
}

}  // namespace catwalk::store
