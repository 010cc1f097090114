// SPDX-License-Identifier: Apache-2.0
// The rack and its nodes: looked at, changed, checked.
#include "daemon/cli/commands/rows.hpp"

#include <optional>
#include <utility>

#include "daemon/cli/run.hpp"
#include "daemon/cli/settings_words.hpp"
#include "daemon/cli/show.hpp"

namespace catwalk::cli {
namespace {

// What the active segment has for the node, under what was said in words.
std::optional<int> add_planned(Run& run, Json& patch) {
  if (!run.has("--as-planned")) return std::nullopt;
  const auto node = run.ask("GET", "/nodes/" + escaped(run.word(0)));
  if (!node) return node.error();
  if (!node->body.contains("planned"))
    return run.complain(exit_usage, "the active segment has no settings for \"" + run.word(0) +
                                        "\", or none that it can be set to");
  Json whole = node->body.at("planned");
  whole.update(patch);
  patch = std::move(whole);
  return std::nullopt;
}

// What was asked for in words, as a merge patch. Asks nobody.
Result<Json, int> patch_in_words(Run& run) {
  const auto& words = run.arguments().words;
  auto parsed = parse_settings({words.begin() + 1, words.end()});
  if (!parsed) return Failure<int>{run.complain(exit_usage, parsed.error())};
  auto patch = std::move(parsed).value();
  if (patch.empty() && !run.has("--as-planned"))
    return Failure<int>{
        run.complain(exit_usage, "nothing to change: give setting=value or --as-planned")};
  return patch;
}

std::string settings_of(const Run& run) { return "/nodes/" + escaped(run.word(0)) + "/settings"; }

int set(Run& run) {
  auto in_words = patch_in_words(run);
  if (!in_words) return in_words.error();
  auto patch = std::move(in_words).value();
  // Before what is planned is read, which goes on top of it: a change in between is noticed.
  const auto wanted = run.ask("GET", settings_of(run));
  if (!wanted) return wanted.error();
  if (const auto status = add_planned(run, patch)) return *status;
  auto headers = run.without_waiting();
  headers.emplace_back("If-Match", wanted->etag);
  const auto reply = run.ask("PATCH", settings_of(run), run.with_why(patch).dump(), headers);
  return reply ? run.show_change(*reply) : reply.error();
}

int check(Run& run) {
  auto in_words = patch_in_words(run);
  if (!in_words) return in_words.error();
  auto patch = std::move(in_words).value();
  if (const auto status = add_planned(run, patch)) return *status;
  return run.show_verdict(settings_of(run), patch);
}

constexpr CommandInfo rows_on_nodes[]{
    {"rack", "", 0, 0, "", "the rack: segment, lock, epoch",
     [](Run& run) { return run.show("/rack", show_rack); }},
    {"nodes", "", 0, 0, "", "every node in a table",
     [](Run& run) {
       return run.show(
           "/nodes", [&](const Json& json) { return show_nodes(json.at("nodes"), run.colour()); });
     },
     "In brackets: as it was last read, from a node that is silent. A dash: a passive antenna "
     "has "
     "no gain and no filter."},
    {"show", "NODE", 1, 1, "", "one node: wanted, seen, findings",
     [](Run& run) { return run.show("/nodes/" + escaped(run.word(0)), show_node); }},
    {"set", "NODE setting=value …", 1, any_number, "--as-planned --why --waive --by --no-wait",
     "change a node and wait until it reads back", set},
    {"check", "NODE setting=value …", 1, any_number, "--as-planned",
     "the verdict on a change, without making it", check},
};

}  // namespace

std::span<const CommandInfo> commands_on_nodes() { return rows_on_nodes; }

}  // namespace catwalk::cli
