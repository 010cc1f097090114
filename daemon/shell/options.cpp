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

namespace {

// What is wrong with the value; empty: nothing.
using Complaint = std::string;

struct Option {
  std::string_view name;
  std::string_view value;  // what it takes: "a file"; empty: nothing
  Complaint (*take)(Options& options, const std::string& value);
};

template <Options::Task task>
Complaint set_task(Options& options, const std::string& /*value*/) {
  options.task = task;
  return {};
}

Complaint take_anchor(Options& options, const std::string& text) {
  const auto anchor = store::parse_head(text);
  if (!anchor)
    return "--anchor is \"" + text +
           "\"; allowed is ROW:HASH, a row from 1 and 64 hexadecimal digits";
  options.anchors.push_back(*anchor);
  return {};
}

Complaint take_port(Options& options, const std::string& text) {
  options.port = parse_port(text);
  return options.port ? Complaint{} : "--port is \"" + text + "\"; allowed is 0 to 65535";
}

Complaint take_log_level(Options& options, const std::string& level) {
  if (std::ranges::find(log_levels, level) == log_levels.end())
    return "--log is \"" + level + "\"; allowed is debug, info, warn, error or off";
  options.log_level = level;
  return {};
}

// `member`: where the file or folder is kept.
template <auto member>
Complaint take_path(Options& options, const std::string& path) {
  options.*member = path;
  return {};
}

Complaint take_export_file(Options& options, const std::string& file) {
  options.task = Options::Task::export_journal;
  return take_path<&Options::export_file>(options, file);
}

constexpr Option known_options[]{
    {"--help", "", set_task<Options::Task::help>},
    {"--version", "", set_task<Options::Task::version>},
    {"--check", "", set_task<Options::Task::check>},
    {"--verify-journal", "", set_task<Options::Task::verify_journal>},
    {"--anchor", "ROW:HASH", take_anchor},
    {"--journal", "a file", take_path<&Options::journal>},
    {"--export-journal", "a file", take_export_file},
    {"--state-dir", "a folder", take_path<&Options::state_dir>},
    {"--port", "a port", take_port},
    {"--socket", "a file", take_path<&Options::socket>},
    {"--log", "a level", take_log_level},
};

// `value`: the word behind it; null: there is none.
Complaint take(Options& options, const Option& option, const std::string* value) {
  const bool is_path = option.value == "a file" || option.value == "a folder";
  if (is_path && (value == nullptr || value->empty()))
    return std::string{option.name} + " needs " + std::string{option.value};
  return option.take(options, value == nullptr ? std::string{} : *value);
}

Complaint take_rack_file(Options& options, const std::string& word) {
  if (word.starts_with('-') && word.size() > 1)
    return "there is no option \"" + word + "\"; catwalkd --help lists them";
  if (!options.rack_file.empty())
    return "there are two rack files: " + options.rack_file.string() + " and " + word +
           "; one daemon runs one rack";
  options.rack_file = word;
  return {};
}

}  // namespace

Result<Options, std::string> parse_options(const std::vector<std::string>& words) {
  Options options;
  for (std::size_t i = 0; i < words.size(); ++i) {
    const auto option = std::ranges::find(known_options, words[i], &Option::name);
    Complaint complaint;
    if (option == std::end(known_options)) {
      complaint = take_rack_file(options, words[i]);
    } else {
      const bool takes = !option->value.empty();
      complaint = take(options, *option, takes && i + 1 < words.size() ? &words[i + 1] : nullptr);
      if (takes) ++i;
    }
    if (!complaint.empty()) return Failure{std::move(complaint)};
    if (options.task == Options::Task::help || options.task == Options::Task::version)
      return options;
  }
  if ((!options.anchors.empty() || options.journal) &&
      options.task != Options::Task::verify_journal)
    return Failure{std::string{"--anchor and --journal go with --verify-journal only"}};
  if (options.rack_file.empty() && !options.journal)
    return Failure{std::string{"a rack file is needed"}};
  return options;
}

}  // namespace catwalk::shell
