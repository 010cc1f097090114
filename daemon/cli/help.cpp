// SPDX-License-Identifier: Apache-2.0
// What `catwalk` can do, and how it is told.
#include <algorithm>

#include "daemon/cli/arguments.hpp"
#include "daemon/cli/table.hpp"

namespace catwalk::cli {
namespace {

constexpr std::size_t any_number = 64;

std::string usage_of(const OptionInfo& option) {
  return std::string{option.name} + (option.value.empty() ? "" : " ") + std::string{option.value};
}

// The options of a list such as "--why --waive", in that order.
std::vector<const OptionInfo*> listed(std::string_view names) {
  std::vector<const OptionInfo*> options;
  while (!names.empty()) {
    const auto end = std::min(names.find(' '), names.size());
    const auto found = std::ranges::find(all_options(), names.substr(0, end), &OptionInfo::name);
    if (found != all_options().end()) options.push_back(&*found);
    names.remove_prefix(std::min(end + 1, names.size()));
  }
  return options;
}

std::string padded(std::string text, std::size_t columns) {
  const auto width = width_of(text);
  text.append(width < columns ? columns - width : 1, ' ');
  return text;
}

constexpr std::string_view settings_help =
    "Settings: gain=DB filter=NAME centre=MHZ power=on|off label=TEXT\n";
constexpr std::string_view for_all = "--json --server --authority --token-file --help";

std::string option_lines(std::string_view names) {
  std::string text;
  for (const auto* option : listed(names))
    text += padded("  " + usage_of(*option), 29) + std::string{option->help} + '\n';
  return text;
}

}  // namespace

const std::vector<OptionInfo>& all_options() {
  static const std::vector<OptionInfo> options{
      {"--as-planned", "", "the settings that the active segment has for the node"},
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
      {"--for", "TIME", "for so long: 30m, 90s, 2h"},
      {"--node", "NODE", "only what concerns this node"},
      {"--kind", "KIND", "only entries of this kind"},
      {"--who", "NAME", "only what this one did"},
      {"--text", "TEXT", "only entries that have this in them, in capitals or not"},
      {"--from", "TIME|SEGMENT",
       "from this moment on: 19:00, 2026-08-14 19:00, 2026-08-14T20:15:00Z; of a way: from this "
       "segment"},
      {"--to", "TIME", "before this moment"},
      {"--change", "NUMBER", "only those of this change"},
      {"--before", "SEQUENCE", "only those before this one"},
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
      {"--version", "", "which catwalk this is"}};
  return options;
}

const std::vector<CommandInfo>& all_commands() {
  static const std::vector<CommandInfo> commands{
      {"rack", "", 0, 0, "", "the rack: segment, lock, epoch"},
      {"nodes", "", 0, 0, "", "every node in a table",
       "In brackets: as it was last read, from a node that is silent. A dash: a passive antenna "
       "has "
       "no gain and no filter."},
      {"show", "NODE", 1, 1, "", "one node: wanted, seen, findings"},
      {"set", "NODE setting=value …", 1, any_number, "--as-planned --why --waive --by --no-wait",
       "change a node and wait until it reads back"},
      {"check", "NODE setting=value …", 1, any_number, "--as-planned",
       "the verdict on a change, without making it"},
      {"explain", "NODE", 1, 1, "--carrier --segment", "the level budget of a node, stage by stage",
       "With the settings in force. Levels and noise are those at the output of each stage, in the "
       "carrier's bandwidth; MARGIN is the room of all carriers together below the 1 dB "
       "compression point, at a receiver that of the strongest below its overload."},
      {"recommend", "[NODE]", 0, 1, "--segment", "the best settings of a node, or of every node",
       "Over all gain steps, filters and centres: those that leave the carrier that is worst off "
       "the most margin, without a finding. Without NODE: of every node for one segment. Nothing "
       "is changed; the last lines say how to take it."},
      {"what-if", "NODE [setting=value …]", 1, any_number,
       "--passive --louder --longer --carrier --segment",
       "the verdict and the budget, if something were otherwise", "Nothing is changed."},
      {"check-segment", "[SEGMENT]", 0, 1, "--all",
       "the carriers of a segment, and what it has planned for each node",
       "Without SEGMENT: the active one. It ends where a screen ends; --all: every finding, notes "
       "too. "
       "What is published of a band is information with a source, "
       "never a permission."},
      {"adopt", "NODE", 1, 1, "--why --waive --by", "wanted follows what the node shows"},
      {"reapply", "[NODE]", 0, 1, "--all --no-wait --why --waive --by",
       "send what is wanted once more",
       "Under the show lock too. --all instead of NODE: every node that answers and shows other "
       "settings than wanted, along a way like that of go; catwalk preview --drifted shows it."},
      {"locate", "NODE [SECONDS]", 1, 2, "", "blink the node's lamp",
       "NODE is a name, or the uid of one that discover found, before it stands in any file. One "
       "without an address of its own is given one with that, and keeps it."},
      {"store", "NODE", 1, 1, "", "the node keeps its settings across a loss of power"},
      {"reclaim", "NODE", 1, 1, "--why",
       "let a node that obeys an epoch which no controller can have obey ours again; needs --why",
       "Proved by the node's own key (key_file), on a UDP line by that of the line. A node without "
       "a key is reclaimed by hand, as its manual says.",
       "--why"},
      {"segments", "", 0, 0, "", "the segments of the show"},
      {"segment", "NAME", 1, 1, "--why", "check against this segment from now on; moves no node",
       "To move every node to a segment: go."},
      {"order", "", 0, 0, "", "the running order: where the rack is, what is next, what is armed"},
      {"preview", "[SEGMENT]", 0, 1, "--without --drifted --from",
       "what a switch to a segment would do, step by step",
       "Nothing moves. With --from SEGMENT the nodes begin as they are wanted in that segment, not "
       "as they are now. Exit status 0: it would be done; 3: it would be refused, or needs a "
       "waiver."},
      {"crew", "[SEGMENT]", 0, 1, "--from",
       "the crew sheet: what people do on the way to a segment",
       "Which carriers go off, move and come on, in the order that the way of the nodes needs, "
       "whose they are, and who has ticked what. Without SEGMENT: to the next cue. Without --from: "
       "from the segment that is on the air."},
      {"tick", "SEGMENT ROW …", 2, any_number, "--from", "rows of a crew sheet are done",
       "ROW as catwalk crew shows it: vocal-2.off. Everybody sees who has ticked it, and when. "
       "Under the show lock too, since it moves nothing."},
      {"untick", "SEGMENT ROW …", 2, any_number, "--from",
       "rows of a crew sheet are not done after all"},
      {"go", "[SEGMENT]", 0, 1, "--without --why --waive --by --no-wait",
       "switch every node to a segment; without SEGMENT: to the next cue",
       "All of them or none, along a way on which no moment is worse than either end. Waits for "
       "the "
       "end: done, rolled back, or stuck, with what to do about each node."},
      {"abort", "", 0, 0, "--why", "roll back the switch under way",
       "A switch that is being rolled back stops where it is. What waits for its turn is dropped."},
      {"switch", "", 0, 0, "", "the switch under way, or the last one"},
      {"arm", "[CUE]", 0, 1, "--without --reload --why --waive --by",
       "let a cue be triggered although the rack is locked",
       "Without CUE: the next one. Everybody sees it; it ends by itself, and with the trigger. A "
       "waiver goes with the switch that the cue triggers."},
      {"disarm", "", 0, 0, "", "end an arming"},
      {"message", "TEXT", 1, 1, "", "trigger the next cue if it waits for this message"},
      {"lock", "", 0, 0, "--why", "no settings and no segment are changed until unlocked",
       "Refused while locked: set, adopt, reapply, segment, go; cues too, unless armed. Still "
       "possible: everything that only "
       "looks, locate, store, discover, acknowledge, reload, take-over and unlock. A node with "
       "\"on return: reapply\" still gets back what is wanted of it when it returns."},
      {"unlock", "", 0, 0, "--why", "settings may be changed again"},
      {"lines", "", 0, 0, "", "the lines and whether they are up"},
      {"discover", "LINE", 1, 1, "", "search a line for nodes: what and where each is",
       "On a UDP line also those with no endpoint in the rack file: of the network of its "
       "\"bind\", "
       "by broadcast and by multicast, at the line's \"search_port\". What is in doubt about a "
       "node "
       "is said below; catwalk locate UID blinks it."},
      {"alarms", "", 0, 0, "", "what is or was wrong, until it is acknowledged"},
      {"acknowledge", "[ALARM …]", 0, any_number, "--all",
       "acknowledge alarms by their numbers, or all",
       "Numbers and ranges: 3 5-9. What follows from an alarm is acknowledged with it."},
      {"shelve", "ALARM", 1, 1, "--for --why", "let an alarm draw no attention for a while",
       "From one minute to a day. Everybody sees that it is shelved, by whom and why; at the end "
       "it "
       "stands as any other, whatever became of it meanwhile.",
       "--for --why"},
      {"unshelve", "ALARM", 1, 1, "", "end a shelving now"},
      {"journal", "", 0, 0,
       "--node --kind --who --segment --text --change --from --to --before --limit --csv",
       "who changed what, and why",
       "In a table for spreadsheets text that looks like a formula has an apostrophe in front."},
      {"report", "", 0, 0, "--from --to", "the record of a day as a page to print",
       "HTML on standard output: the plan, the settings, the alarms, and who changed what; of the "
       "last 24 hours, or of the time that is given."},
      {"watch", "", 0, 0, "", "what changes, as it changes; ends with Ctrl-C"},
      {"reload", "", 0, 0, "", "read the rack file and its show again; moves no node",
       "Not while the rack is locked, unless it was armed: catwalk arm --reload."},
      {"take-over", "", 0, 0, "--why", "make the nodes obey this daemon and no other; needs --why",
       "For a spare controller whose nodes say that they obey another one, after that one is gone "
       "for good. Dangerous while the other still runs: from then on the nodes refuse it, and "
       "whoever works there can change nothing any more.",
       "--why"},
  };
  return commands;
}

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
  text += '\n' + std::string{settings_help} + '\n';
  std::string names;
  for (const auto& option : all_options()) names += std::string{option.name} + ' ';
  text += option_lines(names);
  text +=
      "\n"
      "Exit status: 0 done, 2 bad words or values, 3 refused or a waiver is needed, 4 the node\n"
      "refused or reads back something else, or a switch is rolled back or stuck, 5 the node is "
      "silent: it does not answer, 6 no "
      "daemon\n"
      "there or its answer is not understood, 7 somebody else changed it in between or is "
      "changing\n"
      "it now. \"catwalk COMMAND --help\" says more of one command.\n";
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
  if (command.words.find("setting") != std::string_view::npos)
    text += '\n' + std::string{settings_help};
  return text + '\n' + option_lines(command.options) + option_lines(for_all);
}

}  // namespace catwalk::cli
