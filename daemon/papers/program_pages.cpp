// SPDX-License-Identifier: Apache-2.0
#include "daemon/papers/program_pages.hpp"

#include "daemon/cli/arguments.hpp"
#include "daemon/papers/roff.hpp"
#include "daemon/shell/options.hpp"
#include "drivers/node/node_options.hpp"

namespace catwalk::papers {
namespace {

void tell_command(Page& page, const cli::CommandInfo& command) {
  page.part(command.name);
  auto usage = "catwalk " + std::string{command.name};
  if (!command.words.empty()) usage += ' ' + std::string{command.words};
  for (const auto* option : cli::listed(command.options))
    usage += cli::lists(command.needs, option->name) ? ' ' + usage_of(*option)
                                                     : " [" + usage_of(*option) + ']';
  page.typed(usage);
  page.text(std::string{command.help} + '.');
  if (!command.more.empty()) page.text(command.more);
}

}  // namespace

std::string page_of_catwalk(const Edition& edition) {
  Page page{"catwalk", 1, edition.version, edition.date,
            "change, check and watch the antenna amplifiers of a rack"};
  page.section("SYNOPSIS").typed("catwalk [options] COMMAND …");
  page.section("DESCRIPTION")
      .text(
          "Asks the daemon catwalkd(8), on this machine or another one, and shows what it answers. "
          "Whatever changes a node waits until the node has read back what it was told. Options "
          "stand anywhere among the words.");
  page.section("COMMANDS");
  for (const auto& command : cli::all_commands()) tell_command(page, command);
  page.section("SETTINGS")
      .text(
          "A setting is one word: gain=DB, filter=NAME, centre=MHZ, power=on or power=off, "
          "label=TEXT.");
  page.section("OPTIONS");
  for (const auto& option : cli::all_options()) page.option(option);
  page.section("EXIT STATUS").text(cli::exit_status_help);
  page.section("ENVIRONMENT")
      .told("CATWALK_SERVER", "", "where the daemon is, without --server")
      .told("CATWALK_AUTHORITY", "", "who vouches for its certificate, without --authority")
      .told("CATWALK_TOKEN", "", "the token, without --token-file")
      .told("NO_COLOR", "", "if it is not empty, nothing is stressed on a terminal");
  page.section("FILES").told(cli::socket_of_the_service, "",
                             "where the service on this machine listens");
  page.section("EXAMPLES")
      .typed("catwalk check truss-left gain=8 centre=538")
      .typed("catwalk set truss-left gain=8 centre=538 --why \"less cable on the new mast\"")
      .typed("catwalk preview finale")
      .typed("catwalk go finale");
  page.section("SEE ALSO").text("catwalkd(8), catwalk-node(1), catwalk-rack(5), catwalk-show(5)");
  return page.roff();
}

std::string page_of_catwalkd(const Edition& edition) {
  Page page{"catwalkd", 8, edition.version, edition.date,
            "control the antenna amplifiers of one rack"};
  page.section("SYNOPSIS").typed("catwalkd [options] RACKFILE");
  page.section("DESCRIPTION")
      .text(
          "Keeps a model of every amplifier of the rack that the file describes, checks what is "
          "asked for against the bands and the limits, sends it, reads it back, keeps a journal, "
          "and serves the page, the API and the live feed. It speaks to nodes over serial lines "
          "and UDP, or simulates them.");
  page.section("OPTIONS");
  for (const auto& option : shell::all_options()) page.option(option);
  page.section("SIGNALS").text(shell::signals_help);
  page.section("EXIT STATUS")
      .told("0", "", "done, or ended by SIGTERM or SIGINT")
      .told("1", "", "it failed, or the journal's chain is broken")
      .told("2", "", "words that cannot be used")
      .told("78", "",
            "the files are wrong, or the journal is of a later version: starting again does not "
            "help");
  page.section("FILES")
      .told("/etc/catwalk/rack.json", "", "the rack of the service: catwalk-rack(5)")
      .told("/var/lib/catwalk/journal.sqlite", "", "its journal")
      .told("/var/lib/catwalk/journal.sqlite.format-N", "",
            "the journal as an older version left it")
      .told("/run/catwalk/catwalk.sock", "", "for users of this machine")
      .told("/usr/share/catwalk", "", "datasheets, bands, cables and schemas")
      .told("/usr/share/doc/catwalk/examples", "", "a rack and a show to begin with");
  page.section("SEE ALSO")
      .text("catwalk(1), catwalk-node(1), catwalk-rack(5), catwalk-show(5), systemctl(1)");
  return page.roff();
}

std::string page_of_catwalk_node(const Edition& edition) {
  Page page{"catwalk-node", 1, edition.version, edition.date,
            "behave as one or many antenna amplifiers"};
  page.section("SYNOPSIS").typed("catwalk-node [options]");
  page.section("DESCRIPTION")
      .text(
          "Emulates nodes on a serial device, a pseudo-terminal or UDP, with faults where they are "
          "asked for: to try a rack without hardware, and as an example for people who build it. "
          "Prints \"pty PATH\", \"udp ADDRESS:PORT\" and then \"ready\". Runs until SIGTERM or "
          "SIGINT; the end of standard input does not end it.");
  page.section("OPTIONS");
  for (const auto& option : drivers::node_option_infos()) page.option(option);
  page.section("COMMANDS").text("On standard input, each answered \"ok\" or \"error: …\":");
  page.as_it_is(drivers::node_commands_help);
  page.section("EXIT STATUS")
      .told("0", "", "ended as told")
      .told("1", "", "failed")
      .told("2", "", "used wrongly");
  page.section("SEE ALSO").text("catwalkd(8); PROTOCOL.md in /usr/share/doc/catwalk");
  return page.roff();
}

}  // namespace catwalk::papers
