// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/commands.hpp"

#include <ostream>

#include "daemon/base/text.hpp"
#include "daemon/cli/commands/rows.hpp"
#include "daemon/cli/run.hpp"

namespace catwalk::cli {
namespace {

// Of what would travel in a body; other options are escaped on their way, or stay on this machine.
std::optional<std::string> text_that_is_not_plain(const Arguments& arguments) {
  for (const auto& word : arguments.words)
    if (!is_plain_text(word)) return word;
  for (const auto* option : {"--why", "--waive", "--by"})
    if (const auto value = arguments.value(option); !is_plain_text(value)) return value;
  return std::nullopt;
}

}  // namespace

const std::vector<CommandInfo>& all_commands() {
  static const auto commands = [] {
    std::vector<CommandInfo> all;
    for (const auto rows : {commands_on_nodes(), commands_on_matrices(), commands_on_physics(),
                            commands_of_upkeep(), commands_on_the_order(), commands_on_lines(),
                            commands_on_alarms(), commands_on_the_record()})
      all.insert(all.end(), rows.begin(), rows.end());
    return all;
  }();
  return commands;
}

int run_command(const Arguments& arguments, Client& client, Screen screen) {
  if (const auto bad = text_that_is_not_plain(arguments)) {
    screen.err << "catwalk: \"" << made_plain(*bad)
               << "\" cannot be used; allowed is UTF-8 text without control or format characters\n";
    return exit_usage;
  }
  try {
    Run run{arguments, client, screen};
    return arguments.command->run(run);
  } catch (const Json::exception& error) {
    screen.err << "catwalk: the daemon's answer is not what was expected (" << error.what()
               << ")\n";
    return exit_no_daemon;
  }
}

}  // namespace catwalk::cli
