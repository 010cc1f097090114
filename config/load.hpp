// SPDX-License-Identifier: Apache-2.0
#pragma once
// From the path of a rack file to a rack, or to everything that is wrong with it.
//
// Paths within a rack file: datasheets, cables, show and bands travel with it, so theirs count from
// its folder. Devices and key files belong to the machine, so theirs count from the state folder,
// and the state folder's own from the rack file's.

#include <filesystem>
#include <functional>
#include <map>
#include <optional>
#include <string>

#include "config/file_source.hpp"
#include "config/problem.hpp"
#include "config/rack_file.hpp"

namespace catwalk::config {

struct Loaded {
  std::optional<RackFile> rack;  // present exactly if there are no problems
  Problems problems;             // file by file in the order they were opened, by line within
};

struct LoadOptions {
  std::optional<std::filesystem::path> state_dir = {};  // instead of the file's own
  // What is wrong with a line of a simulated line's script, or nothing. Its words belong to the
  // simulation, which config does not know; without this they are taken as they are.
  std::function<std::optional<std::string>(const std::string&)> script_error = {};
};

// Never throws on account of what the files contain.
Loaded load(const std::filesystem::path& rack_file, const LoadOptions& options = {});
Loaded load_from(const FileSource& source, const std::filesystem::path& rack_file,
                 const LoadOptions& options = {});

// The same from a table of texts, path → text, all with mode 0600.
Loaded load_text(const std::map<std::string, std::string>& files, const std::string& rack_file);

}  // namespace catwalk::config
