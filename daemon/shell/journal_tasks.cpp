// SPDX-License-Identifier: Apache-2.0
#include "daemon/shell/journal_tasks.hpp"

#include <spdlog/spdlog.h>

#include <iostream>

#include "daemon/base/text.hpp"
#include "daemon/shell/daemon.hpp"
#include "daemon/shell/rack_files.hpp"
#include "daemon/shell/wall_clock.hpp"
#include "daemon/store/exported.hpp"
#include "daemon/store/reader.hpp"

namespace catwalk::shell {
namespace {

int complain(const std::string& sentence) {
  std::cerr << "catwalkd: " << with_escapes(sentence) << '\n';
  return exit_failed;
}

// True: the anchor holds.
bool say(const store::ChainWalk::AnchorFound& found) {
  const auto row = "row " + std::to_string(found.anchor.row);
  switch (found.found) {
    case store::Anchored::same:
      std::cout << row << " holds, and all rows before it: they are what they were\n";
      return true;
    case store::Anchored::other:
      std::cout << row << " is not what it was, or a row before it is not\n";
      return false;
    case store::Anchored::missing:
      std::cout << row << " is missing: the journal was cut, or its chain is broken before it\n";
      return false;
    case store::Anchored::gone:
      std::cout << row << " was exported: verify the exported file with this anchor\n";
      return false;
  }
  return false;
}

rack::TimePoint oldest_kept(const config::RackFile& rack) {
  return now() - rack.store.journal_kept;
}

}  // namespace

std::filesystem::path journal_file(const config::RackFile& rack) {
  return rack.store.state_dir / "journal.sqlite";
}

int verify_journal(const Options& options) {
  auto file = options.journal.value_or("");
  if (!options.journal) {
    const auto rack = load_rack(options);
    if (!rack) return exit_bad_config;
    file = journal_file(*rack);
  }
  auto reader = store::JournalReader::open(file);
  if (!reader) return complain(reader.error().sentence);
  store::ChainWalk walk{options.anchors};
  if (const auto trouble = reader.value().walk(walk)) return complain(trouble->sentence);
  if (walk.broken())
    std::cout << "the journal's chain is broken at row " << *walk.broken() << '\n';
  else if (walk.head().row == 0)
    std::cout << "the journal's chain is whole: it has no rows\n";
  else
    std::cout << "the journal's chain is whole: rows " << walk.begin().row + 1 << " to "
              << walk.head().row << ", anchor " << walk.head().text() << '\n';
  if (walk.begin().row != 0)
    std::cout << "it begins after " << walk.begin().text() << ": earlier rows were exported\n";
  bool good = !walk.broken();
  for (const auto& anchor : walk.anchors()) good = say(anchor) && good;
  return good ? exit_done : exit_failed;
}

int export_journal(const Options& options) {
  const auto rack = load_rack(options);
  if (!rack) return exit_bad_config;
  auto journal = store::Journal::open(journal_file(*rack));
  if (!journal) return complain(journal.error().sentence);
  const auto exported =
      store::export_rows(journal.value(), *options.export_file, oldest_kept(*rack), now());
  if (!exported) return complain(exported.error().sentence);
  if (exported->rows == 0) {
    std::cout << "no row is older than the journal is kept; nothing was exported\n";
    return exit_done;
  }
  std::cout << "rows " << exported->begin.row + 1 << " to " << exported->head.row << " are in "
            << options.export_file->string() << ", and no longer in the journal; anchor "
            << exported->head.text() << '\n';
  return exit_done;
}

void say_what_may_leave(const config::RackFile& rack) {
  auto reader = store::JournalReader::open(journal_file(rack));
  if (!reader) return;
  const auto rows = reader.value().rows_before(oldest_kept(rack));
  if (rows && *rows != 0)
    spdlog::info(
        "journal: {} rows are older than it is kept; catwalkd --export-journal moves them out",
        *rows);
}

}  // namespace catwalk::shell
