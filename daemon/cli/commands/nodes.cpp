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

// The settings that the active segment has for the node, under those that were given in words.
std::optional<int> add_planned(Run& run, Json& patch) {
  const auto segments = run.ask("GET", "/segments");
  if (!segments) return segments.error();
  const auto active = text_of(segments->body, "active");
  for (const auto& segment : segments->body.at("segments")) {
    if (text_of(segment, "name") != active) continue;
    const auto planned = segment.at("settings").find(run.word(0));
    if (planned == segment.at("settings").end())
      return run.complain(exit_usage,
                          "segment " + active + " has no settings for \"" + run.word(0) + "\"");
    Json whole = *planned;
    whole.update(patch);
    patch = std::move(whole);
  }
  return std::nullopt;
}

// What was asked for, as a merge patch.
Result<Json, int> patch_in_words(Run& run) {
  const auto& words = run.arguments().words;
  auto parsed = parse_settings({words.begin() + 1, words.end()});
  if (!parsed) return Failure<int>{run.complain(exit_usage, parsed.error())};
  auto patch = std::move(parsed).value();
  if (run.has("--as-planned"))
    if (const auto status = add_planned(run, patch)) return Failure<int>{*status};
  if (patch.empty())
    return Failure<int>{
        run.complain(exit_usage, "nothing to change: give setting=value or --as-planned")};
  return patch;
}

std::string settings_of(const Run& run) { return "/nodes/" + escaped(run.word(0)) + "/settings"; }

int set(Run& run) {
  const auto patch = patch_in_words(run);
  if (!patch) return patch.error();
  const auto wanted = run.ask("GET", settings_of(run));
  if (!wanted) return wanted.error();
  auto headers = run.without_waiting();
  headers.emplace_back("If-Match", wanted->etag);
  const auto reply = run.ask("PATCH", settings_of(run), run.with_why(*patch).dump(), headers);
  return reply ? run.show_change(*reply) : reply.error();
}

int check(Run& run) {
  const auto patch = patch_in_words(run);
  if (!patch) return patch.error();
  const auto reply = run.ask("PATCH", settings_of(run) + "?dry_run=true", patch->dump());
  if (!reply) return reply.error();
  const auto would_be = text_of(reply->body, "would_be");
  run.print(*reply, [&](const Json& body) {
    return verdict_words(would_be) + '\n' + show_findings(body.at("findings"), "  ", run.word(0));
  });
  return would_be == "accepted" ? exit_done : exit_refused;
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
