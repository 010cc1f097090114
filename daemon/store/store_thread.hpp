// SPDX-License-Identifier: Apache-2.0
#pragma once
// The journal on threads of its own, so that no line ever waits for a disk: one that writes, and
// one that reads. Records are kept in the order they come; those that wait together are made
// durable together, and none waits for a reading.

#include <condition_variable>
#include <functional>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "daemon/rack/values/record.hpp"
#include "daemon/store/journal.hpp"
#include "daemon/store/reader.hpp"
#include "daemon/store/reading_queue.hpp"

namespace catwalk::store {

struct StoreBounds {
  ReadingBounds reading = {};
  QueueBounds queue = {};
};

class StoreThread {
 public:
  // Called on the writing thread, once for each record, in order. Absent: it is durable.
  using Kept = std::function<void(rack::RecordId, std::optional<StoreError>)>;

  StoreThread(Journal journal, Kept kept, StoreBounds bounds = {});
  StoreThread(const StoreThread&) = delete;
  StoreThread& operator=(const StoreThread&) = delete;
  ~StoreThread() { finish(); }

  // Keeps and reads what was asked for, and ends both threads. Nothing may be asked for afterwards.
  void finish();

  // From any thread.
  void keep(rack::Record record);
  // The answer comes on the reading thread; if there is no room for the question, at once. The
  // reading sees every record that was asked for before it, unless the disk takes longer than a
  // second.
  void read(rack::JournalQuery query, Reading::Page page);
  // Walks along the chain as it is now, slice by slice between readings. A sentence: what is wrong
  // with it; empty: nothing. Not called if the thread ends before. Once.
  using Checked = std::function<void(std::string trouble)>;
  void check_chain(Checked checked);
  rack::JournalHead head() const;

 private:
  void write();
  void read_and_check();
  void answer(Reading reading);
  void check_a_slice();
  JournalReader* reader();
  void wait_until_kept(std::uint64_t after);

  Journal journal_;
  const std::filesystem::path file_;
  Kept kept_;
  const StoreBounds bounds_;

  mutable std::mutex mutex_;           // guards what follows, up to the threads
  std::condition_variable work_;       // for the writing thread
  std::condition_variable wanted_;     // for the reading one, without a question
  std::condition_variable caught_up_;  // for it as well, with one that waits for records
  std::vector<rack::Record> records_;
  std::uint64_t asked_ = 0;  // records
  std::uint64_t ended_ = 0;
  rack::JournalHead head_;
  ReadingQueue readings_;
  std::optional<Checked> checked_;
  bool makes_room_ = false;  // no reading begins: the log is being begun anew
  bool stopping_ = false;

  std::optional<JournalReader> reader_;  // of the reading thread
  std::optional<ChainWalk> walk_;        // likewise

  std::thread reading_;
  std::thread writing_;
};

}  // namespace catwalk::store
