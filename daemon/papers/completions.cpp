// SPDX-License-Identifier: Apache-2.0
#include "daemon/papers/completions.hpp"

#include <array>
#include <string_view>
#include <vector>

#include "daemon/cli/arguments.hpp"

namespace catwalk::papers {
namespace {

using cli::CommandInfo;

constexpr std::string_view head =
    "# Written by catwalk-papers out of the commands' own table: do not change it here.\n";
constexpr std::string_view setting_words = "gain= filter= centre= power=on power=off label=";

// What a word stands for, of which a shell may know the values.
enum class Kind { other, node, segment, line, file, settings };

// By what `words` of a command and `value` of an option call it: "NODE", "NODE[,NODE]".
Kind kind_of(std::string_view word) {
  struct Row {
    std::string_view begins;
    Kind kind;
  };
  constexpr std::array rows{Row{"NODE=", Kind::other},       Row{"NODE", Kind::node},
                            Row{"SEGMENT", Kind::segment},   Row{"LINE", Kind::line},
                            Row{"setting=", Kind::settings}, Row{"FILE", Kind::file}};
  if (word.starts_with('[')) word.remove_prefix(1);
  for (const auto& [begins, kind] : rows)
    if (word.starts_with(begins)) return kind;
  return Kind::other;
}

// `segment NAME` and `--segment NAME` mean a segment.
Kind kind_of(const OptionInfo& option) {
  return option.name == "--segment" ? Kind::segment : kind_of(option.value);
}

std::vector<Kind> words_of(const CommandInfo& command) {
  if (command.name == "segment") return {Kind::segment};
  std::vector<Kind> kinds;
  for (std::string_view rest = command.words; !rest.empty();) {
    const auto end = std::min(rest.find(' '), rest.size());
    if (const auto word = rest.substr(0, end); !word.starts_with("…"))
      kinds.push_back(kind_of(word));
    rest.remove_prefix(std::min(end + 1, rest.size()));
  }
  return kinds;
}

std::vector<const OptionInfo*> options_of(const CommandInfo& command) {
  auto options = cli::listed(command.options);
  for (const auto* option : cli::listed(cli::options_for_all)) options.push_back(option);
  return options;
}

// Between single quotes of a shell.
std::string shell_word(std::string_view text) {
  std::string result = "'";
  for (const char c : text) result += c == '\'' ? "'\\''" : std::string{c};
  return result + '\'';
}

// Which command of catwalk lists names of this kind.
std::string_view asked(Kind kind) {
  return kind == Kind::node ? "nodes" : kind == Kind::segment ? "segments" : "lines";
}

bool is_asked(Kind kind) {
  return kind == Kind::node || kind == Kind::segment || kind == Kind::line;
}

std::string bash_words(Kind kind) {
  if (kind == Kind::settings) return std::string{setting_words};
  return is_asked(kind) ? "$(_catwalk_names " + std::string{asked(kind)} + ")" : std::string{};
}

// "set:--why|go:--why" of all options whose value is such a one.
std::string bash_pattern(Kind kind) {
  std::string pattern;
  for (const auto& command : cli::all_commands())
    for (const auto* option : options_of(command))
      if (!option->value.empty() && kind_of(*option) == kind)
        pattern += (pattern.empty() ? "" : "|") + std::string{command.name} + ':' +
                   std::string{option->name};
  return pattern;
}

// "--why|--by": every option behind which a value stands.
std::string options_with_value() {
  std::string all;
  for (const auto& option : cli::all_options())
    if (!option.value.empty() &&
        ('|' + all + '|').find('|' + std::string{option.name} + '|') == std::string::npos)
      all += (all.empty() ? "" : "|") + std::string{option.name};
  return all;
}

std::string bash_case(const CommandInfo& command) {
  std::string options;
  for (const auto* option : options_of(command)) options += ' ' + std::string{option->name};
  auto text = "    " + std::string{command.name} + ")\n      options='" + options.substr(1) + "'\n";
  const auto kinds = words_of(command);
  for (std::size_t at = 0; at < kinds.size(); ++at) {
    const auto words = bash_words(kinds[at]);
    if (words.empty()) continue;
    // The last kind of word may come again and again.
    const bool last = at + 1 == kinds.size() && command.most > kinds.size();
    text += "      [ \"$place\" " + std::string{last ? "-ge" : "-eq"} + ' ' +
            std::to_string(at + 1) + " ] && words=\"" + words + "\"\n";
  }
  return text + "      ;;\n";
}

constexpr std::string_view bash_text = R"sh(_catwalk_names() {
  # Another daemon than the usual has other names.
  case " ${COMP_WORDS[*]} " in *' --server '*) return ;; esac
  catwalk "$1" 2>/dev/null </dev/null | awk 'NR > 1 { print $1 }'
}
_catwalk_offer() { mapfile -t COMPREPLY < <(compgen -W "$1" -- "$2"); }
_catwalk() {
  local current=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]}
  local command= words= options= place=0 i
  for ((i = 1; i < COMP_CWORD; ++i)); do
    case ${COMP_WORDS[i]} in
      @WITH_VALUE@) ((++i)) ;;
      -*) ;;
      *) ((++place)); [ -n "$command" ] || command=${COMP_WORDS[i]} ;;
    esac
  done
  COMPREPLY=()
  case $command:$before in
    @NODES@) _catwalk_offer "$(_catwalk_names nodes)" "$current"; return ;;
    @SEGMENTS@) _catwalk_offer "$(_catwalk_names segments)" "$current"; return ;;
    *:--authority|*:--token-file)
      compopt -o filenames 2>/dev/null
      mapfile -t COMPREPLY < <(compgen -f -- "$current")
      return ;;
  esac
  case $before in
    @WITH_VALUE@) return ;;  # what only a person knows
  esac
  case $command in
    '')
      words='@COMMANDS@'
      options='--help --version --licences --server --authority --token-file'
      ;;
@CASES@  esac
  [[ $current == -* ]] && words=$options
  _catwalk_offer "$words" "$current"
  [[ ${COMPREPLY[0]-} == *= ]] && compopt -o nospace 2>/dev/null
  return 0
}
complete -F _catwalk catwalk
)sh";

void fill_in(std::string& text, const std::string& mark, const std::string& with) {
  for (std::size_t at = 0; (at = text.find(mark, at)) != std::string::npos; at += with.size())
    text.replace(at, mark.size(), with);
}

}  // namespace

std::string completions_for_bash() {
  std::string commands;
  std::string cases;
  for (const auto& command : cli::all_commands()) {
    commands += (commands.empty() ? "" : " ") + std::string{command.name};
    cases += bash_case(command);
  }
  auto text = std::string{head} + std::string{bash_text};
  fill_in(text, "@WITH_VALUE@", options_with_value());
  fill_in(text, "@NODES@", bash_pattern(Kind::node));
  fill_in(text, "@SEGMENTS@", bash_pattern(Kind::segment));
  fill_in(text, "@COMMANDS@", commands);
  fill_in(text, "@CASES@", cases);
  return text;
}

namespace {

std::string zsh_action(Kind kind) {
  if (is_asked(kind)) return "_catwalk_" + std::string{asked(kind)};
  if (kind == Kind::file) return "_files";
  return kind == Kind::settings ? "(" + std::string{setting_words} + ")" : std::string{" "};
}

// What ends a description has to be marked.
std::string zsh_text(std::string_view text) {
  std::string result;
  for (const char c : text) {
    if (c == '[' || c == ']' || c == ':' || c == '\\') result += '\\';
    result += c;
  }
  return result;
}

std::string zsh_option(const OptionInfo& option) {
  auto spec = std::string{option.name} + '[' + zsh_text(option.help) + ']';
  if (!option.value.empty())
    spec += ':' + zsh_text(option.value) + ':' + zsh_action(kind_of(option));
  return ' ' + shell_word(spec);
}

}  // namespace

std::string completions_for_zsh() {
  std::string text = "#compdef catwalk\n" + std::string{head};
  for (const auto kind : {Kind::node, Kind::segment, Kind::line}) {
    const std::string names{asked(kind)};
    text.append("_catwalk_").append(names);
    text +=
        "() {\n"
        "  (( ${words[(I)--server]} )) && return 1\n"
        "  local -a names\n"
        "  names=(${(f)\"$(_call_program ";
    text.append(names).append(" catwalk ").append(names);
    text +=
        " 2>/dev/null </dev/null | awk 'NR > 1 { print $1 }')\"})\n"
        "  _describe -t ";
    text.append(names).append(" ").append(names).append(" names\n}\n");
  }
  std::string commands;
  std::string cases;
  for (const auto& command : cli::all_commands()) {
    commands +=
        "    " + shell_word(std::string{command.name} + ':' + zsh_text(command.help)) + '\n';
    cases += "        " + std::string{command.name} + ") _arguments";
    for (const auto* option : options_of(command)) cases += zsh_option(*option);
    const auto kinds = words_of(command);
    for (std::size_t at = 0; at < kinds.size(); ++at) {
      const bool last = at + 1 == kinds.size() && command.most > kinds.size();
      cases += ' ' +
               shell_word((last ? "*" : std::to_string(at + 1)) + ":word:" + zsh_action(kinds[at]));
    }
    cases += " ;;\n";
  }
  text +=
      "_catwalk() {\n"
      "  local curcontext=\"$curcontext\" state line\n"
      "  local -a commands\n"
      "  commands=(\n" +
      commands +
      "  )\n"
      "  _arguments -C";
  for (const auto* option :
       cli::listed("--help --version --licences --server --authority --token-file"))
    text += zsh_option(*option);
  text +=
      " '1:command:->command' '*::word:->word'\n"
      "  case $state in\n"
      "    command) _describe -t commands command commands ;;\n"
      "    word)\n"
      "      case $words[1] in\n" +
      cases +
      "      esac ;;\n"
      "  esac\n"
      "}\n"
      "_catwalk \"$@\"\n";
  return text;
}

namespace {

std::string fish_words(Kind kind) {
  if (kind == Kind::settings) return " -a " + shell_word(setting_words);
  return is_asked(kind) ? " -a '(__catwalk_names " + std::string{asked(kind)} + ")'"
                        : std::string{};
}

std::string fish_option(const OptionInfo& option, const std::string& when) {
  auto line =
      "complete -c catwalk -n " + shell_word(when) + " -l " + std::string{option.name.substr(2)};
  if (!option.value.empty()) {
    const auto kind = kind_of(option);
    line += kind == Kind::file ? " -r -F" : " -x" + fish_words(kind);
  }
  return line + " -d " + shell_word(option.help) + '\n';
}

}  // namespace

std::string completions_for_fish() {
  std::string text{head};
  text +=
      "function __catwalk_names\n"
      "    # Another daemon than the usual has other names.\n"
      "    contains -- --server (commandline -opc); and return\n"
      "    catwalk $argv[1] 2>/dev/null </dev/null | awk 'NR > 1 { print $1 }'\n"
      "end\n"
      "complete -c catwalk -f\n";
  for (const auto* option :
       cli::listed("--help --version --licences --server --authority --token-file"))
    text += fish_option(*option, "__fish_use_subcommand");
  for (const auto& command : cli::all_commands()) {
    const std::string name{command.name};
    text += "complete -c catwalk -n __fish_use_subcommand -a " + name + " -d " +
            shell_word(command.help) + '\n';
    const auto seen = "__fish_seen_subcommand_from " + name;
    for (const auto* option : options_of(command)) text += fish_option(*option, seen);
    for (const auto kind : words_of(command))
      if (const auto words = fish_words(kind); !words.empty())
        text += "complete -c catwalk -n " + shell_word(seen) + words + '\n';
  }
  return text;
}

}  // namespace catwalk::papers
