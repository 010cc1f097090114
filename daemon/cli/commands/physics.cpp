// SPDX-License-Identifier: Apache-2.0
// What the physics of the chain say: explained, recommended, supposed.
#include "daemon/cli/commands/rows.hpp"

#include <algorithm>
#include <optional>

#include "daemon/cli/run.hpp"
#include "daemon/cli/show_physics.hpp"
#include "daemon/cli/what_if_words.hpp"

namespace catwalk::cli {
namespace {

// Empty: it could not be asked for, and whoever shows it does without.
std::string active_segment(Run& run) {
  const auto rack = run.ask_anything("GET", "/rack");
  return rack && rack->http < 300 ? text_of(rack->body, "segment") : std::string{};
}

int recommend(Run& run) {
  if (!run.arguments().words.empty())
    return run.show(
        "/nodes/" + escaped(run.word(0)) + "/recommend" + run.query({"segment"}),
        [&](const Json& json) { return show_recommendation(json, active_segment(run)); });
  const auto active = active_segment(run);
  const auto segment = run.has("--segment") ? run.value("--segment") : active;
  if (segment.empty()) return exit_no_daemon;  // it has been complained of
  return run.show("/segments/" + escaped(segment) + "/recommend",
                  [&](const Json& json) { return show_recommendations(json, active); });
}

int what_if(Run& run) {
  const auto question = what_if_question(run.arguments());
  if (!question) return run.complain(exit_usage, question.error());
  const auto node = "/nodes/" + escaped(run.word(0));
  const auto reply = run.ask("POST", node + "/what-if", question->dump());
  if (!reply) return reply.error();
  const auto margin_now = [&](const Json& chain) -> std::optional<double> {
    const auto is =
        run.ask_anything("GET", node + "/explain?carrier=" + escaped(text_of(chain, "carrier")) +
                                    "&segment=" + escaped(text_of(reply->body, "segment")));
    if (!is || is->http >= 300) return std::nullopt;
    for (const auto& other : is->body.at("chains"))
      if (text_of(other, "receiver") == text_of(chain, "receiver") &&
          other.at("budget").contains("margin_db"))
        return other.at("budget").at("margin_db").get<double>();
    return std::nullopt;
  };
  run.print(*reply, [&](const Json& body) { return show_what_if(body, margin_now); });
  return text_of(reply->body, "would_be") == "accepted" ? exit_done : exit_refused;
}

int check_segment(Run& run) {
  const auto segment = run.arguments().words.empty() ? active_segment(run) : run.word(0);
  if (segment.empty()) return exit_no_daemon;  // it has been complained of
  const auto reply = run.ask("GET", "/segments/" + escaped(segment) + "/check");
  if (!reply) return reply.error();
  run.print(*reply, [&](const Json& body) { return show_segment_check(body, run.has("--all")); });
  return text_of(reply->body, "would_be") == "accepted" ? exit_done : exit_refused;
}

int explain(Run& run) {
  auto query = run.query({"carrier", "segment"});
  if (run.has("--as-planned")) query += std::string{query.empty() ? "?" : "&"} + "basis=planned";
  return run.show("/nodes/" + escaped(run.word(0)) + "/explain" + query,
                  [](const Json& json) { return show_explained(json); });
}

constexpr CommandInfo rows_on_physics[]{
    {"explain", "NODE", 1, 1, "--carrier --segment --as-planned",
     "the level budget of a node, stage by stage", explain,
     "With the settings in force; with --as-planned as the segment has this node and all others. "
     "Levels and noise are those at the output of each stage, in the "
     "carrier's bandwidth; MARGIN is the room of all carriers together below the 1 dB "
     "compression point, at a receiver that of the strongest below its overload."},
    {"recommend", "[NODE]", 0, 1, "--segment", "the best settings of a node, or of every node",
     recommend,
     "Over all gain steps, filters and centres: those that leave the carrier that is worst off "
     "the most margin, without a finding. Without NODE: of every node for one segment. Nothing "
     "is changed; the last lines say how to take it."},
    {"what-if", "NODE [setting=value …]", 1, any_number,
     "--passive --louder --longer --carrier --segment",
     "the verdict and the budget, if something were otherwise", what_if, "Nothing is changed."},
    {"check-segment", "[SEGMENT]", 0, 1, "--all",
     "the carriers of a segment, and what it has planned for each node", check_segment,
     "Without SEGMENT: the active one. It ends where a screen ends; --all: every finding, notes "
     "too. Exit status 0: a switch to it would find nothing to sign for where it ends, every node "
     "as planned; 3: it would be refused, or needs a waiver. Cautions about what is published of "
     "bands that no node brings are told, and need none. The way there, and who does not answer: "
     "catwalk preview. "
     "What is published of a band is information with a source, "
     "never a permission."},
};

}  // namespace

std::span<const CommandInfo> commands_on_physics() { return rows_on_physics; }

}  // namespace catwalk::cli
