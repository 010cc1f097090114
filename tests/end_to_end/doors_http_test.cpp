// SPDX-License-Identifier: Apache-2.0
// Bad input over HTTP: every case has its exact status and sentence, changes nothing, and leaves
// the daemon serving.
#include <doctest/doctest.h>

#include <regex>

#include "tests/end_to_end/doors_bench.hpp"

using namespace catwalk::test;

namespace {

struct Case {
  std::string name;
  std::string bytes;
  int status;
  std::string type;
  std::string detail;
};

const std::string settings = "/api/v1/nodes/net-1/settings";
const std::string first_revision = "If-Match: \"1\"\r\n";

std::string patch(const std::string& body, const std::string& headers = first_revision) {
  return http_bytes("PATCH", settings, headers, body);
}
std::string post(const std::string& path, const std::string& body) {
  return http_bytes("POST", "/api/v1" + path, "", body);
}
std::string get(const std::string& target, const std::string& headers = {}) {
  return http_bytes("GET", target, headers);
}

const std::string gain_allowed = "a number of dB from -12 to 27 in steps of 1";
const std::string filters_allowed = "slide-40, wide-470-600, fixed-940-960";
const std::string if_match_allowed =
    "; allowed is the ETag of the settings, a revision in quotes such as \"3\", several of them, "
    "or "
    "*.";
const std::string a_time =
    "allowed is a time such as 2026-08-14T20:15:00Z (RFC 3339), or 19:00 or 2026-08-14 19:00 by "
    "the "
    "clock of UTC.";
const std::string foreign = "Requests from the pages of another site are refused.";
const std::string upgrade =
    "Upgrade: websocket\r\nConnection: Upgrade\r\nSec-WebSocket-Version: 13\r\n"
    "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n";

std::vector<Case> not_http() {
  return {
      {"mail", "EHLO rack\r\n\r\n", 400, "http", "This is not HTTP: bad target."},
      {"no method", "\x01\x02\x03\r\n\r\n", 400, "http", "This is not HTTP: bad method."},
      {"another version", "GET / HTTP/2.7\r\nHost: 127.0.0.1\r\n\r\n", 400, "http",
       "This is not HTTP: bad version."},
      {"a header without a name", "GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n: x\r\n\r\n", 400, "http",
       "This is not HTTP: bad field."},
      {"a length below zero", "POST / HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: -1\r\n\r\n",
       400, "http", "This is not HTTP: bad Content-Length."},
      {"two lengths",
       "POST / HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 1\r\nContent-Length: 2\r\n\r\nxx",
       400, "http", "This is not HTTP: bad Content-Length."},
      {"a bad chunk",
       "POST / HTTP/1.1\r\nHost: 127.0.0.1\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\n", 400,
       "http", "This is not HTTP: bad chunk."},
      {"a body too large", post("/rack/lock", "{\"why\":\"" + std::string(65'537, 'x') + "\"}"),
       413, "body-size", "The body is larger than 65536 bytes."},
      {"a header too large", get("/", "X-Long: " + std::string(9'000, 'x') + "\r\n"), 431,
       "header-size", "The header is larger than 8192 bytes."},
      {"a broken escape", get("/api/v1/nodes/%zz"), 400, "target",
       "The target has a malformed escape."},
      {"a slash within a name", get("/api/v1/nodes/net-1%2Fsettings"), 404, "not-found",
       "There is no node \"net-1%2Fsettings\"."},
      {"a broken escape in the query", get("/api/v1/journal?node=%f"), 400, "target",
       "The target has a malformed escape."},
  };
}

std::vector<Case> turned_away() {
  return {
      {"no host", "GET /api/v1/rack HTTP/1.1\r\n\r\n", 400, "host",
       "The request has no Host header."},
      {"a name that was pointed here", get("/api/v1/rack", "Host: evil.example\r\n"), 421, "host",
       "This rack does not answer to the name \"evil.example\". Names are added under "
       "server.allowed_hosts."},
      {"a page of another site",
       patch("{\"gain_db\":6}", first_revision + "Origin: http://evil.example\r\n"), 403, "origin",
       foreign},
      {"a form of another site",
       patch("{\"gain_db\":6}", first_revision + "Sec-Fetch-Site: cross-site\r\n"), 403, "origin",
       foreign},
      {"a form",
       patch("gain_db=6", first_revision + "Content-Type: application/x-www-form-urlencoded\r\n"),
       415, "content-type",
       "The body has Content-Type \"application/x-www-form-urlencoded\"; allowed is "
       "application/json or application/merge-patch+json."},
      {"a user without a name", patch("{}", first_revision + "Catwalk-User: \r\n"), 422,
       "bad-value",
       "Catwalk-User is not a name; allowed is 1 to 64 bytes of UTF-8 without control or format "
       "characters."},
      {"a path that is not there", get("/api/v1/antennas"), 404, "not-found",
       "There is nothing at /api/v1/antennas."},
      {"a way out of the tree", get("/../../etc/passwd"), 404, "not-found",
       "There is nothing at /../../etc/passwd."},
      {"a method that is not there", http_bytes("DELETE", "/api/v1/nodes/net-1"), 405, "method",
       "DELETE is not possible on /api/v1/nodes/net-1; possible is GET, HEAD."},
  };
}

std::vector<Case> bad_changes() {
  return {
      {"no JSON", patch("gain 6"), 422, "bad-value",
       "The body is not JSON: it cannot be read at byte 1."},
      {"half of JSON", patch("{\"gain_db\":"), 422, "bad-value",
       "The body is not JSON: it cannot be read at byte 12."},
      {"no object", patch("[6]"), 422, "bad-value", "The body is not a JSON object."},
      {"sixty thousand levels", patch(std::string(60'000, '[')), 422, "bad-value",
       "The body is not JSON: it cannot be read at byte 60001."},
      {"twelve levels", patch("{\"gain_db\":[[[[[[[[[[[1]]]]]]]]]]]}"), 422, "bad-value",
       "The body is nested too deeply."},
      {"a number that no double holds", patch("{\"gain_db\":1e400}"), 422, "bad-value",
       "A number in the body is too large to be read."},
      {"a member twice", patch("{\"gain_db\":3,\"gain_db\":4}"), 422, "bad-value",
       "The body has the member \"gain_db\" more than once."},
      {"an unknown member", patch("{\"gian_db\":6}"), 422, "bad-value",
       "There is no member \"gian_db\" here; known are: gain_db, filter, centre_mhz, power, label, "
       "why, waiver."},
      {"text for a number", patch("{\"gain_db\":\"6\"}"), 422, "bad-value",
       "gain_db is \"6\"; allowed is " + gain_allowed + "."},
      {"null", patch("{\"gain_db\":null}"), 422, "bad-value",
       "gain_db is null; allowed is " + gain_allowed + "."},
      {"a number for text", patch("{\"label\":7}"), 422, "bad-value",
       "label is 7; allowed is text of at most 16 bytes."},
      {"a number for a switch", patch("{\"power\":1}"), 422, "bad-value",
       "power is 1; allowed is true or false."},
      {"finer than the wire", patch("{\"gain_db\":6.005}"), 422, "bad-value",
       "gain_db is 6.005; allowed is " + gain_allowed + "."},
      {"more than the wire", patch("{\"centre_mhz\":4294.967296}"), 422, "bad-value",
       "centre_mhz is 4294.967296; allowed is a number of MHz: with slide-40 from 430 to 740 in "
       "steps of 0.025."},
      {"half a waiver", patch("{\"gain_db\":6,\"waiver\":{\"who\":\"Ana\"}}"), 422, "bad-value",
       "waiver is {\"who\":\"Ana\"}; allowed is an object {\"who\": a name, \"reason\": a "
       "sentence}, neither empty, both without control or format characters."},
      {"no If-Match", patch("{\"gain_db\":6}", ""), 428, "if-match",
       "Say with If-Match which revision of the settings you change: the ETag of GET "
       "/api/v1/nodes/net-1/settings."},
      {"a stale If-Match", patch("{\"gain_db\":6}", "If-Match: \"77\"\r\n"), 412, "stale",
       "The wanted settings are at revision 1, not 77: somebody changed them in between."},
      {"an If-Match that is none", patch("{\"gain_db\":6}", "If-Match: 1\r\n"), 422, "bad-value",
       "If-Match is 1" + if_match_allowed},
      {"a weak If-Match", patch("{\"gain_db\":6}", "If-Match: W/\"1\"\r\n"), 412, "stale",
       "If-Match is W/\"1\": a weak tag never matches there; allowed is the ETag of the settings, "
       "\"1\"."},
      {"an endless key",
       patch("{\"gain_db\":6}",
             first_revision + "Idempotency-Key: " + std::string(200, 'k') + "\r\n"),
       422, "bad-value", "Idempotency-Key has 200 characters; allowed is 1 to 128 characters."},
      {"a dry run, perhaps", http_bytes("PATCH", settings + "?dry_run=maybe", "", "{}"), 422,
       "bad-value", "dry_run is \"maybe\"; allowed is true or false."},
      {"a misspelt dry run", http_bytes("PATCH", settings + "?dryrun=true", first_revision, "{}"),
       422, "bad-value", "There is no query parameter \"dryrun\" here; known are: dry_run."},
      {"an unknown node",
       http_bytes("PATCH", "/api/v1/nodes/net-9/settings", first_revision, "{\"gain_db\":6}"), 404,
       "not-found", "There is no node \"net-9\" in this rack."},
      {"an unknown matrix",
       http_bytes("PATCH", "/api/v1/matrices/shore/settings", first_revision,
                  "{\"routes\":{\"1\":[3]}}"),
       404, "not-found", "There is no matrix \"shore\"."},
      {"an amplifier as a matrix",
       http_bytes("PATCH", "/api/v1/matrices/net-1/settings", first_revision, "{\"label\":\"x\"}"),
       404, "not-found", "There is no matrix \"net-1\"."},
      {"a gain of a matrix",
       http_bytes("PATCH", "/api/v1/matrices/net-1/settings", first_revision, "{\"gain_db\":6}"),
       422, "bad-value",
       "There is no member \"gain_db\" here; known are: routes, trims_db, supplies_mv, labels, "
       "label, "
       "why, waiver."},
      {"an input that no matrix has",
       http_bytes("PATCH", "/api/v1/matrices/shore/settings", first_revision,
                  "{\"routes\":{\"1\":[33]}}"),
       422, "bad-value",
       "routes of 1 is [33]; allowed is a list of whole numbers from 1 to 32, each once."},
  };
}

std::vector<Case> bad_asks() {
  return {
      {"a journal of nothing", get("/api/v1/journal?limit=0"), 422, "bad-value",
       "limit is \"0\"; allowed is a whole number from 1 to 1000."},
      {"a kind that is none", get("/api/v1/journal?kind=fates"), 422, "bad-value",
       "kind is \"fates\"; allowed is one of intent, fate, refused, adopted, found, lock, segment, "
       "alarm, command, plan, switch, step, arming, turned-away, "
       "journal, carriers, crew."},
      {"a page that is none", get("/api/v1/journal?before=-3"), 422, "bad-value",
       "before is \"-3\"; allowed is a whole number from 1."},
      {"an unknown parameter", get("/api/v1/journal?page=2"), 422, "bad-value",
       "There is no query parameter \"page\" here; known are: node, kind, who, segment, text, "
       "change, from, to, before, limit."},
      {"a time that is none", get("/api/v1/journal?from=2026-08-32"), 422, "bad-value",
       "from is \"2026-08-32\"; " + a_time},
      {"a time backwards",
       get("/api/v1/journal.csv?from=2026-08-14T20:15:00Z&to=2026-08-14T20:00:00Z"), 422,
       "bad-value",
       "to is \"2026-08-14T20:00:00Z\"; allowed is a time after from, 2026-08-14T20:15:00Z."},
      {"nobody's journal", get("/api/v1/journal?who="), 422, "bad-value",
       "who is \"\"; allowed is text of 1 to 64 bytes."},
      {"a table too long", get("/api/v1/journal.csv?limit=50001"), 422, "bad-value",
       "limit is \"50001\"; allowed is a whole number from 1 to 50000."},
      {"a report of no time", get("/api/v1/report?to=midnight"), 422, "bad-value",
       "to is \"midnight\"; " + a_time},
      {"a report of a node", get("/api/v1/report?node=net-1"), 422, "bad-value",
       "There is no query parameter \"node\" here; known are: from, to."},
      {"an alarm to shelve that is not there",
       post("/alarms/99/shelve", "{\"for_s\":60,\"why\":\"x\"}"), 404, "not-found",
       "There is no alarm no. 99."},
      {"an alarm to shelve for ever", post("/alarms/99/shelve", "{\"for_s\":86401,\"why\":\"x\"}"),
       422, "bad-value", "for_s is 86401; allowed is a whole number from 60 to 86400."},
      {"an alarm to shelve for no reason", post("/alarms/99/shelve", "{\"for_s\":60}"), 422,
       "bad-value", "why is missing; needed is the reason for it."},
      {"an alarm to unshelve that is not there", post("/alarms/99/unshelve", "{}"), 404,
       "not-found", "There is no alarm no. 99."},
      {"a lamp for too long", post("/nodes/net-1/locate", "{\"seconds\":256}"), 422, "bad-value",
       "seconds is 256; allowed is a whole number from 0 to 255."},
      {"no segment", post("/rack/segment", "{}"), 422, "bad-value",
       "segment is missing; needed is the name of a segment."},
      {"an unknown segment", post("/rack/segment", "{\"segment\":\"encore\"}"), 404, "not-found",
       "There is no segment \"encore\" in this rack."},
      {"an unknown line", post("/lines/attic/discover", "{}"), 404, "not-found",
       "There is no line \"attic\" in this rack."},
      {"an unknown alarm", post("/alarms/99/acknowledge", "{}"), 404, "not-found",
       "There is no alarm no. 99."},
      {"a reason too long", post("/rack/lock", "{\"why\":\"" + std::string(501, 'x') + "\"}"), 422,
       "bad-value",
       "why is \"" + std::string(76, 'x') + "...; allowed is text of at most 500 bytes."},
      {"the feed without a WebSocket", get("/api/v1/live"), 426, "upgrade",
       "The live feed is a WebSocket."},
      {"a feed since when", get("/api/v1/live?since=now", upgrade), 422, "bad-value",
       "since is \"now\"; allowed is a sequence number."},
      {"a feed from where", get("/api/v1/live?from=1", upgrade), 422, "bad-value",
       "There is no query parameter \"from\" here; known are: server, since, nodes."},
      {"a feed for another site", get("/api/v1/live", upgrade + "Origin: http://evil.example\r\n"),
       403, "origin", foreign},
  };
}

std::vector<Case> bad_questions() {
  const auto what_if = [](const std::string& body) { return post("/nodes/net-1/what-if", body); };
  return {
      {"an unknown node to explain", get("/api/v1/nodes/net-9/explain"), 404, "not-found",
       "There is no node \"net-9\"."},
      {"an unknown carrier to explain", get("/api/v1/nodes/net-1/explain?carrier=drum"), 422,
       "bad-value", "carrier is \"drum\"; allowed is one of voice."},
      {"an unknown segment to explain", get("/api/v1/nodes/net-1/explain?segment=encore"), 422,
       "bad-value", "segment is \"encore\"; allowed is one of speeches, finale."},
      {"an unknown way to explain", get("/api/v1/nodes/net-1/explain?in=full"), 422, "bad-value",
       "There is no query parameter \"in\" here; known are: carrier, segment, basis."},
      {"a recommendation for a carrier", get("/api/v1/nodes/net-1/recommend?carrier=x"), 422,
       "bad-value", "There is no query parameter \"carrier\" here; known are: segment."},
      {"a recommendation for nobody", get("/api/v1/nodes/net-9/recommend"), 404, "not-found",
       "There is no node \"net-9\"."},
      {"a recommendation for no segment", get("/api/v1/segments/encore/recommend"), 404,
       "not-found", "There is no segment \"encore\"."},
      {"a check of no segment", get("/api/v1/segments/encore/check"), 404, "not-found",
       "There is no segment \"encore\"."},
      {"a check with conditions", get("/api/v1/segments/speeches/check?node=net-1"), 422,
       "bad-value", "There is no query parameter \"node\" here; known are: none."},
      {"what if nobody", post("/nodes/net-9/what-if", "{}"), 404, "not-found",
       "There is no node \"net-9\"."},
      {"what if no JSON", what_if("louder"), 422, "bad-value",
       "The body is not JSON: it cannot be read at byte 1."},
      {"what if everything", what_if("{\"everything\":true}"), 422, "bad-value",
       "There is no member \"everything\" here; known are: settings, passive, louder_db, "
       "longer_m, carrier, segment, response."},
      {"what if with half a response", what_if("{\"response\":\"yes\"}"), 422, "bad-value",
       "response is \"yes\"; allowed is true or false."},
      {"what nobody may be set to", get("/api/v1/nodes/net-9/allowed"), 404, "not-found",
       "There is no node \"net-9\"."},
      {"what a node may be set to in a segment", get("/api/v1/nodes/net-1/allowed?segment=finale"),
       422, "bad-value", "There is no query parameter \"segment\" here; known are: none."},
      {"the response of nobody", get("/api/v1/nodes/net-9/response"), 404, "not-found",
       "There is no node \"net-9\"."},
      {"a response at a gain that is none", get("/api/v1/nodes/net-1/response?gain_db=6dB"), 422,
       "bad-value", "gain_db is \"6dB\"; allowed is " + gain_allowed + "."},
      {"a response at too much gain", get("/api/v1/nodes/net-1/response?gain_db=28"), 422,
       "bad-value", "A tern-inline cannot do +28 dB; it goes from -12 dB to +27 dB."},
      {"a response through no filter", get("/api/v1/nodes/net-1/response?filter=comb"), 422,
       "bad-value", "filter is \"comb\"; allowed is one of " + filters_allowed + "."},
      {"a response of everything", get("/api/v1/nodes/net-1/response?all=1"), 422, "bad-value",
       "There is no query parameter \"all\" here; known are: gain_db, filter, centre_mhz, power."},
      {"the spectrum of no segment", get("/api/v1/spectrum?segment=encore"), 422, "bad-value",
       "segment is \"encore\"; allowed is one of speeches, finale."},
      {"the spectrum of a node", get("/api/v1/spectrum?node=net-1"), 422, "bad-value",
       "There is no query parameter \"node\" here; known are: segment."},
      {"what if with a setting that is none", what_if("{\"settings\":{\"zoom\":2}}"), 422,
       "bad-value",
       "There is no member \"zoom\" here; known are: gain_db, filter, centre_mhz, power, label."},
      {"what if a stranger is passive", what_if("{\"passive\":[\"net-9\"]}"), 422, "bad-value",
       "passive: \"net-9\" is not there. Allowed is one of bus-1, bus-2, net-1, net-2."},
      {"what if much too loud", what_if("{\"louder_db\":{\"ears-1\":1e9}}"), 422, "bad-value",
       "louder_db of ears-1: 1e+09 is out of range. Allowed is -60 to 60 dB."},
      {"what if a number that no double holds", what_if("{\"longer_m\":{\"net-1\":1e999}}"), 422,
       "bad-value", "A number in the body is too large to be read."},
      {"what if longer without a cable", what_if("{\"longer_m\":{\"net-1\":30}}"), 422, "bad-value",
       "longer_m of net-1: The rack file gives no cable behind net-1. Allowed is a node with a "
       "cable in its feed."},
  };
}

void run(DoorsBench& bench, const std::vector<Case>& cases) {
  const auto before = bench.state();
  for (const auto& one : cases) {
    CAPTURE(one.name);
    const auto answer = ask_http(bench.port(), one.bytes);
    CHECK(answer.status == one.status);
    CHECK(answer.header("content-type") == "application/problem+json");
    const auto body = Json::parse(answer.body, nullptr, false);
    REQUIRE(body.is_object());
    CHECK(body.value("type", "") == "/problems/" + one.type);
    CHECK(body.value("detail", "") == one.detail);
    CHECK(body.value("status", 0) == one.status);
    CHECK(bench.state() == before);
  }
  CHECK(eventually([&] { return bench.trouble().empty(); }));
}

}  // namespace

TEST_CASE("bad input over HTTP is told exactly, changes nothing and stops nothing") {
  DoorsBench bench;
  run(bench, not_http());
  run(bench, turned_away());
  run(bench, bad_changes());
  run(bench, bad_asks());
  run(bench, bad_questions());
}

TEST_CASE("what the rules refuse comes with its finding, for the rule that it breaks") {
  DoorsBench bench;
  const auto before = bench.state();
  struct Refused {
    std::string body, rule, sentence;
  };
  for (const auto& one : std::vector<Refused>{
           {R"({"gain_db":28})", "gain-range",
            "A tern-inline cannot do +28 dB; it goes from -12 dB to +27 dB."},
           {R"({"gain_db":6.5})", "gain-step",
            "+6.5 dB is between two steps of a tern-inline; it moves in steps of +1 dB from -12 "
            "dB."},
           {R"({"gain_db":21})", "gain-limit",
            "+21 dB is outside the rack's own limits, -12 dB to +20 dB."},
           {R"({"filter":"narrow"})", "filter-known",
            "A tern-inline has no filter \"narrow\"; it has slide-40, wide-470-600 and "
            "fixed-940-960."},
           {R"({"centre_mhz":580.01})", "centre-step",
            "580.010 MHz is between two steps of slide-40; it tunes in steps of 0.025 MHz from "
            "430.000 MHz."},
           {R"({"centre_mhz":800})", "centre-range",
            "The centre of slide-40 cannot go to 800.000 MHz; it tunes from 430.000 to 740.000 "
            "MHz."},
           {R"({"filter":"wide-470-600","centre_mhz":500})", "centre-range",
            "Filter wide-470-600 is fixed at 470.000 to 600.000 MHz and has no centre to tune."},
           {R"({"centre_mhz":640})", "own-transmitter-in-window",
            "Our own transmitter ears-1 at 650.000 MHz is let in: with its skirts the window "
            "passes "
            "619.500 to 660.500 MHz."}}) {
    CAPTURE(one.body);
    const auto answer = ask_http(bench.port(), patch(one.body));
    CHECK(answer.status == 409);
    std::string told;
    const auto body = Json::parse(answer.body);
    for (const auto& finding : body.at("findings"))
      if (finding.at("rule") == one.rule) told += finding.at("sentence").get<std::string>();
    CHECK(told == one.sentence);
    CHECK(bench.state() == before);
  }
  CHECK(bench.trouble() == "");
}

TEST_CASE("after a bad request on a connection the next one on it is served") {
  DoorsBench bench;
  TcpClient client{bench.port()};
  for (int i = 0; i < 20; ++i) {
    REQUIRE(client.say(patch("{\"gain_db\":\"6\"}")));
    CHECK(client.response().status == 422);
    REQUIRE(client.say(get("/api/v1/rack")));
    CHECK(client.response().status == 200);
  }
  // One that cannot be understood at all ends the connection: where the next would begin is
  // unknown.
  REQUIRE(client.say("EHLO rack\r\n\r\n"));
  CHECK(client.response().status == 400);
  CHECK(client.ends());
}

TEST_CASE("an answer without a body ends where its head does, and says only what is true of it") {
  DoorsBench bench;
  TcpClient client{bench.port()};
  REQUIRE(client.say(get(settings)));
  const auto whole = client.response();
  CHECK(whole.header("cache-control") == "no-store");
  CHECK(whole.header("x-content-type-options") == "nosniff");
  REQUIRE(client.say(get(settings, "If-None-Match: " + whole.header("etag") + "\r\n")));
  const auto same = client.response();
  CHECK(same.status == 304);
  CHECK(same.header("content-length") == "");  // it would be that of the body: RFC 9110, 8.6
  REQUIRE(client.say(http_bytes("HEAD", settings)));
  const auto head = client.response(true);
  CHECK(head.status == 200);
  CHECK(head.header("content-length") == std::to_string(whole.body.size()));
  CHECK(head.header("etag") == whole.header("etag"));
  REQUIRE(client.say(get(settings, "Connection: close\r\n")));
  const auto last = client.response();
  CHECK(last.body == whole.body);
  CHECK(last.header("connection") == "close");
  CHECK(client.ends());
}

TEST_CASE("every answer has a date, and one to HTTP/1.0 ends with its connection") {
  DoorsBench bench;
  const std::regex date{
      "(Mon|Tue|Wed|Thu|Fri|Sat|Sun), [0-3][0-9] [A-Z][a-z]{2} 20[0-9]{2} "
      "[0-2][0-9]:[0-5][0-9]:[0-6][0-9] GMT"};
  for (const auto& target :
       {settings, std::string{"/"}, std::string{"/healthz"}, std::string{"/nowhere"}}) {
    CAPTURE(target);
    CHECK(std::regex_match(ask_http(bench.port(), get(target)).header("date"), date));
  }
  TcpClient old{bench.port()};
  REQUIRE(old.say("GET /healthz HTTP/1.0\r\nHost: 127.0.0.1\r\nConnection: keep-alive\r\n\r\n"));
  const auto answer = old.response();
  CHECK(answer.body == "ok\n");
  CHECK(answer.header("connection") == "close");
  CHECK(old.ends());
}

TEST_CASE("a target in absolute form is the one that it names, by the host that it names") {
  DoorsBench bench;
  const auto ask = [&](const std::string& target) {
    return ask_http(bench.port(),
                    "GET " + target + " HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n");
  };
  CHECK(ask("http://127.0.0.1/healthz").body == "ok\n");
  CHECK(ask("HTTP://127.0.0.1:" + std::to_string(bench.port()) + "/healthz").body == "ok\n");
  CHECK(ask("http://rack.of.another.site/healthz").status == 421);
  CHECK(ask("http:///healthz").status != 200);
  // What stands in Host beside it has to be right all the same: RFC 9112, section 3.2.
  for (const auto* hosts : {"", "Host: 127.0.0.1\r\nHost: rack.of.another.site\r\n"}) {
    CAPTURE(hosts);
    CHECK(ask_http(bench.port(), "GET http://127.0.0.1/healthz HTTP/1.1\r\n" + std::string{hosts} +
                                     "Connection: close\r\n\r\n")
              .status == 400);
  }
}

TEST_CASE("whoever asks before sending a body is told to go on, and then answered") {
  DoorsBench bench;
  TcpClient client{bench.port()};
  const std::string body = R"({"gain_db":"loud"})";
  REQUIRE(client.say("PATCH " + settings + " HTTP/1.1\r\nHost: 127.0.0.1\r\n" +
                     "Content-Type: application/json\r\nIf-Match: \"1\"\r\n" +
                     "Expect: 100-continue\r\nContent-Length: " + std::to_string(body.size()) +
                     "\r\n\r\n"));
  CHECK(client.take(25) == "HTTP/1.1 100 Continue\r\n\r\n");
  REQUIRE(client.say(body));
  CHECK(client.response().status == 422);
  // Over two lines it is one list: RFC 9110, section 5.3.
  REQUIRE(client.say(http_bytes("GET", settings, "If-None-Match: \"99\"\r\nIf-None-Match: *\r\n")));
  CHECK(client.response().status == 304);
  // A body that nobody would read is not asked for.
  REQUIRE(client.say("PATCH " + settings + " HTTP/1.1\r\nHost: 127.0.0.1\r\n" +
                     "Expect: 100-continue\r\nContent-Length: 99999999\r\n\r\n"));
  CHECK(client.response().status == 413);
}

TEST_CASE("half a request costs nobody else anything") {
  DoorsBench bench;
  std::vector<TcpClient> half;
  for (int i = 0; i < 50; ++i) {
    half.emplace_back(bench.port());
    REQUIRE(half.back().say("PATCH " + settings + " HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Le"));
  }
  CHECK(bench.trouble() == "");
}
