// SPDX-License-Identifier: Apache-2.0
#include "tests/simulation/script.hpp"

#include <algorithm>
#include <charconv>

#include "tests/simulation/random.hpp"

namespace catwalk::simulation {
namespace {

std::string fingerprint_of(const Script& script) {
  Fingerprint print;
  print.add(described(show_of(script)));
  char digits[16];
  const auto end = std::to_chars(std::begin(digits), std::end(digits), print.value(), 16).ptr;
  std::string text{std::begin(digits), end};
  return std::string(16 - text.size(), '0') + text;
}

std::string_view first_word(std::string_view& rest) {
  const auto begin = std::min(rest.find_first_not_of(' '), rest.size());
  const auto end = std::min(rest.find(' ', begin), rest.size());
  const auto word = rest.substr(begin, end - begin);
  rest.remove_prefix(std::min(end + 1, rest.size()));
  return word;
}

// One line into the script; what is wrong with it, or nothing.
std::string read_line(std::string_view line, Script& script) {
  const auto verb = first_word(line);
  if (verb == "show" || verb == "routed") {
    script.routed = verb == "routed";
    const auto seed = first_word(line);
    const auto [end, bad] = std::from_chars(seed.data(), seed.data() + seed.size(), script.show);
    if (bad != std::errc{} || end != seed.data() + seed.size())
      return "show is \"" + std::string{seed} + "\", allowed is a whole number, not negative";
    const auto is = fingerprint_of(script);
    if (const auto was = first_word(line); was != is)
      return std::string{verb} + ' ' + std::string{seed} + " has the fingerprint " + is +
             " by now, not \"" + std::string{was} +
             "\": it is another show than the script was written for";
    return {};
  }
  const auto time = first_word(line);
  // A clock step has just the field that is needed to read a duration.
  const auto read = action_from("clock by=" + std::string{time});
  if (!read || time.starts_with('-'))
    return "\"" + std::string{time} + "\" is no time, allowed is one like 1.5s, 20ms or 5us";
  const auto at = std::get<StepClock>(*read).by;
  if (verb == "length") {
    script.length = at;
    return {};
  }
  if (verb != "at") return "\"" + std::string{verb} + "\" is none of show, routed, length, at";
  auto action = action_from(line);
  if (!action) return action.error();
  script.actions.push_back({at, *std::move(action)});
  return {};
}

}  // namespace

Show show_of(const Script& script) {
  return script.routed ? routed_show(script.show) : random_show(script.show);
}

std::string words(const Script& script) {
  std::string text = (script.routed ? "routed " : "show ") + std::to_string(script.show) + ' ' +
                     fingerprint_of(script) + "\nlength " + words(script.length) + '\n';
  for (const auto& [at, action] : script.actions)
    text += "at " + words(at) + ' ' + words(action) + '\n';
  return text;
}

Result<Script, std::string> script_from(std::string_view text) {
  Script script;
  int number = 0;
  while (!text.empty()) {
    ++number;
    const auto end = std::min(text.find('\n'), text.size());
    auto line = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    if (line.empty() || line.starts_with('#')) continue;
    if (const auto trouble = read_line(line, script); !trouble.empty())
      return Failure{"line " + std::to_string(number) + ": " + trouble};
  }
  std::ranges::stable_sort(script.actions, {}, &Timed::at);
  return script;
}

}  // namespace catwalk::simulation
