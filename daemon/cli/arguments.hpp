// SPDX-License-Identifier: Apache-2.0
#pragma once
// The command line of `catwalk`: a command, its words, and options anywhere among them.

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/option_info.hpp"
#include "daemon/base/result.hpp"

namespace catwalk::cli {

class Run;

// One thing that `catwalk` can do: how its help tells it, how its words are counted, and what does
// it.
struct CommandInfo {
  std::string_view name;
  std::string_view words;  // "NODE setting=value …"
  std::size_t fewest = 0;
  std::size_t most = 0;      // words after the command
  std::string_view options;  // those it takes, besides the ones for all: "--why --as-planned"
  std::string_view help;
  int (*run)(Run& run) = nullptr;  // its exit status
  std::string_view more = {};      // what its own help says beyond that
  std::string_view needs = {};     // options that must be given, as `options` lists them
};
const std::vector<CommandInfo>& all_commands();
constexpr std::size_t any_number = 64;  // the most words of any command

// "--why --from:SEGMENT" has "--why" and "--from". What stands behind a colon is the value of an
// option that means one thing here and another elsewhere.
bool lists(std::string_view options, std::string_view option);

// A name may stand here twice, with another value each.
const std::vector<OptionInfo>& all_options();

struct Arguments {
  const CommandInfo* command = nullptr;        // null: general help or the version was asked for
  std::vector<std::string> words;              // after the command
  std::map<std::string, std::string> options;  // "--why" → "long cable"; flags → ""

  bool has(const std::string& option) const { return options.contains(option); }
  std::string value(const std::string& option) const {
    const auto found = options.find(option);
    return found == options.end() ? std::string{} : found->second;
  }
};

// An error is one sentence that names the word and what is allowed.
Result<Arguments, std::string> parse_arguments(const std::vector<std::string>& words);

// Where the daemon is: "http://127.0.0.1:8470", "https://rack.example:8470", brackets around IPv6;
// or "unix:/run/catwalk/catwalk.sock" on this machine.
struct Address {
  std::string host;
  std::string port;
  bool secure = false;
  std::string socket = {};  // a path; empty: over TCP
  // A PEM file with who vouches for the daemon's certificate; empty: those that the system trusts.
  std::string authority = {};
};
Result<Address, std::string> parse_address(std::string_view url);
// As the unit file has it.
inline constexpr const char* socket_of_the_service = "/run/catwalk/catwalk.sock";

// The options of a list such as "--why --from:SEGMENT", in that order.
std::vector<const OptionInfo*> listed(std::string_view names);
// Those that every command takes.
inline constexpr std::string_view options_for_all =
    "--json --server --authority --token-file --help";
// What settings are, and what the exit status tells: of every command.
std::string settings_help();
extern const std::string_view exit_status_help;

std::string help_text();
std::string help_text(const CommandInfo& command);

}  // namespace catwalk::cli
