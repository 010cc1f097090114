// SPDX-License-Identifier: Apache-2.0
#include "daemon/shell/login_key.hpp"

#include <doctest/doctest.h>
#include <sys/stat.h>

#include <fstream>

#include "tests/support/process.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

struct KeyBench {
  TemporaryFolder folder;
  std::filesystem::path file = folder.path() / "login.key";
  std::filesystem::path elsewhere = folder.path() / "elsewhere";

  shell::LoginKey key() const {
    const auto key = shell::login_key_in(folder.path());
    REQUIRE_MESSAGE(key, (key ? std::string{} : key.error()));
    CHECK(key->key.size() == 64);
    return *key;
  }
  static std::string text_of(const std::filesystem::path& path) {
    std::string text;
    std::getline(std::ifstream{path}, text);
    return text;
  }
  static unsigned mode_of(const std::filesystem::path& path) {
    struct stat status {};
    REQUIRE(::lstat(path.c_str(), &status) == 0);
    return status.st_mode & 07777;
  }
  void write(const std::string& text) const {
    std::ofstream{file} << text;
    ::chmod(file.c_str(), 0600);
  }
};

}  // namespace

TEST_CASE("a key is made once, closed to others, and found again") {
  const KeyBench bench;
  const auto made = bench.key();
  CHECK(made.note.empty());
  CHECK(KeyBench::mode_of(bench.file) == 0600U);
  CHECK(bench.key().key == made.key);
}

TEST_CASE("what stands in the way of a new key is not followed") {
  const KeyBench bench;
  std::ofstream{bench.elsewhere} << "precious";
  std::filesystem::create_symlink(bench.elsewhere, bench.file.string() + ".new");
  bench.key();
  CHECK(KeyBench::text_of(bench.elsewhere) == "precious");
  CHECK_FALSE(std::filesystem::is_symlink(bench.file));
  CHECK(KeyBench::mode_of(bench.file) == 0600U);
}

TEST_CASE("a key that is none is set aside, another is made, and the note says so") {
  for (const auto& text : {std::string{}, std::string(63, 'a'), std::string(64, 'g'),
                           std::string(5'000'000, 'a'), std::string(64, '\0')}) {
    const KeyBench bench;
    bench.write(text);
    const auto made = bench.key();
    CHECK(made.note.find("login.key does not hold 64 hexadecimal digits; it is kept as ") !=
          std::string::npos);
    CHECK(made.note.ends_with("everybody is logged out"));
    CHECK(std::filesystem::file_size(bench.file.string() + ".broken") == text.size());
    CHECK(bench.key().note.empty());
  }
}

TEST_CASE("a folder or a pipe in the place of a key keeps nobody waiting") {
  const KeyBench bench;
  SUBCASE("folder") { std::filesystem::create_directory(bench.file); }
  SUBCASE("pipe") { REQUIRE(::mkfifo(bench.file.c_str(), 0600) == 0); }
  CHECK(bench.key().note.find("cannot be read (it is not a regular file)") != std::string::npos);
}

TEST_CASE("a link in the place of a key is set aside, and not read") {
  const KeyBench bench;
  std::ofstream{bench.elsewhere} << std::string(64, 'a');
  ::chmod(bench.elsewhere.c_str(), 0600);
  std::filesystem::create_symlink(bench.elsewhere, bench.file);
  const auto made = bench.key();
  CHECK(made.key != std::string(64, 'a'));
  CHECK(made.note.find("cannot be read (it is a link)") != std::string::npos);
  CHECK_FALSE(std::filesystem::is_symlink(bench.file));
}

TEST_CASE("a key that others may read is refused") {
  const KeyBench bench;
  bench.key();
  REQUIRE(::chmod(bench.file.c_str(), 0644) == 0);
  const auto open = shell::login_key_in(bench.folder.path());
  REQUIRE_FALSE(open);
  CHECK(open.error().ends_with("is open to others; allowed is mode 0600, 0400 or 0440"));
}

TEST_CASE("a disk that takes no key costs the logins of before the next restart, and says so") {
  const KeyBench bench;
  std::ofstream{bench.elsewhere} << "no folder";
  const auto first = shell::login_key_in(bench.elsewhere);
  const auto second = shell::login_key_in(bench.elsewhere);
  REQUIRE(first);
  REQUIRE(second);
  CHECK(first->key.size() == 64);
  CHECK(first->key != second->key);
  CHECK(first->note.ends_with(": logins end with this daemon"));
}
