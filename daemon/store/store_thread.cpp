// SPDX-License-Identifier: Apache-2.0
#include "daemon/store/store_thread.hpp"

#include <chrono>
#include <utility>

namespace catwalk::store {
namespace {

constexpr std::size_t rows_of_a_slice = 1'000;
constexpr std::chrono::seconds longest_wait_for_records{1};

}  // namespace

StoreThread::StoreThread(Journal journal, Kept kept, StoreBounds bounds)
    : journal_{std::move(journal)},
      file_{journal_.file()},
      kept_{std::move(kept)},
      bounds_{bounds},
      head_{journal_.head()},
      readings_{bounds.queue},
      reading_{[this] { read_and_check(); }},
      writing_{[this] { write(); }} {}

void StoreThread::finish() {
  {
    const std::lock_guard lock{mutex_};
    stopping_ = true;
  }
  work_.notify_one();
  wanted_.notify_one();
  if (writing_.joinable()) writing_.join();
  if (reading_.joinable()) reading_.join();
}

void StoreThread::keep(rack::Record record) {
  {
    const std::lock_guard lock{mutex_};
    records_.push_back(std::move(record));
    ++asked_;
  }
  work_.notify_one();
}

void StoreThread::read(rack::JournalQuery query, Reading::Page page) {
  Reading reading{std::move(query), std::move(page)};
  {
    const std::lock_guard lock{mutex_};
    reading.after = asked_;
    if (readings_.put(reading)) {
      wanted_.notify_one();
      return;
    }
  }
  reading.page(Failure{rack::Unread::too_many_wait});
}

void StoreThread::check_chain(Checked checked) {
  {
    const std::lock_guard lock{mutex_};
    checked_ = std::move(checked);
  }
  wanted_.notify_one();
}

rack::JournalHead StoreThread::head() const {
  const std::lock_guard lock{mutex_};
  return head_;
}

void StoreThread::write() {
  journal_.on_waiting([this](bool waits) {
    {
      const std::lock_guard lock{mutex_};
      makes_room_ = waits;
    }
    wanted_.notify_one();
  });
  for (;;) {
    std::vector<rack::Record> records;
    {
      std::unique_lock lock{mutex_};
      work_.wait(lock, [this] { return stopping_ || !records_.empty(); });
      records.swap(records_);
      if (records.empty()) return;
    }
    const auto trouble = journal_.keep(records);
    {
      const std::lock_guard lock{mutex_};
      ended_ += records.size();
      head_ = journal_.head();
    }
    for (const auto& record : records) kept_(record.id, trouble);
    caught_up_.notify_one();
  }
}

void StoreThread::read_and_check() {
  for (;;) {
    std::optional<Reading> next;
    bool check = false;
    {
      std::unique_lock lock{mutex_};
      wanted_.wait(
          lock, [this] { return !makes_room_ && (stopping_ || !readings_.empty() || checked_); });
      next = readings_.take();
      check = checked_.has_value() && !stopping_;
      if (!next && !check) return;
    }
    if (next) answer(std::move(*next));
    if (check) check_a_slice();
  }
}

// Null: it cannot be read now. Opened when it is needed, and again after trouble.
JournalReader* StoreThread::reader() {
  if (!reader_)
    if (auto opened = JournalReader::open(file_)) reader_.emplace(std::move(opened).value());
  return reader_ ? &*reader_ : nullptr;
}

void StoreThread::wait_until_kept(std::uint64_t after) {
  std::unique_lock lock{mutex_};
  caught_up_.wait_for(lock, longest_wait_for_records, [&] { return ended_ >= after; });
}

void StoreThread::answer(Reading reading) {
  if (!reading.query.goes_on) wait_until_kept(reading.after);
  auto* journal = reader();
  if (journal == nullptr) return reading.page(Failure{rack::Unread::failed});
  auto page = journal->read(reading.query, bounds_.reading);
  if (page) return reading.page(std::move(page).value());
  reader_.reset();
  reading.page(Failure{rack::Unread::failed});
}

void StoreThread::check_a_slice() {
  if (!walk_) walk_.emplace();
  std::string trouble;
  if (auto* journal = reader()) {
    const auto more = journal->go_on(*walk_, rows_of_a_slice);
    if (more && *more) return;
    if (!more) trouble = "The journal cannot be read whole (" + more.error().sentence + ").";
  } else {
    trouble = "The journal cannot be read.";
  }
  if (walk_->broken())
    trouble = "The journal's chain of hashes is broken at row " + std::to_string(*walk_->broken()) +
              ": that row, or one before it, is not what was written. What is wanted and what is "
              "recorded from now on is not touched by it.";
  walk_.reset();
  std::optional<Checked> checked;
  {
    const std::lock_guard lock{mutex_};
    checked.swap(checked_);
  }
  if (checked) (*checked)(std::move(trouble));
}

}  // namespace catwalk::store
