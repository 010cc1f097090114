// SPDX-License-Identifier: Apache-2.0
#include "daemon/shell/login_key.hpp"

#include <doctest/doctest.h>

#include <fstream>

#include "tests/support/process.hpp"

using namespace catwalk;
using namespace catwalk::shell;
namespace fs = std::filesystem;

namespace {

std::string content(const fs::path& file) {
  std::ifstream in{file};
  return {std::istreambuf_iterator<char>{in}, {}};
}

}  // namespace

TEST_CASE("the key of logins is made once, for nobody else to read, and found again") {
  const test::TemporaryFolder folder;
  const auto made = login_key_in(folder.path());
  REQUIRE(made);
  CHECK(made.value().size() == 64);
  CHECK(fs::status(folder.path() / "login.key").permissions() == fs::perms{0600});
  CHECK_FALSE(fs::exists(folder.path() / "login.key.new"));
  CHECK(login_key_in(folder.path()).value() == made.value());
}

TEST_CASE("a link in the place of the key, or of the one that is being made, is not followed") {
  const test::TemporaryFolder folder;
  const auto elsewhere = folder.path() / "elsewhere";
  std::ofstream{elsewhere} << "mine";
  fs::create_symlink(elsewhere, folder.path() / "login.key.new");
  REQUIRE(login_key_in(folder.path()));
  CHECK(content(elsewhere) == "mine");
  CHECK(fs::is_regular_file(fs::symlink_status(folder.path() / "login.key")));

  fs::remove(folder.path() / "login.key");
  fs::permissions(elsewhere, fs::perms{0600});
  std::ofstream{elsewhere} << std::string(64, 'a');
  fs::create_symlink(elsewhere, folder.path() / "login.key");
  const auto refused = login_key_in(folder.path());
  REQUIRE_FALSE(refused);
  CHECK(refused.error() == (folder.path() / "login.key").string() +
                               " is no file of its own; delete it to have it made anew");
}
