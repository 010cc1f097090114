// SPDX-License-Identifier: Apache-2.0
#pragma once
// The files that the tests of config share.

#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <map>
#include <sstream>
#include <string>
#include <vector>

#include "config/load.hpp"
#include "config/reader.hpp"

namespace catwalk::config {

inline const std::string source_dir = CATWALK_SOURCE_DIR;

inline std::string read_whole(const std::string& path) {
  std::ifstream file{path, std::ios::binary};
  REQUIRE_MESSAGE(file.good(), path);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

using Files = std::map<std::string, std::string>;

constexpr const char* some_key =
    "00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff\n";

// A small rack and what it refers to, by name, without a problem.
inline Files base_files() {
  Files files;
  for (const char* name :
       {"rack.json", "show.json", "tern.json", "plover.json", "bands.json", "cables.json"})
    files[name] = read_whole(std::string{CATWALK_SOURCE_DIR "/tests/unit/config/base/"} + name);
  files["state/net.key"] = some_key;
  return files;
}

// A small rack behind a matrix, likewise.
inline Files matrix_files() {
  Files files;
  const std::string tests = CATWALK_SOURCE_DIR "/tests/unit/config/";
  for (const char* name : {"tern.json", "cables.json"})
    files[name] = read_whole(tests + "base/" + name);
  for (const char* name : {"rack.json", "show.json", "heron.json"})
    files[name] = read_whole(tests + "matrix_base/" + name);
  return files;
}

// One of several matrices, two of which hang on lines, likewise.
inline Files matrix_line_files() {
  auto files = matrix_files();
  const std::string folder = CATWALK_SOURCE_DIR "/tests/unit/config/matrix_line_base/";
  for (const char* name : {"rack.json", "show.json", "teal.json"})
    files[name] = read_whole(folder + name);
  files["state/net.key"] = some_key;
  return files;
}

// The file with its one `find` replaced.
inline void edit(Files& files, const std::string& name, const std::string& find,
                 const std::string& with) {
  std::string& text = files.at(name);
  const std::size_t at = text.find(find);
  REQUIRE_MESSAGE(at != std::string::npos, "nothing to replace: ", find);
  REQUIRE_MESSAGE(text.find(find, at + 1) == std::string::npos, "stands there twice: ", find);
  text.replace(at, find.size(), with);
}

inline std::vector<std::string> texts_of(const Problems& problems) {
  std::vector<std::string> texts;
  for (const Problem& problem : problems) texts.push_back(to_text(problem));
  return texts;
}

// Of a load without a problem.
inline RackFile rack_of(const Files& files) {
  Loaded loaded = load_text(files, "rack.json");
  REQUIRE(texts_of(loaded.problems) == std::vector<std::string>{});
  return *std::move(loaded.rack);
}

// The names of all files that are shipped in a folder of config/: "bands/fi.json" …
inline std::vector<std::string> shipped_in(const std::string& folder) {
  std::vector<std::string> names;
  for (const auto& entry : std::filesystem::directory_iterator{source_dir + "/config/" + folder})
    names.push_back(folder + "/" + entry.path().filename().string());
  return names;
}

// What `read` makes of one of them, without a problem.
template <class Read>
auto read_shipped(const std::string& name, Read read) {
  CAPTURE(name);
  Problems problems;
  const auto root = parse(read_whole(source_dir + "/config/" + name), name, problems);
  REQUIRE(root);
  auto made = read(Cursor{*root, name, problems});
  CHECK(texts_of(problems).empty());
  return made;
}

}  // namespace catwalk::config
