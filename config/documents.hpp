// SPDX-License-Identifier: Apache-2.0
#pragma once
// The files of one load, kept for as long as cursors point into them.

#include <deque>
#include <filesystem>
#include <optional>
#include <string>

#include "config/file_source.hpp"
#include "config/reader.hpp"

namespace catwalk::config {

constexpr std::size_t longest_path = 1'024;  // bytes, as it stands in a file

class Documents {
 public:
  Documents(const FileSource& source, Problems& problems) : source_{source}, problems_{problems} {}

  // Stands nowhere if the file cannot be read or parsed, which has been reported: at `reference`,
  // or for the first file, which nothing refers to, about the file itself.
  Cursor open(const std::filesystem::path& path, const Cursor& reference);
  // A file that is not JSON.
  std::optional<SourceFile> read(const std::filesystem::path& path, const Cursor& reference);

  // Where a file stands in the order of opening, for sorting problems.
  std::size_t order_of(const std::string& file) const;

 private:
  struct Document {
    std::string file;
    Value root;
  };
  const FileSource& source_;
  Problems& problems_;
  std::deque<Document> documents_;
};

}  // namespace catwalk::config
