// SPDX-License-Identifier: Apache-2.0
#include "daemon/store/open_store.hpp"

#include <algorithm>
#include <limits>
#include <optional>
#include <vector>

#include "daemon/rack/values/epochs.hpp"
#include "daemon/store/files.hpp"
#include "daemon/store/tables.hpp"

namespace catwalk::store {
namespace {

constexpr auto who = "rack";

// What could still be read of a journal that is set aside. Each part for itself.
struct Remains {
  std::optional<protocol::Epoch> epoch;
  std::optional<protocol::OurEpochs> spoken;
  std::optional<std::optional<rack::Lock>> lock;  // absent: nobody knows
  std::optional<std::string> segment;
  rack::ChangeId last_change = 0;
  rack::AlarmId last_alarm = 0;
};

template <class Take>
void attempt(Take&& take) {
  try {
    take();
  } catch (const SqliteError&) {
    // It stays unknown.
  }
}

Remains remains_of(const std::filesystem::path& file) {
  Remains remains;
  attempt([&] {
    if (prepare_files(file)) return;
    Connection connection{file.string(), Connection::Access::read};
    // Only the columns that it takes: a schema that lost another one must not hide it.
    const auto fact = [&](const std::string& name, const std::string& columns, auto take) {
      attempt([&] {
        Statement found{connection,
                        "SELECT " + columns + " FROM facts WHERE name = '" + name + "'"};
        if (found.step())
          take(Row{found, "facts"});
        else if (name == "lock")
          remains.lock.emplace(std::nullopt);
      });
    };
    fact("epoch", "number", [&](const Row& row) {
      constexpr std::int64_t last = std::numeric_limits<std::uint32_t>::max() - 1;
      remains.epoch = protocol::Epoch{static_cast<std::uint32_t>(row.integer(0, 0, last))};
    });
    attempt([&] { remains.spoken = spoken_in(connection); });
    fact("lock", "number, text, more", [&](const Row& row) {
      remains.lock.emplace(rack::Lock{row.text(1), row.text(2), row.time(0)});
    });
    fact("segment", "text", [&](const Row& row) { remains.segment = row.text(0); });
    fact("last_alarm", "number", [&](const Row& row) { remains.last_alarm = row.number(0); });
    attempt([&] { remains.last_change = last_change_in_journal(connection); });
  });
  return remains;
}

std::string sentence_of(const StoreError& trouble, const std::string& what_was_done,
                        const Remains& remains) {
  std::string sentence = "The journal could not be used: " + trouble.sentence + ". " +
                         what_was_done +
                         " What was wanted of nodes is not known any more: they are met anew as "
                         "they are, and nothing was sent.";
  if (!remains.lock)
    sentence += " Nobody knows whether the rack was locked; it is locked now.";
  else if (*remains.lock)
    sentence += " The rack stays locked.";
  if (!remains.segment) sentence += " The segment that was chosen is not known any more.";
  return sentence;
}

// If the last epoch is not known: that of the clock, and beyond what starts within a minute could
// have come to. The last run may have begun within this second; under its epoch nodes would take
// our tickets for its own.
protocol::Epoch epoch_of_nobody(rack::TimePoint now) {
  return rack::next_epoch({}, now + std::chrono::minutes{1});
}

// The first record of the new journal.
rack::Record first_record(const Remains& remains, const std::string& sentence,
                          rack::TimePoint now) {
  rack::Record record;
  auto& entry = record.entries.emplace_back();
  entry.at = now;
  entry.kind = rack::JournalKind::journal;
  entry.who = who;
  entry.segment = remains.segment.value_or("");
  entry.what = "begun anew";
  if (remains.last_change != 0)
    entry.what += "; changes are counted on from no. " + std::to_string(remains.last_change);
  entry.why = sentence;
  entry.change = remains.last_change;
  record.writes.emplace_back(rack::KeepEpoch{remains.epoch.value_or(epoch_of_nobody(now))});
  const auto spoken = remains.spoken.value_or(protocol::OurEpochs{protocol::OurEpochs::unknown});
  for (const auto epoch : spoken.all()) record.writes.emplace_back(rack::KeepSpoken{epoch});
  if (remains.segment) record.writes.emplace_back(rack::KeepSegment{*remains.segment});
  if (!remains.lock)
    record.writes.emplace_back(rack::KeepLock{rack::Lock{
        who, "the journal was broken, and nobody knows whether the rack was locked", now}});
  else if (*remains.lock)
    record.writes.emplace_back(rack::KeepLock{*remains.lock});
  return record;
}

Result<OpenedStore, StoreError> begin_anew(const std::filesystem::path& file, rack::TimePoint now,
                                           rack::EpochShare share, const Remains& remains,
                                           const std::string& sentence) {
  auto journal = Journal::open(file);
  if (!journal) return Failure{journal.error()};
  const std::vector<rack::Record> first{first_record(remains, sentence, now)};
  if (auto trouble = journal.value().keep(first)) return Failure{std::move(*trouble)};
  auto restored = journal.value().restore(now, share);
  if (!restored) return Failure{restored.error()};
  OpenedStore opened{std::move(journal).value(), std::move(restored).value(), sentence};
  opened.restored.last_alarm = std::max(opened.restored.last_alarm, remains.last_alarm);
  return opened;
}

}  // namespace

Result<OpenedStore, StoreError> open_store(const std::filesystem::path& file, rack::TimePoint now,
                                           rack::EpochShare share) {
  StoreError trouble;
  if (auto journal = Journal::open(file)) {
    auto restored = journal.value().restore(now, share);
    if (restored) return OpenedStore{std::move(journal).value(), std::move(restored).value(), {}};
    trouble = restored.error();
  } else {
    trouble = journal.error();
  }
  if (trouble.kind != StoreError::Kind::broken) return Failure{std::move(trouble)};
  const auto remains = remains_of(file);
  const auto aside = set_aside(file, now);
  if (!aside)
    return Failure{
        StoreError{trouble.sentence + "; and it cannot be set aside: " + aside.error().sentence}};
  const auto done = "It is kept as " + aside->string() + ", and a new one was begun.";
  auto opened = begin_anew(file, now, share, remains, sentence_of(trouble, done, remains));
  if (opened) return opened;
  // Without its name it would be forgotten at the next start.
  put_back(*aside, file);
  return Failure{StoreError{trouble.sentence +
                            "; and no new journal can be begun: " + opened.error().sentence}};
}

Result<OpenedStore, StoreError> open_stopgap(const std::filesystem::path& folder,
                                             const StoreError& trouble, rack::TimePoint now,
                                             rack::EpochShare share) {
  const auto done =
      "Until that is mended and the daemon is started again, what happens is kept in " +
      folder.string() + " only, which does not last.";
  const Remains nothing;
  return begin_anew(folder / "journal.sqlite", now, share, nothing,
                    sentence_of(trouble, done, nothing));
}

}  // namespace catwalk::store
