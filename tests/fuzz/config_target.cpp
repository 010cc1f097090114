// SPDX-License-Identifier: Apache-2.0
#include "tests/fuzz/config_target.hpp"

#include <array>
#include <cstdlib>
#include <fstream>
#include <map>
#include <sstream>
#include <string>

#include "config/load.hpp"

namespace catwalk::config {
namespace {

constexpr std::array<const char*, 6> replaceable{
    "demo/harbour.rack.json", "demo/harbour.show.json",  "datasheets/tern-inline.json",
    "bands/nz.json",          "demo/state/quay-net.key", "cables.json"};

std::string read_whole(const std::string& name) {
  std::ifstream file{std::string{CATWALK_SOURCE_DIR "/config/"} + name, std::ios::binary};
  if (!file.good()) std::abort();
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

// The demo with a smaller band table, so that most of the time goes into what is fuzzed.
std::map<std::string, std::string> demo_files() {
  std::map<std::string, std::string> files;
  for (const char* name :
       {"demo/harbour.rack.json", "demo/harbour.show.json", "bands/nz.json", "cables.json",
        "datasheets/tern-inline.json", "datasheets/gull-integral.json",
        "datasheets/plover-fixed.json", "datasheets/heron-sum.json"})
    files[name] = read_whole(name);
  std::string& rack = files["demo/harbour.rack.json"];
  const std::string bands = "bands/cept.json";
  rack.replace(rack.find(bands), bands.size(), "bands/nz.json");
  files["demo/state/quay-net.key"] = std::string(64, 'a');
  return files;
}

}  // namespace

void load_one(const std::uint8_t* data, std::size_t size) {
  static const std::map<std::string, std::string> whole = demo_files();
  if (size == 0) return;
  std::map<std::string, std::string> files = whole;
  files[replaceable[data[0] % replaceable.size()]] =
      std::string{reinterpret_cast<const char*>(data) + 1, size - 1};
  const Loaded loaded = load_text(files, "demo/harbour.rack.json");
  if (loaded.rack.has_value() != loaded.problems.empty()) std::abort();
  for (const Problem& problem : loaded.problems)
    for (const char c : to_text(problem))
      if (static_cast<unsigned char>(c) < 0x20) std::abort();
}

}  // namespace catwalk::config
