// SPDX-License-Identifier: Apache-2.0
#include "daemon/shell/state_folder.hpp"

#include <spdlog/spdlog.h>

#include <cstdlib>
#include <filesystem>
#include <random>

#include "daemon/shell/journal_tasks.hpp"
#include "daemon/shell/wall_clock.hpp"

namespace catwalk::shell {
namespace {

// One that is made is for us, and for our group to read. One that was there is its owner's affair,
// which is not to say that nothing is said. The trouble if there is none in the end.
std::optional<store::StoreError> make_state_folder(const std::filesystem::path& folder) {
  using std::filesystem::perms;
  std::error_code error;
  const bool made = std::filesystem::create_directories(folder, error);
  if (error) return store::refused_by_system("create " + folder.string(), error);
  if (made) std::filesystem::permissions(folder, perms{0750}, error);
  if (error) return store::refused_by_system("close " + folder.string() + " to others", error);
  const auto mode = std::filesystem::status(folder, error).permissions();
  if ((mode & (perms::group_write | perms::others_write)) != perms::none)
    spdlog::warn("{} can be written by others, who could put another journal there",
                 folder.string());
  else if ((mode & perms::others_all) != perms::none)
    spdlog::warn("{} is open to others; mode 0750 is enough", folder.string());
  return std::nullopt;
}

// Drawn anew at each start, so that two machines that start at once have different ones.
rack::EpochShare share_of_epochs() {
  return static_cast<std::uint8_t>(std::random_device{}() & 63U);
}

// Of a disk that has failed: the rack runs on from what its nodes show, with a journal that does
// not last. What somebody has to put right in the installation ends the daemon instead.
Result<store::OpenedStore, store::StoreError> without_its_disk(const store::StoreError& trouble) {
  if (trouble.kind != store::StoreError::Kind::failed) return Failure{trouble};
  std::error_code error;
  auto folder = (std::filesystem::temp_directory_path(error) / "catwalkd-XXXXXX").string();
  if (error || ::mkdtemp(folder.data()) == nullptr) return Failure{trouble};
  return store::open_stopgap(folder, trouble, now(), share_of_epochs());
}

}  // namespace

Result<store::OpenedStore, store::StoreError> open_store_of(const config::RackFile& rack) {
  if (const auto trouble = make_state_folder(rack.store.state_dir))
    return without_its_disk(*trouble);
  auto opened = store::open_store(journal_file(rack), now(), share_of_epochs());
  return opened ? std::move(opened) : without_its_disk(opened.error());
}

}  // namespace catwalk::shell
