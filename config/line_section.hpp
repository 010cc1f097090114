// SPDX-License-Identifier: Apache-2.0
#pragma once
// The "lines" of a rack file, and the facts of a node that depend on the kind of its line.

#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "config/documents.hpp"
#include "config/load.hpp"
#include "config/rack_file.hpp"
#include "config/reader.hpp"

namespace catwalk::config {

class LineSection {
 public:
  // Reads the lines; what is wrong has been reported. Relative devices and key files count from
  // `state_dir`.
  LineSection(const Cursor& at, const std::filesystem::path& state_dir, const LoadOptions& options,
              Documents& documents);

  // Every line that has a name, even one with other faults: a node may rightly refer to it.
  const std::vector<std::string>& names() const { return names_; }
  bool is_simulated(const std::string& line) const;

  // A line has no name of its own, so that a name not found here may yet have been meant for it.
  bool incomplete() const { return incomplete_; }

  // Reads "address" or "endpoint", as the node's line asks for, and "key_file", and puts the node
  // on the line. Does nothing if the line, or its kind, is not known.
  void add_node(const Object& node, std::optional<NodeUid> uid, const std::string& line);

  std::vector<LineSetup> take() && { return std::move(setups_); }

 private:
  void read_line(const Cursor& at, const std::filesystem::path& state_dir,
                 const LoadOptions& options, Documents& documents);
  std::vector<std::uint8_t> read_own_key(const Cursor& at, const LineKind& kind);
  // Null: there is no such line whose kind could be read.
  const LineSetup* find(const std::string& line) const;

  std::filesystem::path state_dir_;
  Documents* documents_;
  std::vector<std::string> names_;
  bool incomplete_ = false;
  Once<std::string> once_;
  std::map<std::string, Once<std::int64_t>> addresses_;
  std::vector<LineSetup> setups_;
};

}  // namespace catwalk::config
