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

namespace {

// What is wrong with the value; empty: nothing.
using Complaint = std::string;

struct Option {
  OptionInfo info;
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
    {{"--check", "",
      "say everything that is wrong with the rack file and what it refers to, and what its "
      "segments' carriers are to each other and to the bands, and stop; exit status 78 if anything "
      "is wrong with the files"},
     set_task<Options::Task::check>},
    {{"--verify-journal", "",
      "recompute the journal's chain of hashes, and stop; exit status 1 if it is broken, or an "
      "anchor does not hold; beside a running daemon too"},
     set_task<Options::Task::verify_journal>},
    {{"--anchor", "ROW:HASH",
      "with --verify-journal, as often as you like: the journal still says of all rows up to that "
      "one what it said when a report or the log had this"},
     take_anchor},
    {{"--journal", "FILE",
      "with --verify-journal: that one, an exported one for instance, and no RACKFILE"},
     take_path<&Options::journal>},
    {{"--export-journal", "FILE",
      "move the rows that are older than journal_days of the rack file to a new file that proves "
      "them, and stop; the daemon must not be running"},
     take_export_file},
    {{"--state-dir", "DIR", "keep the journal there, not where the rack file says"},
     take_path<&Options::state_dir>},
    {{"--port", "PORT", "listen there, not where the rack file says; 0: any free port"}, take_port},
    {{"--socket", "FILE",
      "listen on that Unix socket too, for users of this machine, who need no token there"},
     take_path<&Options::socket>},
    {{"--log", "LEVEL", "debug, info (usual), warn, error or off"}, take_log_level},
    {{"--help", "", "this text"}, set_task<Options::Task::help>},
    {{"--version", "", "which catwalkd this is: number, commit, how it was built"},
     set_task<Options::Task::version>},
    {{"--licences", "", "what others have made that is in it, and their licences"},
     set_task<Options::Task::licences>},
};

// `value`: the word behind it; null: there is none.
Complaint take(Options& options, const Option& option, const std::string* value) {
  const auto& [name, kind, help] = option.info;
  if ((kind == "FILE" || kind == "DIR") && (value == nullptr || value->empty()))
    return std::string{name} + " needs " + (kind == "FILE" ? "a file" : "a folder");
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
    const auto option = std::ranges::find(known_options, words[i],
                                          [](const Option& known) { return known.info.name; });
    Complaint complaint;
    if (option == std::end(known_options)) {
      complaint = take_rack_file(options, words[i]);
    } else {
      const bool takes = !option->info.value.empty();
      complaint = take(options, *option, takes && i + 1 < words.size() ? &words[i + 1] : nullptr);
      if (takes) ++i;
    }
    if (!complaint.empty()) return Failure{std::move(complaint)};
    if (options.task == Options::Task::help || options.task == Options::Task::version ||
        options.task == Options::Task::licences)
      return options;
  }
  if ((!options.anchors.empty() || options.journal) &&
      options.task != Options::Task::verify_journal)
    return Failure{std::string{"--anchor and --journal go with --verify-journal only"}};
  if (options.rack_file.empty() && !options.journal)
    return Failure{std::string{"a rack file is needed"}};
  return options;
}

std::vector<OptionInfo> all_options() {
  std::vector<OptionInfo> options;
  for (const auto& option : known_options) options.push_back(option.info);
  return options;
}

std::string usage() {
  constexpr std::size_t help_column = 21;
  std::string text =
      "catwalkd [options] RACKFILE\n"
      "\n"
      "Controls the antenna amplifiers of one rack, and serves its panels.\n"
      "\n";
  for (const auto& option : known_options) text += help_row(option.info, help_column);
  return text + '\n' + std::string{signals_help};
}

}  // namespace catwalk::shell
