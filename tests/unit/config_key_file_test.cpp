// SPDX-License-Identifier: Apache-2.0
// Keys: closed to others, long enough, and never shown.

#include <sys/stat.h>
#include <unistd.h>

#include <filesystem>

#include "tests/unit/config/files.hpp"

namespace catwalk::config {
namespace {

FileSource table_with_key(Files files, std::string key, std::uint32_t mode) {
  return [files = std::move(files), key = std::move(key),
          mode](const std::filesystem::path& path) -> std::variant<SourceFile, Unreadable> {
    if (path == "state/net.key") return SourceFile{.text = key, .mode = mode};
    const auto found = files.find(path.string());
    if (found == files.end()) return Unreadable{"there is no such file"};
    return SourceFile{.text = found->second};
  };
}

std::vector<std::string> said_of(const std::string& key, std::uint32_t mode) {
  const Loaded loaded = load_from(table_with_key(base_files(), key, mode), "rack.json");
  for (const Problem& problem : loaded.problems)
    CHECK(to_text(problem).find("00112233") == std::string::npos);
  return texts_of(loaded.problems);
}

TEST_CASE("a key is read from its hexadecimal digits") {
  const RackFile rack = rack_of(base_files());
  const auto& line = std::get<UdpSetup>(rack.lines.at(1));
  REQUIRE(line.key.size() == 32);
  CHECK(line.key[0] == 0x00);
  CHECK(line.key[1] == 0x11);
  CHECK(line.key[31] == 0xFF);
}

TEST_CASE("a key file may be its owner's alone, or read by its group") {
  CHECK(said_of(some_key, 0600).empty());
  CHECK(said_of(some_key, 0400).empty());
  CHECK(said_of(some_key, 0440).empty());
}

TEST_CASE("a key file that others can read or write is refused") {
  for (const auto& [mode, shown] : {std::pair{0644U, "0644"}, std::pair{0620U, "0620"},
                                    std::pair{0602U, "0602"}, std::pair{0604U, "0604"}})
    CHECK(said_of(some_key, mode) ==
          std::vector<std::string>{"rack.json:10: /lines/1/key_file: \"net.key\" is open to "
                                   "others, its mode is " +
                                   std::string{shown} + "; allowed: mode 0600, 0400 or 0440"});
}

TEST_CASE("a key that is too short, too long or not hexadecimal is refused") {
  const std::string at = "rack.json:10: /lines/1/key_file: \"net.key\" ";
  const std::string allowed = "; allowed: 64 to 128 hexadecimal digits on one line";
  CHECK(said_of("00112233\n", 0600) == std::vector{at + "holds 8 characters" + allowed});
  CHECK(said_of("", 0600) == std::vector{at + "holds 0 characters" + allowed});
  CHECK(said_of(std::string(130, 'a'), 0600) == std::vector{at + "holds 130 characters" + allowed});
  CHECK(said_of(std::string(65, 'a'), 0600) ==
        std::vector{at + "holds something else than a key" + allowed});
  CHECK(said_of(std::string(63, 'a') + "g", 0600) ==
        std::vector{at + "holds something else than a key" + allowed});
}

TEST_CASE("on disk: modes are seen, and only regular files are opened") {
  const std::filesystem::path folder =
      std::filesystem::temp_directory_path() /
      ("catwalk-key-test-" + std::to_string(static_cast<long>(::getpid())));
  std::filesystem::create_directory(folder);
  {
    std::ofstream file{folder / "key"};
    file << some_key;
  }
  std::filesystem::permissions(folder / "key", std::filesystem::perms{0640});
  REQUIRE(::mkfifo((folder / "pipe").c_str(), 0600) == 0);

  const auto key = read_from_disk(folder / "key");
  const auto pipe = read_from_disk(folder / "pipe");
  const auto directory = read_from_disk(folder);
  const auto nothing = read_from_disk(folder / "nothing");
  std::filesystem::remove_all(folder);

  REQUIRE(std::holds_alternative<SourceFile>(key));
  CHECK(std::get<SourceFile>(key).mode == 0640);
  CHECK(std::get<SourceFile>(key).text == some_key);
  REQUIRE(std::holds_alternative<Unreadable>(pipe));
  CHECK(std::get<Unreadable>(pipe).reason == "it is not a regular file");
  REQUIRE(std::holds_alternative<Unreadable>(directory));
  REQUIRE(std::holds_alternative<Unreadable>(nothing));
  CHECK(std::get<Unreadable>(nothing).reason == "No such file or directory");
}

}  // namespace
}  // namespace catwalk::config
