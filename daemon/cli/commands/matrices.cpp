// SPDX-License-Identifier: Apache-2.0
// The matrices: who hears through whom, looked at, changed, checked.
#include "daemon/cli/commands/rows.hpp"

#include <utility>

#include "daemon/cli/route_words.hpp"
#include "daemon/cli/run.hpp"
#include "daemon/cli/show_matrix.hpp"

namespace catwalk::cli {
namespace {

std::string path_of(const Run& run) { return "/matrices/" + escaped(run.word(0)); }

// What was asked for in words. Asks nobody.
Result<Json, int> routes_in_words(Run& run) {
  const auto& words = run.arguments().words;
  auto parsed = parse_routes({words.begin() + 1, words.end()});
  if (!parsed) return Failure<int>{run.complain(exit_usage, parsed.error())};
  return std::move(parsed).value();
}

int route(Run& run) {
  const auto patch = routes_in_words(run);
  if (!patch) return patch.error();
  const auto path = path_of(run) + "/settings";
  const auto wanted = run.ask("GET", path);
  if (!wanted) return wanted.error();
  auto headers = run.without_waiting();
  headers.emplace_back("If-Match", wanted->etag);
  const auto reply = run.ask("PATCH", path, run.with_why(patch.value()).dump(), headers);
  return reply ? run.show_change(*reply) : reply.error();
}

int check_route(Run& run) {
  const auto patch = routes_in_words(run);
  if (!patch) return patch.error();
  return run.show_verdict(path_of(run) + "/settings", patch.value());
}

int cycle_power(Run& run) {
  const auto input = number_of_socket(run.word(1));
  if (!input)
    return run.complain(exit_usage,
                        '"' + run.word(1) + "\" cannot be used; allowed is an input from 1 to 32");
  const auto reply = run.ask("POST", path_of(run) + "/power-cycle",
                             run.with_why({{"input", *input}}).dump(), run.without_waiting());
  return reply ? run.show_change(*reply) : reply.error();
}

constexpr std::string_view words_help =
    "Settings: output-N=3+7 or output-N=none, trim-N=DB, supply-N=VOLTS or supply-N=off, "
    "label-N=TEXT, and label=TEXT for the unit. What is not named stays as it is.";

constexpr CommandInfo rows_on_matrices[]{
    {"matrices", "", 0, 0, "", "every antenna matrix in a table",
     [](Run& run) {
       return run.show("/matrices", [&](const Json& json) {
         return show_matrices(json.at("matrices"), run.colour());
       });
     }},
    {"routes", "MATRIX", 1, 1, "", "what ends at its inputs, and who hears what",
     [](Run& run) {
       return run.show(path_of(run),
                       [&](const Json& json) { return show_matrix(json, run.colour()); });
     }},
    {"route", "MATRIX setting=value …", 2, any_number, "--why --waive --by --no-wait",
     "change a matrix and wait until it reads back", route, words_help},
    {"check-route", "MATRIX setting=value …", 2, any_number, "",
     "the verdict on such a change, without making it", check_route, words_help},
    {"power-cycle", "MATRIX INPUT", 2, 2, "--why --waive --by --no-wait",
     "take the supply off an input for a moment, so that what is behind it starts afresh",
     cycle_power},
};

}  // namespace

std::span<const CommandInfo> commands_on_matrices() { return rows_on_matrices; }

}  // namespace catwalk::cli
