// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/arguments.hpp"

#include <algorithm>
#include <charconv>

namespace catwalk::cli {
namespace {

constexpr std::size_t any_number = 64;

// Options and whether they need a value.
const std::map<std::string, bool>& all_options() {
  static const std::map<std::string, bool> options{
      {"--server", true}, {"--token-file", true}, {"--json", false},       {"--why", true},
      {"--waive", true},  {"--by", true},         {"--as-planned", false}, {"--no-wait", false},
      {"--node", true},   {"--kind", true},       {"--change", true},      {"--before", true},
      {"--limit", true},  {"--help", false}};
  return options;
}

constexpr std::string_view for_every_command = "--server --token-file --json --help";

bool lists(std::string_view options, std::string_view option) {
  const auto at = options.find(option);
  if (at == std::string_view::npos) return false;
  const auto after = at + option.size();
  return after == options.size() || options[after] == ' ';
}

}  // namespace

const std::vector<CommandInfo>& all_commands() {
  static const std::vector<CommandInfo> commands{
      {"rack", "", 0, 0, "", "the rack: segment, lock, epoch"},
      {"nodes", "", 0, 0, "", "every node in a table"},
      {"show", "NODE", 1, 1, "", "one node: wanted, seen, findings"},
      {"set", "NODE setting=value …", 1, any_number, "--why --waive --by --as-planned --no-wait",
       "change a node and wait until it reads back"},
      {"check", "NODE setting=value …", 1, any_number, "--as-planned",
       "the verdict on a change, without making it"},
      {"adopt", "NODE", 1, 1, "--why --waive --by", "wanted follows what the node shows"},
      {"reapply", "NODE", 1, 1, "--why --waive --by", "send what is wanted once more"},
      {"locate", "NODE [SECONDS]", 1, 2, "", "blink the node's lamp"},
      {"store", "NODE", 1, 1, "", "the node keeps its settings across a loss of power"},
      {"segments", "", 0, 0, "", "the segments of the show"},
      {"segment", "NAME", 1, 1, "--why", "check against this segment from now on; moves no node"},
      {"lock", "", 0, 0, "--why", "refuse every change until unlocked"},
      {"unlock", "", 0, 0, "--why", ""},
      {"lines", "", 0, 0, "", "the lines and whether they are up"},
      {"discover", "LINE", 1, 1, "", "search a line for nodes"},
      {"alarms", "", 0, 0, "", "what is or was wrong, until it is acknowledged"},
      {"acknowledge", "ALARM", 1, 1, "", "acknowledge an alarm by its number"},
      {"journal", "", 0, 0, "--node --kind --change --before --limit", "who changed what, and why"},
      {"watch", "", 0, 0, "", "what changes, as it changes; ends with Ctrl-C"},
      {"reload", "", 0, 0, "", "read the rack file and its show again; moves no node"},
      {"take-over", "", 0, 0, "--why", "make the nodes obey this daemon and no other"},
  };
  return commands;
}

std::string help_text() {
  std::string text =
      "catwalk [options] COMMAND …\n"
      "\n"
      "Changes, checks and watches the antenna amplifiers of a rack through its daemon.\n\n";
  for (const auto& command : all_commands()) {
    std::string line = "  " + std::string{command.name};
    if (!command.words.empty()) line += ' ' + std::string{command.words};
    if (!command.help.empty()) {
      // The ellipsis is one column wide and three bytes long.
      const auto columns = line.size() - (line.find("…") == std::string::npos ? 0 : 2);
      line.append(columns < 31 ? 31 - columns : 1, ' ');
      line += command.help;
    }
    text += line + '\n';
  }
  text +=
      "\n"
      "Settings: gain=DB filter=NAME centre=MHZ power=on|off label=TEXT\n"
      "\n"
      "  --as-planned       set, check: the settings that the active segment has for the node\n"
      "  --why TEXT         stands in the journal\n"
      "  --waive REASON     go on in spite of cautions; --by NAME says who answers for it\n"
      "  --no-wait          return when the intent is recorded, not when it is read back\n"
      "  --node, --kind, --change, --before, --limit   narrow the journal\n"
      "  --json             for scripts: what the API answers\n"
      "  --server URL       where the daemon is; else $CATWALK_SERVER, else http://127.0.0.1:8470\n"
      "  --token-file FILE  a token, where the daemon asks for one; else $CATWALK_TOKEN\n"
      "\n"
      "Exit status: 0 done, 2 bad words or values, 3 refused or a waiver is needed, 4 the node\n"
      "refused or reads back something else, 5 the node does not answer, 6 no daemon there or its\n"
      "answer is not understood, 7 somebody else changed it in between or is changing it now.\n";
  return text;
}

Result<Arguments, std::string> parse_arguments(const std::vector<std::string>& words) {
  Arguments arguments;
  std::vector<std::string> plain;
  for (std::size_t i = 0; i < words.size(); ++i) {
    const auto& word = words[i];
    if (!word.starts_with("--")) {
      plain.push_back(word);
      continue;
    }
    const auto known = all_options().find(word);
    if (known == all_options().end())
      return Failure{"there is no option \"" + word + "\"; catwalk --help lists them"};
    std::string value;
    if (known->second) {
      if (i + 1 >= words.size()) return Failure{word + " needs a value"};
      value = words[++i];
      if (value.empty()) return Failure{word + " needs a value that is not empty"};
    }
    arguments.options[word] = value;
  }
  if (arguments.has("--help")) return arguments;
  if (plain.empty()) return Failure{std::string{"a command is needed; catwalk --help lists them"}};

  const auto& commands = all_commands();
  const auto command = std::ranges::find(commands, plain.front(), &CommandInfo::name);
  if (command == commands.end())
    return Failure{"there is no command \"" + plain.front() + "\"; catwalk --help lists them"};
  arguments.command = &*command;
  arguments.words.assign(plain.begin() + 1, plain.end());
  const auto usage = "catwalk " + std::string{command->name} +
                     (command->words.empty() ? "" : " " + std::string{command->words});
  if (arguments.words.size() < command->fewest)
    return Failure{"\"" + std::string{command->name} + "\" needs more words: " + usage};
  if (arguments.words.size() > command->most)
    return Failure{"\"" + arguments.words[command->most] + "\" is one word too many: " + usage};
  for (const auto& [option, value] : arguments.options)
    if (!lists(for_every_command, option) && !lists(command->options, option))
      return Failure{"\"" + std::string{command->name} + "\" does not take " + option};
  if (arguments.has("--waive") != arguments.has("--by"))
    return Failure{std::string{"--waive REASON and --by NAME go together"}};
  return arguments;
}

Result<Address, std::string> parse_address(std::string_view url) {
  const std::string whole{url};
  const auto bad = Failure{"\"" + whole +
                           "\" is not the address of a daemon; allowed is "
                           "http://HOST:PORT"};
  constexpr std::string_view scheme = "http://";
  if (!url.starts_with(scheme)) return bad;
  url.remove_prefix(scheme.size());
  if (url.ends_with('/')) url.remove_suffix(1);
  const auto colon = url.rfind(':');
  if (colon == std::string_view::npos || colon == 0) return bad;
  auto host = url.substr(0, colon);
  const auto port = url.substr(colon + 1);
  unsigned number = 0;
  const auto [end, error] = std::from_chars(port.data(), port.data() + port.size(), number);
  if (error != std::errc{} || end != port.data() + port.size() || number < 1 || number > 65535)
    return bad;
  if (host.starts_with('[') && host.ends_with(']')) host = host.substr(1, host.size() - 2);
  return Address{std::string{host}, std::string{port}};
}

}  // namespace catwalk::cli
