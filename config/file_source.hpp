// SPDX-License-Identifier: Apache-2.0
#pragma once
// Where file contents come from: the disk, or a table in a test. The loader knows no other way in.

#include <cstdint>
#include <filesystem>
#include <functional>
#include <string>
#include <variant>

namespace catwalk::config {

struct SourceFile {
  std::string text;
  std::uint32_t mode = 0600;  // permission bits, as stat(2) gives them
};
struct Unreadable {
  std::string reason;  // "No such file or directory"
};

using FileSource =
    std::function<std::variant<SourceFile, Unreadable>(const std::filesystem::path&)>;

// Regular files only: a pipe or a device would keep the daemon waiting. Files beyond the largest
// that is read anyway are cut just past it, so that they are refused without being taken in whole.
std::variant<SourceFile, Unreadable> read_from_disk(const std::filesystem::path& path);

}  // namespace catwalk::config
