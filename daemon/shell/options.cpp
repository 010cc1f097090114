// SPDX-License-Identifier: Apache-2.0
#include "daemon/shell/options.hpp"

#include <algorithm>
#include <array>
#include <charconv>

#include "daemon/store/chain.hpp"

namespace catwalk::shell {
namespace {

constexpr std::array log_levels{"debug", "info", "warn", "error", "off"};

std::optional<std::uint16_t> parse_port(const std::string& text) {
  std::uint16_t port = 0;
  const auto* end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, port);
  if (text.empty() || error != std::errc{} || stop != end) return std::nullopt;
  return port;
}

}  // namespace

std::string_view usage() {
  return "catwalkd [options] RACKFILE\n"
         "\n"
         "Controls the antenna amplifiers of one rack, and serves its panels.\n"
         "\n"
         "  --check            say everything that is wrong with the rack file and what it refers\n"
         "                     to, and what its segments' carriers are to each other and to the\n"
         "                     bands, and stop; exit status 78 if anything is wrong with the "
         "files\n"
         "  --verify-journal   recompute the journal's chain of hashes, and stop; exit status 1 "
         "if\n"
         "                     it is broken, or an anchor does not hold; beside a running daemon "
         "too\n"
         "  --anchor ROW:HASH  with --verify-journal, as often as you like: the journal still says "
         "of "
         "all\n"
         "                     rows up to that one what it said when a report or the log had this\n"
         "  --journal FILE     with --verify-journal: that one, an exported one for instance, and "
         "no\n"
         "                     RACKFILE\n"
         "  --export-journal FILE\n"
         "                     move the rows that are older than journal_days of the rack file to "
         "a "
         "new\n"
         "                     file that proves them, and stop; the daemon must not be running\n"
         "  --state-dir DIR    keep the journal there, not where the rack file says\n"
         "  --port PORT        listen there, not where the rack file says; 0: any free port\n"
         "  --socket FILE      listen on that Unix socket too, for users of this machine, who "
         "need\n"
         "                     no token there\n"
         "  --log LEVEL        debug, info (usual), warn, error or off\n"
         "  --help, --version\n"
         "\n"
         "SIGHUP reads the files again: segments, limits and datasheets change, nothing moves.\n"
         "SIGTERM ends the daemon; every node keeps its settings.\n";
}

Result<Options, std::string> parse_options(const std::vector<std::string>& words) {
  Options options;
  for (std::size_t i = 0; i < words.size(); ++i) {
    const auto& word = words[i];
    const auto value = [&]() -> std::optional<std::string> {
      if (i + 1 >= words.size()) return std::nullopt;
      return words[++i];
    };
    if (word == "--help") {
      options.task = Options::Task::help;
      return options;
    }
    if (word == "--version") {
      options.task = Options::Task::version;
      return options;
    }
    if (word == "--check") {
      options.task = Options::Task::check;
    } else if (word == "--verify-journal") {
      options.task = Options::Task::verify_journal;
    } else if (word == "--anchor") {
      const auto text = value().value_or("");
      const auto anchor = store::parse_head(text);
      if (!anchor)
        return Failure{"--anchor is \"" + text +
                       "\"; allowed is ROW:HASH, a row from 1 and 64 hexadecimal digits"};
      options.anchors.push_back(*anchor);
    } else if (word == "--journal") {
      const auto file = value();
      if (!file || file->empty()) return Failure{std::string{"--journal needs a file"}};
      options.journal = *file;
    } else if (word == "--export-journal") {
      options.task = Options::Task::export_journal;
      const auto file = value();
      if (!file || file->empty()) return Failure{std::string{"--export-journal needs a file"}};
      options.export_file = *file;
    } else if (word == "--state-dir") {
      const auto folder = value();
      if (!folder || folder->empty()) return Failure{std::string{"--state-dir needs a folder"}};
      options.state_dir = *folder;
    } else if (word == "--port") {
      const auto text = value();
      options.port = text ? parse_port(*text) : std::nullopt;
      if (!options.port)
        return Failure{"--port is \"" + text.value_or("") + "\"; allowed is 0 to 65535"};
    } else if (word == "--socket") {
      const auto file = value();
      if (!file || file->empty()) return Failure{std::string{"--socket needs a file"}};
      options.socket = *file;
    } else if (word == "--log") {
      const auto level = value().value_or("");
      if (std::ranges::find(log_levels, level) == log_levels.end())
        return Failure{"--log is \"" + level + "\"; allowed is debug, info, warn, error or off"};
      options.log_level = level;
    } else if (word.starts_with('-') && word.size() > 1) {
      return Failure{"there is no option \"" + word + "\"; catwalkd --help lists them"};
    } else if (!options.rack_file.empty()) {
      return Failure{"there are two rack files: " + options.rack_file.string() + " and " + word +
                     "; one daemon runs one rack"};
    } else {
      options.rack_file = word;
    }
  }
  if ((!options.anchors.empty() || options.journal) &&
      options.task != Options::Task::verify_journal)
    return Failure{std::string{"--anchor and --journal go with --verify-journal only"}};
  if (options.rack_file.empty() && !options.journal)
    return Failure{std::string{"a rack file is needed"}};
  return options;
}

}  // namespace catwalk::shell
