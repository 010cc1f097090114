// SPDX-License-Identifier: Apache-2.0
#pragma once
// The command line of catwalkd.

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/option_info.hpp"
#include "daemon/base/result.hpp"
#include "daemon/rack/values/journal.hpp"

namespace catwalk::shell {

struct Options {
  enum class Task { run, check, verify_journal, export_journal, help, version, licences };
  Task task = Task::run;
  std::filesystem::path rack_file;
  std::optional<std::filesystem::path> state_dir;  // instead of the rack file's
  std::optional<std::uint16_t> port;               // instead of the rack file's
  std::filesystem::path socket;                    // for users of this machine; empty: none
  std::string log_level = "info";
  std::vector<rack::JournalHead> anchors;            // that the journal is held against
  std::optional<std::filesystem::path> export_file;  // not there yet
  std::optional<std::filesystem::path> journal;      // to be verified instead of the rack's own
  std::string version = {}, commit = {};             // of this program: no words of the line
};

// An error is one sentence that names the word and what is allowed.
Result<Options, std::string> parse_options(const std::vector<std::string>& words);
std::vector<OptionInfo> all_options();
inline constexpr std::string_view signals_help =
    "SIGHUP reads the files again: segments, limits and datasheets change, nothing moves.\n"
    "SIGTERM ends the daemon; every node keeps its settings.\n";
std::string usage();

}  // namespace catwalk::shell
