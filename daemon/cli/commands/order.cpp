// SPDX-License-Identifier: Apache-2.0
// Segments, the running order, switches, the crew sheet, the show lock.
#include "daemon/cli/commands/rows.hpp"

#include <string>
#include <vector>

#include "daemon/cli/run.hpp"
#include "daemon/cli/settings_words.hpp"
#include "daemon/cli/show.hpp"
#include "daemon/cli/show_crew.hpp"
#include "daemon/cli/show_switch.hpp"

namespace catwalk::cli {
namespace {

// Of going and arming; `what`: the first word, if there is one.
Json trigger(const Run& run, const char* what) {
  Json body = Json::object();
  if (!run.arguments().words.empty()) body[what] = run.word(0);
  if (run.has("--without")) body["without"] = parse_names(run.value("--without"));
  return run.with_why(std::move(body));
}

// The segment of the next cue.
Result<std::string, int> next_segment(Run& run) {
  const auto order = run.ask("GET", "/running-order");
  if (!order) return Failure<int>{order.error()};
  const auto next = text_of(order->body, "next");
  for (const auto& cue : order->body.at("cues"))
    if (text_of(cue, "name") == next) return text_of(cue, "segment");
  return Failure<int>{run.complain(
      exit_usage, "there is no next cue: name a SEGMENT; catwalk segments lists them")};
}

// The segment that is named, or that of the next cue.
Result<std::string, int> segment_meant(Run& run) {
  return run.arguments().words.empty() ? next_segment(run) : Result<std::string, int>{run.word(0)};
}

int show_ahead(Run& run, const std::string& path) {
  const auto reply = run.ask("GET", path);
  if (!reply) return reply.error();
  run.print(*reply, show_preview);
  return text_of(reply->body, "would_be") == "done" ? exit_done : exit_refused;
}

int preview(Run& run) {
  if (run.has("--drifted")) {
    if (!run.arguments().words.empty())
      return run.complain(exit_usage, "preview takes a SEGMENT or --drifted, one of them");
    if (run.has("--from"))
      return run.complain(exit_usage, "--drifted is about nodes as they are now: leave --from out");
    return show_ahead(run, "/rack/reapply");
  }
  const auto segment = segment_meant(run);
  if (!segment) return segment.error();
  return show_ahead(run,
                    "/segments/" + escaped(*segment) + "/preview" + run.query({"without", "from"}));
}

int crew(Run& run) {
  const auto segment = segment_meant(run);
  if (!segment) return segment.error();
  return run.show("/segments/" + escaped(*segment) + "/crew-sheet" + run.query({"from"}),
                  show_crew);
}

// `how`: "tick" or "untick".
int tick(Run& run, const std::string& how) {
  const auto& words = run.arguments().words;
  Json body = {{"rows", std::vector<std::string>(words.begin() + 1, words.end())}};
  if (run.has("--from")) body["from"] = run.value("--from");
  const auto reply =
      run.ask("POST", "/segments/" + escaped(run.word(0)) + "/crew-sheet/" + how, body.dump());
  if (!reply) return reply.error();
  run.print(*reply, show_crew);
  return exit_done;
}

// What it would come to is told, and is no fault of arming it.
int arm(Run& run) {
  if (run.has("--reload")) {
    if (run.arguments().words.empty() && !run.has("--without"))
      return run.act("/rack/reload/arm", run.with_why());
    return run.complain(exit_usage, "arm takes a CUE or --reload, one of them");
  }
  const auto reply = run.ask("POST", "/running-order/arm", trigger(run, "cue").dump());
  if (!reply) return reply.error();
  run.print(*reply, [](const Json& body) {
    return body.contains("armed") ? show_armed(body.at("armed")) : text_of(body, "outcome") + '\n';
  });
  return exit_done;
}

constexpr CommandInfo rows_on_the_order[]{
    {"segments", "", 0, 0, "", "the segments of the show",
     [](Run& run) {
       return run.show("/segments", [](const Json& json) {
         return show_segments(json.at("segments"), json.at("active"));
       });
     }},
    {"segment", "NAME", 1, 1, "--why", "check against this segment from now on; moves no node",
     [](Run& run) {
       return run.act("/rack/segment", run.with_why({{"segment", run.word(0)}}));
     },
     "To move every node to a segment: go."},
    {"order", "", 0, 0, "", "the running order: where the rack is, what is next, what is armed",
     [](Run& run) { return run.show("/running-order", show_order); }},
    {"preview", "[SEGMENT]", 0, 1, "--without --drifted --from:SEGMENT",
     "what a switch to a segment would do, step by step", preview,
     "Nothing moves. Without SEGMENT: to the next cue. With --from SEGMENT the nodes begin as they "
     "are wanted in that segment, not as they are now. Exit status 0: it would be done, or nothing "
     "is to do; 3: it would be refused, or needs a waiver."},
    {"crew", "[SEGMENT]", 0, 1, "--from:SEGMENT",
     "the crew sheet: what people do on the way to a segment", crew,
     "Which carriers go off, move and come on, in the order that the way of the nodes needs, "
     "whose they are, and who has ticked what. Without SEGMENT: to the next cue. Without --from: "
     "from the segment that is on the air."},
    {"tick", "SEGMENT ROW …", 2, any_number, "--from:SEGMENT", "rows of a crew sheet are done",
     [](Run& run) { return tick(run, "tick"); },
     "ROW as catwalk crew shows it: vocal-2.off. Everybody sees who has ticked it, and when. "
     "Under the show lock too, since it moves nothing."},
    {"untick", "SEGMENT ROW …", 2, any_number, "--from:SEGMENT",
     "rows of a crew sheet are not done after all", [](Run& run) { return tick(run, "untick"); }},
    {"go", "[SEGMENT]", 0, 1, "--without --why --waive --by --no-wait",
     "switch every node to a segment; without SEGMENT: to the next cue",
     [](Run& run) {
       return run.switched("/switch", trigger(run, "segment"), run.without_waiting());
     },
     "All of them or none, along a way on which no moment is worse than either end. Waits for "
     "the "
     "end: done, rolled back, or stuck, with what to do about each node. What is left out stays as "
     "it is. If it answers, it is checked there: --waive covers the carriers that it does not "
     "bring, not what it would let in, nor a receiver without any antenna left."},
    {"abort", "", 0, 0, "--why", "roll back the switch under way",
     [](Run& run) { return run.act("/switch/abort", run.with_why()); },
     "A switch that is being rolled back stops where it is. What waits for its turn is dropped."},
    {"switch", "", 0, 0, "", "the switch under way, or the last one",
     [](Run& run) { return run.show("/switch", show_switch); }},
    {"arm", "[CUE]", 0, 1, "--without --reload --why --waive --by",
     "let a cue be triggered although the rack is locked", arm,
     "Without CUE: the next one. Everybody sees it; it ends by itself, and with the trigger. A "
     "waiver goes with the switch that the cue triggers."},
    {"disarm", "", 0, 0, "", "end an arming",
     [](Run& run) { return run.act("/running-order/disarm"); }},
    {"message", "TEXT", 1, 1, "", "trigger the next cue if it waits for this message",
     [](Run& run) {
       return run.switched("/running-order/message", {{"text", run.word(0)}});
     }},
    {"lock", "", 0, 0, "--why", "no settings and no segment are changed until unlocked",
     [](Run& run) { return run.act("/rack/lock", run.with_why()); },
     "Refused while locked: set, adopt, segment, go; cues and reload too, unless armed. Still "
     "possible: everything that only looks, reapply, locate, store, discover, acknowledge, tick, "
     "take-over and unlock. A node with \"on return: reapply\" still gets back what is wanted of "
     "it "
     "when it returns."},
    {"unlock", "", 0, 0, "--why", "settings may be changed again",
     [](Run& run) { return run.act("/rack/unlock", run.with_why()); }},
};

}  // namespace

std::span<const CommandInfo> commands_on_the_order() { return rows_on_the_order; }

}  // namespace catwalk::cli
