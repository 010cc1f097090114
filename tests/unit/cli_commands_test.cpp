// SPDX-License-Identifier: Apache-2.0
// The commands against a daemon that says what the test wants: which request each makes, how it is
// shown, and by which exit status it tells how it went.
#include "daemon/cli/commands.hpp"

#include <doctest/doctest.h>

#include <mutex>
#include <nlohmann/json.hpp>
#include <sstream>

#include "tests/support/raw_socket.hpp"

using namespace catwalk::cli;
using catwalk::test::ScriptedServer;
using Words = std::vector<std::string>;

namespace {

struct Ran {
  int status = -1;
  std::string out, err;
  std::vector<std::string> asked;  // "POST /api/v1/rack/lock {"why":"doors"}"
};

Ran run_against(std::uint16_t port, const Words& words) {
  const auto arguments = parse_arguments(words);
  REQUIRE_MESSAGE(arguments, (arguments ? std::string{} : arguments.error()));
  Client client{{"127.0.0.1", std::to_string(port)}, {}, std::chrono::seconds{10}};
  std::ostringstream out;
  std::ostringstream err;
  Ran ran;
  ran.status = run_command(*arguments, client, {out, err, false});
  ran.out = out.str();
  ran.err = err.str();
  return ran;
}

Ran run(const Words& words, const ScriptedServer::Answer& answer) {
  std::mutex mutex;
  std::vector<std::string> asked;
  Ran ran;
  {
    const ScriptedServer server{[&](const std::string& line, const std::string& body) {
      const std::lock_guard lock{mutex};
      asked.push_back(body.empty() ? line : line + ' ' + body);
      return answer(line, body);
    }};
    ran = run_against(server.port(), words);
  }
  ran.asked = asked;
  return ran;
}

ScriptedServer::Answer always(int status, const std::string& body) {
  return [=](const std::string&, const std::string&) {
    return ScriptedServer::Reply{status, body, {}};
  };
}

const std::string settled = R"({"outcome":"settled","change":7,"findings":[]})";

// GET of the settings answers with a revision, everything else as the test says.
ScriptedServer::Answer at_revision_three(int status, const std::string& body) {
  return [=](const std::string& line, const std::string&) {
    if (line.starts_with("GET")) return ScriptedServer::Reply{200, "{}", "ETag: \"3\"\r\n"};
    return ScriptedServer::Reply{status, body, {}};
  };
}

}  // namespace

TEST_CASE("each way that a request can go has its exit status") {
  struct Row {
    int http;
    std::string outcome;
    int status;
  };
  for (const auto& [http, outcome, status] :
       std::vector<Row>{{200, "done", exit_done},
                        {202, "accepted", exit_done},
                        {400, "", exit_usage},
                        {401, "", exit_refused},
                        {403, "", exit_refused},
                        {404, "unknown-name", exit_usage},
                        {404, "refused", exit_refused},
                        {405, "", exit_no_daemon},
                        {409, "refused", exit_refused},
                        {409, "needs-waiver", exit_refused},
                        {409, "busy", exit_overtaken},
                        {412, "stale", exit_overtaken},
                        {413, "", exit_usage},
                        {415, "", exit_usage},
                        {421, "", exit_no_daemon},
                        {422, "", exit_usage},
                        {422, "refused", exit_refused},
                        {428, "", exit_overtaken},
                        {500, "", exit_no_daemon},
                        {502, "failed", exit_failed},
                        {503, "not-recorded", exit_no_daemon},
                        {504, "unreachable", exit_unreachable}}) {
    const auto& the_http = http;
    CAPTURE(the_http);
    const auto& the_outcome = outcome;
    CAPTURE(the_outcome);
    const auto body = R"({"detail":"so it went","outcome":")" + outcome + R"(","findings":[]})";
    const auto acted = run({"lock"}, always(http, body));
    CHECK(acted.status == status);
    CHECK(acted.err.starts_with("catwalk: so it went\n") == (status != exit_done));
    CHECK(run({"set", "left", "gain=6"}, at_revision_three(http, body)).status == status);
    CHECK(run({"adopt", "left"}, at_revision_three(http, body)).status == status);
  }
}

TEST_CASE("no daemon, no JSON, or JSON of somebody else is told as that") {
  std::uint16_t gone = 0;
  {
    const ScriptedServer server{always(200, "{}")};
    gone = server.port();
  }
  const auto nobody = run_against(gone, {"nodes"});
  CHECK(nobody.status == exit_no_daemon);
  CHECK(nobody.err == "catwalk: there is no daemon at http://127.0.0.1:" + std::to_string(gone) +
                          " (Connection refused)\n");
  const auto page = run({"nodes"}, always(200, "<html>"));
  CHECK(page.status == exit_no_daemon);
  CHECK(page.err == "catwalk: the answer is not JSON; is this a Catwalk daemon?\n");
  const auto stranger = run({"nodes"}, always(200, R"({"antennas":[]})"));
  CHECK(stranger.status == exit_no_daemon);
  CHECK(stranger.err.starts_with("catwalk: the daemon's answer is not what was expected ("));
}

TEST_CASE("each command asks for what it says") {
  struct Row {
    Words words;
    Words asked;
  };
  const std::string left = "/api/v1/nodes/left/settings";
  const std::string matrices = "GET /api/v1/matrices";  // is it one of those?
  for (
      const auto& [words, asked] : std::vector<Row>{
          {{"lock", "--why", "doors"}, {R"(POST /api/v1/rack/lock {"why":"doors"})"}},
          {{"unlock"}, {"POST /api/v1/rack/unlock {}"}},
          {{"take-over", "--why", "it burnt"},
           {R"(POST /api/v1/rack/take-over {"why":"it burnt"})"}},
          {{"segment", "finale"}, {R"(POST /api/v1/rack/segment {"segment":"finale"})"}},
          {{"store", "left"}, {matrices, "POST /api/v1/nodes/left/store {}"}},
          {{"locate", "left", "30"},
           {matrices, R"(POST /api/v1/nodes/left/locate {"seconds":30})"}},
          {{"acknowledge", "4"}, {"POST /api/v1/alarms/4/acknowledge {}"}},
          {{"acknowledge", "4", "7-9"}, {"POST /api/v1/alarms/acknowledge {\"alarms\":[4,7,8,9]}"}},
          {{"acknowledge", "--all"}, {"POST /api/v1/alarms/acknowledge {\"all\":true}"}},
          {{"reapply", "--all"}, {"POST /api/v1/rack/reapply {}"}},
          {{"preview", "--drifted"}, {"GET /api/v1/rack/reapply"}},
          {{"arm", "--reload"}, {"POST /api/v1/rack/reload/arm {}"}},
          {{"preview", "finale", "--from", "race day"},
           {"GET /api/v1/segments/finale/preview?from=race%20day"}},
          {{"crew", "finale", "--from", "speeches"},
           {"GET /api/v1/segments/finale/crew-sheet?from=speeches"}},
          {{"tick", "finale", "voice-1.off", "ears-1.off"},
           {R"(POST /api/v1/segments/finale/crew-sheet/tick {"rows":["voice-1.off","ears-1.off"]})"}},
          {{"untick", "finale", "voice-1.off", "--from", "speeches"},
           {R"(POST /api/v1/segments/finale/crew-sheet/untick {"rows":["voice-1.off"],"from":"speeches"})"}},
          {{"go", "finale", "--without", "left,spare"},
           {"POST /api/v1/switch {\"segment\":\"finale\",\"without\":[\"left\",\"spare\"]}"}},
          {{"unshelve", "4"}, {"POST /api/v1/alarms/4/unshelve {}"}},
          {{"report", "--from", "2026-08-14T18:00:00+02:00"},
           {"GET /api/v1/report?from=2026-08-14T18%3A00%3A00%2B02%3A00"}},
          {{"journal", "--csv", "--who", "ana", "--text", "long cable"},
           {"GET /api/v1/journal.csv?who=ana&text=long%20cable"}},
          {{"set", "left", "gain=6", "--why", "long cable", "--waive", "so", "--by", "Ana"},
           {"GET " + left,
            "PATCH " + left +
                R"( {"gain_db":6.0,"why":"long cable","waiver":{"who":"Ana","reason":"so"}})"}},
          {{"explain", "left", "--carrier", "voice 1"},
           {"GET /api/v1/nodes/left/explain?carrier=voice%201"}},
          {{"explain", "left", "--segment", "finale", "--as-planned"},
           {"GET /api/v1/nodes/left/explain?segment=finale&basis=planned"}},
          {{"recommend", "left", "--segment", "finale"},
           {"GET /api/v1/nodes/left/recommend?segment=finale", "GET /api/v1/rack"}},
          {{"recommend", "--segment", "finale"},
           {"GET /api/v1/rack", "GET /api/v1/segments/finale/recommend"}},
          {{"check-segment", "finale"}, {"GET /api/v1/segments/finale/check"}},
          {{"what-if", "left", "gain=9", "--passive", "left"},
           {R"(POST /api/v1/nodes/left/what-if {"settings":{"gain_db":9.0},"passive":["left"]})"}},
          {{"reapply", "left"}, {matrices, "GET " + left, "POST /api/v1/nodes/left/reapply {}"}},
          // A name is data, whatever it looks like.
          {{"store", "../rack/lock?x=ü"},
           {matrices, "POST /api/v1/nodes/..%2Frack%2Flock%3Fx%3D%C3%BC/store {}"}},
          {{"matrices"}, {matrices}},
          {{"routes", "shore"}, {"GET /api/v1/matrices/shore"}},
          {{"route", "a/b", "output-1=3+7", "label=A", "--why", "one more", "--waive", "so", "--by",
            "Ana"},
           {"GET /api/v1/matrices/a%2Fb/settings",
            R"(PATCH /api/v1/matrices/a%2Fb/settings {"routes":{"1":[3,7]},"label":"A","why":"one more",)"
            R"("waiver":{"who":"Ana","reason":"so"}})"}},
          {{"power-cycle", "shore", "3", "--why", "no sound"},
           {R"(POST /api/v1/matrices/shore/power-cycle {"input":3,"why":"no sound"})"}},
          {{"check-route", "shore", "trim-3=-4.5"},
           {R"(PATCH /api/v1/matrices/shore/settings?dry_run=true {"trims_db":{"3":-4.5}})"}}}) {
    const auto& the_words = words;
    CAPTURE(the_words);
    CHECK(run(words, at_revision_three(200, settled)).asked == asked);
  }
  CHECK(run({"journal", "--node", "a b", "--limit", "5"}, always(200, R"({"entries":[]})")).asked ==
        Words{"GET /api/v1/journal?node=a%20b&limit=5", "GET /api/v1/nodes/a%20b"});
}

TEST_CASE("a check is a dry run, and its exit status is what would be") {
  const auto verdict = [](const std::string& would_be) {
    return always(200, R"({"would_be":")" + would_be +
                           R"(","findings":[{"severity":"refuse","rule":"gain-limit",)"
                           R"("sentence":"It is too much."}]})");
  };
  const auto accepted = run({"check", "left", "gain=6"}, verdict("accepted"));
  CHECK(accepted.status == exit_done);
  CHECK(accepted.asked ==
        Words{R"(PATCH /api/v1/nodes/left/settings?dry_run=true {"gain_db":6.0})"});
  const auto refused = run({"check", "left", "gain=60"}, verdict("refused"));
  CHECK(refused.status == exit_refused);
  CHECK(refused.out == "would be refused\n  refuse  gain-limit: It is too much.\n");
  const auto needs = run({"check", "left", "gain=6"}, verdict("needs-waiver"));
  CHECK(needs.status == exit_refused);
  CHECK(needs.out.starts_with("would need a waiver\n"));
}

TEST_CASE("words that cannot be used are told before anybody is asked") {
  for (const auto& [words, told] : std::vector<std::pair<Words, std::string>>{
           {{"set", "left", "gain=lots"},
            "\"gain=lots\" cannot be used; allowed is gain=DB, such as gain=-1.5"},
           {{"set", "left"}, "nothing to change: give setting=value or --as-planned"},
           {{"check", "left"}, "nothing to change: give setting=value or --as-planned"},
           {{"shelve", "1", "--why", "x", "--for", "soon"},
            "\"soon\" cannot be used; allowed is a time such as 90s, 30m or 2h"},
           {{"report", "--json"}, "this is a document, not JSON: leave --json out"},
           {{"journal", "--csv", "--json"}, "this is a document, not JSON: leave --json out"},
           {{"route", "shore", "output-1=4+x"},
            "\"output-1=4+x\" cannot be used; allowed is output-N=INPUT[+INPUT …] or "
            "output-N=none, "
            "such as output-1=3+7; N and INPUT from 1 to 32, each input once"},
           {{"check-route", "shore", "gain=6"},
            "\"gain=6\" cannot be used; allowed is output-N=, trim-N=, supply-N=, label-N= or "
            "label=, "
            "N from 1"},
           {{"power-cycle", "shore", "0"},
            "\"0\" cannot be used; allowed is an input from 1 to 32"},
           {{"power-cycle", "shore", "3rd"},
            "\"3rd\" cannot be used; allowed is an input from 1 to 32"},
           {{"locate", "left", "soon"}, "\"soon\" cannot be used; allowed is 0 to 255 seconds"},
           {{"locate", "left", "1.5"}, "\"1.5\" cannot be used; allowed is 0 to 255 seconds"}}) {
    const auto& the_told = told;
    CAPTURE(the_told);
    const auto ran = run(words, always(200, settled));
    CHECK(ran.status == exit_usage);
    CHECK(ran.err == "catwalk: " + told + "\n");
    CHECK(ran.asked.empty());
  }
}

TEST_CASE("what the active segment has for a node is set, under what is said in words") {
  const auto answer = [](const std::string& line, const std::string&) {
    if (line == "GET /api/v1/nodes/left")
      return ScriptedServer::Reply{200, R"({"planned":{"gain_db":2,"centre_mhz":620}})", {}};
    if (line.starts_with("GET")) return ScriptedServer::Reply{200, "{}", "ETag: \"3\"\r\n"};
    return ScriptedServer::Reply{200, settled, {}};
  };
  const auto ran = run({"set", "left", "gain=5", "--as-planned"}, answer);
  CHECK(ran.status == exit_done);
  REQUIRE(ran.asked.size() == 3);
  CHECK(ran.asked[0] == "GET /api/v1/nodes/left/settings");  // a change after it is noticed
  CHECK(ran.asked[2] == R"(PATCH /api/v1/nodes/left/settings {"gain_db":5.0,"centre_mhz":620})");
  const auto unplanned = run({"set", "spare", "--as-planned"}, answer);
  CHECK(unplanned.status == exit_usage);
  CHECK(
      unplanned.err ==
      "catwalk: the active segment has no settings for \"spare\", or none that it can be set to\n");
}

TEST_CASE("an error is shown with every bad value, every finding, and how to go on") {
  const auto ran =
      run({"set", "left", "gain=6"},
          at_revision_three(409,
                            R"({"detail":"There are cautions.","outcome":"needs-waiver",
              "errors":[{"pointer":"/gain_db","detail":"gain_db is too much."}],
              "findings":[{"severity":"caution","rule":"lane-conflict","sentence":"It overlaps."}]})"));
  CHECK(ran.err ==
        "catwalk: There are cautions.\n"
        "  gain_db is too much.\n"
        "  caution  lane-conflict: It overlaps.\n"
        "  to go on: --waive REASON --by NAME\n");
  CHECK(ran.out.empty());
}

TEST_CASE("for scripts the answer is the API's own, on standard output, errors too") {
  CHECK(run({"lock", "--json"}, always(200, R"({"outcome":"done","findings":[]})")).out ==
        "{\n  \"outcome\": \"done\",\n  \"findings\": []\n}\n");
  // Of a switch, each finding with the node that it is about.
  const auto of_two = run({"go", "finale"}, always(409, R"({"detail":"no","outcome":"refused",)"
                                                        R"("findings":[{"severity":"refuse",)"
                                                        R"("rule":"gain-limit","node":"left",)"
                                                        R"("sentence":"Too much."}]})"));
  CHECK(of_two.err == "catwalk: no\n  refuse  gain-limit at left: Too much.\n");
  const auto refused = run({"lock", "--json"}, always(409, R"({"detail":"no","findings":[]})"));
  CHECK(refused.status == exit_refused);
  CHECK(refused.out == "{\n  \"detail\": \"no\",\n  \"findings\": []\n}\n");
  CHECK(refused.err == "catwalk: no\n");
}

TEST_CASE("an error with one bad value is told once") {
  const auto ran = run({"set", "left", "centre=9999"},
                       at_revision_three(422, R"({"detail":"centre_mhz is 9999.0.",
              "errors":[{"pointer":"/centre_mhz","detail":"centre_mhz is 9999.0."}]})"));
  CHECK(ran.status == exit_usage);
  CHECK(ran.err == "catwalk: centre_mhz is 9999.0.\n");
}

TEST_CASE("what an action has to add to its outcome is said") {
  const auto ran =
      run({"segment", "finale"},
          always(200, R"({"outcome":"done","detail":"Off plan: left.","findings":[]})"));
  CHECK(ran.out == "done: Off plan: left.\n");
}

TEST_CASE("a journal of a node that is not there says so; of one that left, it is shown") {
  const auto answer = [](const std::string& rows) {
    return [=](const std::string& line, const std::string&) {
      if (line.find("/journal") != std::string::npos)
        return ScriptedServer::Reply{200, R"({"entries":[)" + rows + "]}", {}};
      return ScriptedServer::Reply{404, R"({"detail":"There is no node \"nosuch\"."})", {}};
    };
  };
  const auto none = run({"journal", "--node", "nosuch"}, answer(""));
  CHECK(none.status == exit_usage);
  CHECK(none.err == "catwalk: There is no node \"nosuch\".\n");
  const auto gone =
      run({"journal", "--node", "nosuch"},
          answer(R"({"sequence":3,"at":"2026-08-14T20:00:00Z","kind":"found","who":"ana"})"));
  CHECK(gone.status == exit_done);
  CHECK(gone.out == "3  2026-08-14 20:00:00Z  found  ana\n");
}

TEST_CASE(
    "a segment that the journal cannot have is an error, and a person it has not is told so") {
  const auto answer = [](const std::string& of_old) -> ScriptedServer::Answer {
    return [=](const std::string& line, const std::string&) {
      if (line == "GET /api/v1/segments")
        return ScriptedServer::Reply{
            200, R"({"active":"finale","segments":[{"name":"speeches"},{"name":"finale"}]})", {}};
      const bool has_rows = line.find("=" + of_old) != std::string::npos;
      return ScriptedServer::Reply{
          200,
          has_rows
              ? R"({"entries":[{"sequence":3,"at":"2026-08-14T20:00:00Z","kind":"lock","who":"bo"}]})"
              : R"({"entries":[]})",
          {}};
    };
  };
  for (const auto& form : std::vector<Words>{{}, {"--csv"}, {"--json"}}) {
    Words words{"journal", "--segment", "final"};
    words.insert(words.end(), form.begin(), form.end());
    const auto unknown = run(words, answer("encore"));
    CHECK(unknown.status == exit_usage);
    CHECK(
        unknown.err ==
        "catwalk: --segment is \"final\", which is neither in this show nor in the journal; there "
        "are speeches, finale\n");
    CHECK(unknown.out.empty());
  }
  // One that has left the show, and one in which nothing happened.
  CHECK(run({"journal", "--segment", "encore"}, answer("encore")).out.find("bo") !=
        std::string::npos);
  const auto quiet = run({"journal", "--segment", "finale"}, answer("encore"));
  CHECK(quiet.status == exit_done);
  CHECK(quiet.err.empty());

  const auto nobody = run({"journal", "--who", "anna", "--node", "left"}, answer("bo"));
  CHECK(nobody.status == exit_done);
  CHECK(nobody.err == "catwalk: nobody of the name \"anna\" stands in the journal\n");
  CHECK(run({"journal", "--who", "bo"}, answer("bo")).err.empty());
}

TEST_CASE("the exit status of a segment's check is what a switch to it would come to") {
  const auto check = [](const std::string& would_be) {
    return always(200, R"({"segment":"finale","would_be":")" + would_be +
                           R"(","findings":[{"severity":"caution","rule":"legal-band",)"
                           R"("sentence":"Closed."}],"nodes":[{"node":"left","would_be":)"
                           R"("accepted","settings":{"gain_db":0,"filter":"slide","power":true,)"
                           R"("label":""},"findings":[{"severity":"note",)"
                           R"("rule":"power-failure","node":"left","sentence":"Dark."}]}]})");
  };
  const auto good = run({"check-segment", "finale"}, check("accepted"));
  CHECK(good.status == exit_done);
  CHECK(good.out ==
        "finale: 0 refusals, 1 caution, 1 note.\n"
        "With every node so, a switch to it needs no waiver for where it ends.\n"
        "RULE           REFUSALS  CAUTIONS  NOTES\n"
        "legal-band            0         1      0\n"
        "power-failure         0         0      1\n"
        "NODE           REFUSALS  CAUTIONS  NOTES\n"
        "(the segment)         0         1      0\n"
        "left                  0         0      1\n"
        "caution  legal-band: Closed.\n"
        "1 more; all of them: catwalk check-segment finale --all\n");
  CHECK(run({"check-segment", "finale"}, check("refused")).status == exit_refused);
  const auto caution = run({"check-segment", "finale"}, check("needs-waiver"));
  CHECK(caution.status == exit_refused);
  CHECK(caution.out.find("a switch to it would need a waiver.\n") != std::string::npos);
}

TEST_CASE("what a search found is told with its type, its place, and what is in doubt") {
  const auto ran = run({"discover", "bus"}, always(200, R"({"name":"bus","searching":false,
      "discovered":[{"uid":"7a10-00000001","address":4,"node":"left","type":"tern-inline",
                     "firmware":"1.2"},
                    {"uid":"7a10-00000002","type":"gull\u001b[31m","firmware":"2.0",
                     "endpoint":"192.0.2.7:7010"},
                    {"uid":"7a10-00000003","doubt":"It has no address yet: locate it."}]})"));
  CHECK(ran.status == exit_done);
  CHECK(ran.out ==
        "UID            ADDRESS  NODE                  TYPE         FIRMWARE  ENDPOINT\n"
        "7a10-00000001        4  left                  tern-inline  1.2       -\n"
        "7a10-00000002        -  not in the rack file  gull\xEF\xBF\xBD[31m    2.0       "
        "192.0.2.7:7010\n"
        "7a10-00000003        -  not in the rack file  -            -         -\n"
        "7a10-00000003: It has no address yet: locate it.\n");
  const auto lines = run({"lines"}, always(200, R"({"lines":[{"name":"bus","up":true,
      "searching":false,"discovered":[{"uid":"7a10-00000001","node":"left"},
                                      {"uid":"7a10-00000003","doubt":"It has none."}]}]})"));
  CHECK(lines.out ==
        "LINE  STATE  REASON  LAST SEARCH\n"
        "bus   up             2 found, 1 not in the rack file, 1 in doubt\n");
}

TEST_CASE("locate takes a uid that a search has found") {
  const std::string found = R"({"lines":[{"name":"bus","up":true,"searching":false,"discovered":[]},
      {"name":"net","up":true,"searching":false,"discovered":[{"uid":"7a10-0000002f"}]}]})";
  const auto answer = [&](const std::string& line, const std::string&) {
    if (line.find("/lines/") == std::string::npos && line.find("/lines") != std::string::npos)
      return ScriptedServer::Reply{200, found, {}};
    if (line.starts_with("GET"))
      return ScriptedServer::Reply{200, R"({"nodes":[{"name":"abcd-12345678"}]})", {}};
    return ScriptedServer::Reply{200, R"({"outcome":"done"})", {}};
  };
  const auto ran = run({"locate", "7A10-0000002F", "30"}, answer);
  CHECK(ran.status == exit_done);
  CHECK(ran.out == "done\n");
  REQUIRE_FALSE(ran.asked.empty());
  CHECK(ran.asked.back() ==
        R"(POST /api/v1/lines/net/discovered/7a10-0000002f/locate {"seconds":30})");
  const auto none = run({"locate", "7a10-00000030"}, answer);
  CHECK(none.status == exit_usage);
  CHECK(none.err ==
        "catwalk: no search has found 7a10-00000030; find it first: catwalk discover LINE\n");
  // A node may have a name that looks like one.
  const auto named = run({"locate", "abcd-12345678"}, answer);
  CHECK(named.status == exit_done);
  CHECK(named.asked.back() == "POST /api/v1/nodes/abcd-12345678/locate {}");
}

TEST_CASE("what is done with a node is done with a matrix where the name is one's") {
  const auto answer = [](const std::string& line, const std::string&) {
    if (line == "GET /api/v1/matrices")
      return ScriptedServer::Reply{
          200, R"({"matrices":[{"name":"shore"},{"name":"abcd-12345678"}]})", {}};
    if (line == "GET /api/v1/lines") return ScriptedServer::Reply{200, R"({"lines":[]})", {}};
    if (line == "GET /api/v1/nodes") return ScriptedServer::Reply{200, R"({"nodes":[]})", {}};
    if (line.starts_with("GET")) return ScriptedServer::Reply{200, "{}", "ETag: \"3\"\r\n"};
    return ScriptedServer::Reply{200, settled, {}};
  };
  const auto last = [&](const Words& words) { return run(words, answer).asked.back(); };
  const std::string shore = "POST /api/v1/matrices/shore/";
  CHECK(last({"adopt", "shore"}) == shore + "adopt {}");
  CHECK(last({"reapply", "shore"}) == shore + "reapply {}");
  CHECK(last({"store", "shore"}) == shore + "store {}");
  CHECK(last({"locate", "shore", "3"}) == shore + R"(locate {"seconds":3})");
  CHECK(last({"reclaim", "shore", "--why", "x"}) == shore + R"(reclaim {"why":"x"})");
  CHECK(last({"locate", "abcd-12345678"}) == "POST /api/v1/matrices/abcd-12345678/locate {}");
  CHECK(last({"store", "left"}) == "POST /api/v1/nodes/left/store {}");
}

TEST_CASE("a daemon of before there were matrices is told what it understands") {
  const auto answer = [](const std::string& line, const std::string&) {
    if (line == "GET /api/v1/matrices")
      return ScriptedServer::Reply{
          404, R"({"detail":"There is nothing at /api/v1/matrices."})", {}};
    return ScriptedServer::Reply{200, settled, {}};
  };
  const auto ran = run({"store", "left"}, answer);
  CHECK(ran.status == exit_done);
  CHECK(ran.err.empty());
  CHECK(ran.asked.back() == "POST /api/v1/nodes/left/store {}");
}

TEST_CASE("a line on which nobody answered is told in words") {
  const auto ran =
      run({"discover", "bus"}, always(200, R"({"name":"bus","searching":false,"discovered":[]})"));
  CHECK(ran.status == exit_done);
  CHECK(ran.out == "No node answered on bus.\n");
}

TEST_CASE("an alarm is shelved for a time in words, and told until when") {
  const auto answer =
      always(200, R"({"id":4,"shelved":{"by":"ana","why":"x","until":"2026-08-14T20:30:00.25Z"}})");
  const auto ran = run({"shelve", "4", "--for", "30m", "--why", "the mast moves"}, answer);
  CHECK(ran.status == exit_done);
  CHECK(ran.out == "shelved until 2026-08-14 20:30:00Z\n");
  CHECK(ran.asked ==
        Words{R"(POST /api/v1/alarms/4/shelve {"for_s":1800,"why":"the mast moves"})"});
  CHECK(run({"shelve", "4", "--for", "90s", "--why", "x", "--json"}, answer)
            .out.starts_with("{\n  \"id\": 4"));
  CHECK(run({"unshelve", "4"}, always(200, R"({"id":4})")).out == "unshelved\n");
  CHECK(run({"unshelve", "4"}, always(200, R"({"id":4,"detail":"It was not shelved."})")).out ==
        "It was not shelved.\n");
  const auto bad = run({"shelve", "4", "--for", "25h", "--why", "x"},
                       always(422, R"({"detail":"for_s is 90000; allowed is less."})"));
  CHECK(bad.status == exit_usage);
  CHECK(bad.err == "catwalk: for_s is 90000; allowed is less.\n");
  CHECK(bad.asked == Words{R"(POST /api/v1/alarms/4/shelve {"for_s":90000,"why":"x"})"});
}

TEST_CASE("a document is shown as it comes, and an error as any other") {
  const auto page = run({"report"}, always(200, "<!DOCTYPE html>\n<html></html>\n"));
  CHECK(page.status == exit_done);
  CHECK(page.out == "<!DOCTYPE html>\n<html></html>\n");
  CHECK(run({"journal", "--csv"}, always(200, "a,b\r\n")).out == "a,b\r\n");
  const auto bounded =
      run({"journal", "--text", "mast"}, always(200, R"({"entries":[],"looked_down_to":4711})"));
  CHECK(bounded.status == 0);
  CHECK(bounded.err ==
        "catwalk: this took long; only rows from 4711 on were looked at. Older ones: the same with "
        "--before 4711\n");
  const auto bad = run({"report", "--to", "noon"}, always(422, R"({"detail":"to is \"noon\"."})"));
  CHECK(bad.status == exit_usage);
  CHECK(bad.err == "catwalk: to is \"noon\".\n");
  CHECK(run({"report"}, always(500, "oops")).status == exit_no_daemon);
}

namespace {

// As a journal or a node of before the rule for text may have it: ESC, BEL, CR, DEL, C1 and a
// right-to-left override, in names and in values.
const std::string hostile =
    "a\\u001b[2Jb\\u0007c\\rd\x7F\xC2\x9B"
    "e\xE2\x80\xAE"
    "f";

bool moves_no_terminal(const std::string& text) {
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto byte = static_cast<unsigned char>(text[i]);
    const bool is_line_end =
        text[i] == '\n' || (text[i] == '\r' && i + 1 < text.size() && text[i + 1] == '\n');
    if ((byte < 0x20 && !is_line_end) || byte == 0x7F) return false;
  }
  return text.find("\xC2\x9B") == std::string::npos &&
         text.find("\xE2\x80\xAE") == std::string::npos;
}

}  // namespace

TEST_CASE("nothing that a daemon says moves the terminal, as words, as JSON or as a document") {
  const auto entry =
      R"({"entries":[{"sequence":1,"at":"2026-08-14T20:00:00Z","kind":"lock","who":")" + hostile +
      R"(","node":")" + hostile + R"(","what":")" + hostile + R"(","why":")" + hostile +
      R"(","verdict":")" + hostile + R"("}],")" + hostile + R"(":1})";
  for (const auto& words : std::vector<Words>{{"journal"}, {"journal", "--json"}}) {
    const auto ran = run(words, always(200, entry));
    CHECK(ran.status == exit_done);
    CHECK(moves_no_terminal(ran.out));
  }
  const auto acted = R"({"outcome":"done","detail":")" + hostile + R"(","findings":[]})";
  CHECK(moves_no_terminal(run({"lock"}, always(200, acted)).out));
  CHECK(moves_no_terminal(run({"lock"}, always(409, acted)).err));
  CHECK(moves_no_terminal(run({"lock", "--json"}, always(409, acted)).out));
  CHECK(moves_no_terminal(
      run({"journal", "--csv"}, always(200, "sequence,who\r\n1,\x1B[2J\x07\r\n")).out));
}

TEST_CASE("JSON for scripts says the same, whatever it holds") {
  const auto ran = run({"lock", "--json"}, always(200, R"({"outcome":")" + hostile + R"("})"));
  CHECK(nlohmann::json::parse(ran.out) ==
        nlohmann::json::parse(R"({"outcome":")" + hostile + R"("})"));
}

TEST_CASE("the crew sheet without a segment is that of the next cue") {
  const auto daemon = [](const std::string& order) -> ScriptedServer::Answer {
    return [=](const std::string& line, const std::string&) {
      return ScriptedServer::Reply{
          200, line.ends_with("/running-order") ? order : R"({"from":"a","to":"b","rows":[]})", {}};
    };
  };
  const auto ran = run({"crew"}, daemon(R"({"next":"end","cues":[{"name":"doors","segment":"a"},)"
                                        R"({"name":"end","segment":"b"}]})"));
  CHECK(ran.status == exit_done);
  CHECK(ran.asked == Words{"GET /api/v1/running-order", "GET /api/v1/segments/b/crew-sheet"});
  const auto over = run({"crew"}, daemon(R"({"cues":[{"name":"doors","segment":"a"}]})"));
  CHECK(over.status == exit_usage);
  CHECK(over.err == "catwalk: there is no next cue: name a SEGMENT; catwalk segments lists them\n");
}

TEST_CASE("without a segment a preview is that of the next cue") {
  const auto daemon = [](const std::string& line, const std::string&) {
    if (line.find("/running-order") == std::string::npos)
      return ScriptedServer::Reply{404, R"({"detail":"so it is"})", {}};
    return ScriptedServer::Reply{
        200, R"({"next":"talk","cues":[{"name":"talk","segment":"race day"}]})", {}};
  };
  CHECK(run({"preview", "--without", "left"}, daemon).asked ==
        Words{"GET /api/v1/running-order", "GET /api/v1/segments/race%20day/preview?without=left"});
  const auto both = run({"preview", "finale", "--drifted"}, always(200, "{}"));
  CHECK(both.status == exit_usage);
  CHECK(both.err == "catwalk: preview takes a SEGMENT or --drifted, one of them\n");
}

TEST_CASE("where nothing has drifted nothing is to do, and that is no failure") {
  const auto none = R"({"from":"finale","to":"finale","from_now":true,"would_be":"done",
    "obstacles":["There is nothing to bring back."],"missing":[],"nodes":[],"steps":[],
    "clean":true,"least_bad":false,"end":[],"lines":[],"time_ms":0})";
  const auto ahead = run({"preview", "--drifted"}, always(200, none));
  CHECK(ahead.status == exit_done);
  CHECK(ahead.out ==
        "In finale: nothing to do\n  There is nothing to bring back.\nNo node has to move.\n");
  const auto done = run({"reapply", "--all"},
                        always(200, R"({"outcome":"done","detail":"It is so.","findings":[]})"));
  CHECK(done.status == exit_done);
  CHECK(done.out == "done: It is so.\n");
}

TEST_CASE("a row of the journal begins with the number that --before takes") {
  const auto row = R"({"entries":[{"sequence":4711,"at":"2026-08-14T20:00:00Z","kind":"lock",
    "who":"ana","what":"locked"}]})";
  CHECK(run({"journal", "--before", "4712"}, always(200, row)).out ==
        "4711  2026-08-14 20:00:00Z  lock  ana  locked\n");
}

TEST_CASE("nodes that drifted are previewed as they are now, from nowhere else") {
  const auto ran = run({"preview", "--drifted", "--from", "a"}, always(200, "{}"));
  CHECK(ran.status == exit_usage);
  CHECK(ran.asked.empty());
}

TEST_CASE("a word that is no plain text is not sent") {
  for (const auto& words : std::vector<Words>{{"lock", "--why", "doors\x1B[2J"},
                                              {"lock", "--why", "\xFF"},
                                              {"segment",
                                               "\xE2\x80\xAE"
                                               "elanif"}}) {
    const auto ran = run(words, always(200, settled));
    CHECK(ran.status == exit_usage);
    CHECK(ran.asked.empty());
    CHECK(moves_no_terminal(ran.err));
  }
}
