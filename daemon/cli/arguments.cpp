// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/arguments.hpp"

#include <algorithm>
#include <charconv>

namespace catwalk::cli {
namespace {

constexpr std::string_view for_every_command =
    "--server --authority --token-file --json --help --version --licences";

}  // namespace

bool lists(std::string_view options, std::string_view option) {
  const auto at = options.find(option);
  if (at == std::string_view::npos) return false;
  const auto after = at + option.size();
  return after == options.size() || options[after] == ' ' || options[after] == ':';
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
    const auto known = std::ranges::find(all_options(), word, &OptionInfo::name);
    if (known == all_options().end())
      return Failure{"there is no option \"" + word + "\"; catwalk --help lists them"};
    // Of those for every command the last counts: scripts put theirs behind others.
    if (arguments.has(word) && !lists(for_every_command, word))
      return Failure{word + " was given twice"};
    std::string value;
    if (!known->value.empty()) {
      if (i + 1 >= words.size()) return Failure{word + " needs a value"};
      value = words[++i];
      if (value.empty()) return Failure{word + " needs a value that is not empty"};
    }
    arguments.options[word] = value;
  }
  if (arguments.has("--version") || arguments.has("--licences") ||
      (arguments.has("--help") && plain.empty()))
    return arguments;
  if (plain.empty()) return Failure{std::string{"a command is needed; catwalk --help lists them"}};

  const auto& commands = all_commands();
  const auto command = std::ranges::find(commands, plain.front(), &CommandInfo::name);
  if (command == commands.end())
    return Failure{"there is no command \"" + plain.front() + "\"; catwalk --help lists them"};
  arguments.command = &*command;
  if (arguments.has("--help")) return arguments;
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
  for (const auto& option : all_options())
    if (lists(command->needs, option.name) && !arguments.has(std::string{option.name}))
      return Failure{"\"" + std::string{command->name} + "\" needs " + std::string{option.name} +
                     "; catwalk " + std::string{command->name} + " --help says more"};
  if (arguments.has("--waive") != arguments.has("--by"))
    return Failure{std::string{"--waive REASON and --by NAME go together"}};
  return arguments;
}

Result<Address, std::string> parse_address(std::string_view url) {
  const std::string whole{url};
  const auto bad = Failure{"\"" + whole +
                           "\" is not the address of a daemon; allowed is "
                           "http://HOST:PORT, https://HOST:PORT or unix:FILE"};
  if (constexpr std::string_view scheme = "unix:"; url.starts_with(scheme)) {
    url.remove_prefix(scheme.size());
    if (url.empty()) return bad;
    return Address{"localhost", "", false, std::string{url}};
  }
  const bool secure = url.starts_with("https://");
  if (!secure && !url.starts_with("http://")) return bad;
  url.remove_prefix(url.find("//") + 2);
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
  return Address{std::string{host}, std::string{port}, secure};
}

}  // namespace catwalk::cli
