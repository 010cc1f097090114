// SPDX-License-Identifier: Apache-2.0
// What happened, and happens; the files read again; another controller.
#include "daemon/cli/commands/rows.hpp"

#include <optional>
#include <ostream>
#include <string>

#include "daemon/cli/printed_json.hpp"
#include "daemon/cli/run.hpp"
#include "daemon/cli/show.hpp"
#include "daemon/cli/show_live.hpp"

namespace catwalk::cli {
namespace {

// Whether any row at all has this, whatever else was asked for. Nothing: complained of, in
// `status`.
std::optional<bool> stands_in_journal(Run& run, const std::string& member, int& status) {
  const auto reply =
      run.ask("GET", "/journal?" + member + '=' + escaped(run.value("--" + member)) + "&limit=1");
  if (!reply) {
    status = reply.error();
    return std::nullopt;
  }
  // One that was not looked through to its end may have it.
  return !reply->body.at("entries").empty() || reply->body.contains("looked_down_to");
}

// A segment that has left the show may still have a journal; one without is misspelt. Absent: it is
// known.
std::optional<int> unknown_segment(Run& run) {
  if (!run.has("--segment")) return std::nullopt;
  const auto segments = run.ask("GET", "/segments");
  if (!segments) return segments.error();
  std::string names;
  for (const auto& segment : segments->body.at("segments")) {
    const auto name = text_of(segment, "name");
    if (name == run.value("--segment")) return std::nullopt;
    names += (names.empty() ? "" : ", ") + name;
  }
  int status = exit_done;
  const auto stands = stands_in_journal(run, "segment", status);
  if (!stands) return status;
  if (*stands) return std::nullopt;
  return run.complain(exit_usage, "--segment is \"" + run.value("--segment") +
                                      "\", which is neither in this show nor in the journal; "
                                      "there are " +
                                      names);
}

// Nobody is asked to be in a list, so it is no fault.
std::optional<int> unknown_person(Run& run) {
  if (!run.has("--who")) return std::nullopt;
  int status = exit_done;
  const auto stands = stands_in_journal(run, "who", status);
  if (!stands) return status;
  if (!*stands)
    run.err() << "catwalk: nobody of the name \"" << run.value("--who")
              << "\" stands in the journal\n";
  return std::nullopt;
}

int journal(Run& run) {
  if (const auto status = unknown_segment(run)) return *status;
  const auto narrowed = run.query(
      {"node", "kind", "who", "segment", "text", "change", "from", "to", "before", "limit"});
  if (run.has("--csv")) return run.document("/journal.csv" + narrowed);
  const auto reply = run.ask("GET", "/journal" + narrowed);
  if (!reply) return reply.error();
  const auto& entries = reply->body.at("entries");
  // A node that has left the rack file may still have a journal; one without is misspelt,
  // perhaps.
  if (entries.empty() && run.has("--node")) {
    const auto node = run.ask_anything("GET", "/nodes/" + escaped(run.value("--node")));
    if (!node) return node.error();
    if (node->http == 404) return run.refused(*node);
  }
  if (entries.empty())
    if (const auto status = unknown_person(run)) return *status;
  run.print(*reply, [&](const Json&) { return show_journal(entries); });
  if (reply->body.contains("looked_down_to") && !run.as_json()) {
    const auto row = std::to_string(reply->body.at("looked_down_to").get<std::uint64_t>());
    run.err() << "catwalk: this took long; only rows from " << row
              << " on were looked at. Older ones: the same with --before " << row << '\n';
  }
  return exit_done;
}

int watch(Run& run) {
  Json known = Json::object();
  const auto why = run.client().listen("/api/v1/live", [&](const std::string& message) {
    const auto json = parsed(message);
    if (run.as_json())
      run.out() << printed_text(message) << '\n';
    else if (!json.is_discarded()) {
      if (json.contains("running_order"))
        tell_times_in(text_of(json.at("running_order"), "zone", "UTC"));
      run.out() << show_live(made_plain(json), time_of_day(), known);
    }
    run.out().flush();
    return run.out().good();
  });
  return why.empty() ? exit_done : run.complain(exit_no_daemon, why);
}

constexpr CommandInfo rows_on_the_record[]{
    {"journal", "", 0, 0,
     "--node --kind --who --segment --text --change --from --to --before --limit --csv",
     "who changed what, and why", journal,
     "A segment that is neither in the show nor in the journal is an error; of a person who is not "
     "in it, it says so. In a table for spreadsheets text that looks like a formula has an "
     "apostrophe in front."},
    {"report", "", 0, 0, "--from --to", "the record of a day as a page to print",
     [](Run& run) {
       return run.document("/report" + run.query({"from", "to"}));
     },
     "HTML on standard output: the plan, the settings, the alarms, and who changed what; of the "
     "last 24 hours, or of the time that is given."},
    {"watch", "", 0, 0, "", "what changes, as it changes; ends with Ctrl-C", watch},
    {"reload", "", 0, 0, "", "read the rack file and its show again; moves no node",
     [](Run& run) { return run.act("/rack/reload"); },
     "Not while the rack is locked, unless it was armed: catwalk arm --reload."},
    {"take-over", "", 0, 0, "--why", "make the nodes obey this daemon and no other; needs --why",
     [](Run& run) { return run.act("/rack/take-over", run.with_why()); },
     "For a spare controller whose nodes say that they obey another one, after that one is gone "
     "for good. Dangerous while the other still runs: from then on the nodes refuse it, and "
     "whoever works there can change nothing any more.",
     "--why"},
};

}  // namespace

std::span<const CommandInfo> commands_on_the_record() { return rows_on_the_record; }

}  // namespace catwalk::cli
