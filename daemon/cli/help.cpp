// SPDX-License-Identifier: Apache-2.0
// What `catwalk` can do, and how it is told.
#include <algorithm>

#include "daemon/cli/arguments.hpp"
#include "daemon/cli/settings_words.hpp"
#include "daemon/cli/table.hpp"

namespace catwalk::cli {
namespace {

std::string padded(std::string text, std::size_t columns) {
  const auto width = width_of(text);
  text.append(width < columns ? columns - width : 1, ' ');
  return text;
}

constexpr std::size_t help_column = 29;

std::string option_lines(std::string_view names) {
  std::string text;
  for (const auto* option : listed(names)) text += help_row(*option, help_column);
  return text;
}

}  // namespace

std::string settings_help() { return "Settings: " + settings_usage() + '\n'; }

std::vector<const OptionInfo*> listed(std::string_view names) {
  std::vector<const OptionInfo*> options;
  while (!names.empty()) {
    const auto end = std::min(names.find(' '), names.size());
    const auto word = names.substr(0, end);
    const auto colon = std::min(word.find(':'), word.size());
    const auto value = word.substr(std::min(colon + 1, word.size()));
    const auto found = std::ranges::find_if(all_options(), [&](const OptionInfo& option) {
      return option.name == word.substr(0, colon) && (value.empty() || option.value == value);
    });
    if (found != all_options().end()) options.push_back(&*found);
    names.remove_prefix(std::min(end + 1, names.size()));
  }
  return options;
}

const std::vector<OptionInfo>& all_options() {
  static const std::vector<OptionInfo> options{
      {"--as-planned", "",
       "the settings that the active segment, or that of --segment, has for the node"},
      {"--why", "TEXT", "stands in the journal"},
      {"--waive", "REASON", "go on in spite of cautions"},
      {"--by", "NAME", "who answers for --waive"},
      {"--no-wait", "", "return when the intent is recorded, not when it is read back"},
      {"--carrier", "NAME", "this carrier, not the one that is worst off"},
      {"--segment", "NAME",
       "of this segment; without it the active one, in the journal all of them"},
      {"--passive", "NODE[,NODE]", "if these nodes had no power"},
      {"--without", "NODE[,NODE]", "these nodes stay as they are; needs --why, --waive and --by"},
      {"--louder", "CARRIER=DB[,…]", "if these carriers were so much louder; below 0: weaker"},
      {"--longer", "NODE=M[,…]", "if the cable behind these nodes were so much longer"},
      {"--for", "TIME",
       "for so long, a number with s, m or h behind it: 90s, 30m, 2h; one minute to a day"},
      {"--node", "NODE", "only what concerns this node"},
      {"--kind", "KIND", "only entries of this kind"},
      {"--who", "NAME", "only what this one did"},
      {"--text", "TEXT", "only entries that have this in them, in capitals or not"},
      {"--from", "TIME", "from this moment on: 19:00, 2026-08-14 19:00, 2026-08-14T20:15:00Z"},
      {"--from", "SEGMENT",
       "the way that comes from this segment; catwalk segments lists their names"},
      {"--to", "TIME", "before this moment"},
      {"--change", "NUMBER", "only those of this change"},
      {"--before", "NUMBER", "only rows before the one with this number, the first in each row"},
      {"--limit", "COUNT", "at most so many, 1 to 1000"},
      {"--all", "", "every one of them"},
      {"--drifted", "", "of every node that shows other settings than wanted"},
      {"--reload", "", "not a cue but reload, although the rack is locked; once"},
      {"--csv", "", "as a table for spreadsheets (RFC 4180), all of it unless --limit says less"},
      {"--json", "", "for scripts: what the API answers"},
      {"--server", "URL",
       "where the daemon is; else $CATWALK_SERVER, else the socket of the service on this machine, "
       "else http://127.0.0.1:8470"},
      {"--authority", "FILE",
       "PEM: who vouches for the daemon's certificate; else $CATWALK_AUTHORITY, else whom the "
       "system trusts"},
      {"--token-file", "FILE", "a token, where the daemon asks for one; else $CATWALK_TOKEN"},
      {"--help", "", "of catwalk, or of the command it stands with"},
      {"--version", "", "which catwalk this is: number, commit, how it was built"},
      {"--licences", "", "what others have made that is in it, and their licences"}};
  return options;
}

const std::string_view exit_status_help =
    "Exit status: 0 done, or nothing is to do; 2 words or values that cannot be used, or files "
    "with errors; 3 refused as things are, by the rules, the show lock or your role, or a waiver "
    "is needed; 4 the node refused or reads back something else, or a switch is rolled back or "
    "stuck; 5 the node is silent: it does not answer; 6 no daemon there, or its answer is not "
    "understood; 7 somebody else changed it in between or is changing it now.";

std::string help_text() {
  std::string text =
      "catwalk [options] COMMAND …\n"
      "\n"
      "Changes, checks and watches the antenna amplifiers of a rack through its daemon.\n\n";
  for (const auto& command : all_commands()) {
    auto line = "  " + std::string{command.name};
    if (!command.words.empty()) line += ' ' + std::string{command.words};
    text += padded(std::move(line), 33) + std::string{command.help} + '\n';
    if (command.options.empty()) continue;
    std::string options;
    for (const auto* option : listed(command.options)) options += ' ' + usage_of(*option);
    text += "     " + options + '\n';
  }
  text += '\n' + settings_help() + '\n';
  for (const auto& option : all_options()) text += help_row(option, help_column);
  text += '\n' + wrapped(exit_status_help, 99, "");
  text += wrapped("\"catwalk COMMAND --help\" says more of one command.", 99, "");
  return text;
}

std::string help_text(const CommandInfo& command) {
  std::string text = "catwalk " + std::string{command.name};
  if (!command.words.empty()) text += ' ' + std::string{command.words};
  for (const auto* option : listed(command.options))
    text += lists(command.needs, option->name) ? ' ' + usage_of(*option)
                                               : " [" + usage_of(*option) + ']';
  text += "\n\n" + std::string{command.help} + '\n';
  if (!command.more.empty()) text += '\n' + wrapped(command.more, 96, "");
  if (command.words.find("setting") != std::string_view::npos) text += '\n' + settings_help();
  return text + '\n' + option_lines(command.options) + option_lines(options_for_all);
}

}  // namespace catwalk::cli
