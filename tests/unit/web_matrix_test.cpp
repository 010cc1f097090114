// SPDX-License-Identifier: Apache-2.0
// Matrices through the API: what they are shown as, how they are changed, and every bad request
// with the words that answer it. That each answer is as the OpenAPI document has it, the fixture
// holds at every call.
#include <doctest/doctest.h>

#include <algorithm>

#include "tests/support/json_schema.hpp"
#include "tests/support/matrix_rack.hpp"
#include "tests/support/web_fixture.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

const std::string shore_settings = "/matrices/shore/settings";
const std::string shore_dry_run = shore_settings + "?dry_run=true";

plan::MatrixSheet selector_sheet() {
  plan::MatrixSheet selector;
  selector.type = "selector";
  selector.title = "Selector of two";
  selector.inputs = 2;
  selector.outputs = 1;
  selector.combining_losses = {rf::Decibel{}};
  selector.noise_figure = rf::Decibel::of(8);
  selector.output_p1db = rf::PowerLevel::dbm(12);
  selector.output_ip3 = rf::PowerLevel::dbm(27);
  return selector;
}

// The rack behind "shore"; "van" is set by hand, "attic" hangs on a line, and neither has trims,
// supplies or anything plugged in.
plan::RackPlan rack_of_three() {
  auto rack = matrix_rack();
  const auto selector = std::make_shared<const plan::MatrixSheet>(selector_sheet());
  auto by_hand = selector->nothing_set();
  by_hand.outputs[0] = {2};
  rack.matrices.push_back({{"van"}, selector, "the van", by_hand});
  rack.matrices.push_back({{"attic"},
                           selector,
                           "",
                           selector->nothing_set(),
                           plan::OnLine{uid(10), {"net"}, plan::OnReturn::reapply}});
  return rack;
}

// All three are read.
struct MatrixBench : WebBench {
  explicit MatrixBench(plan::RackPlan plan = rack_of_three()) : WebBench{std::move(plan)} {}

  std::string tag(const std::string& matrix = "shore") {
    return call("GET", "/matrices/" + matrix + "/settings").header("ETag");
  }
  Called route(const Json& patch, const std::string& matrix = "shore") {
    return call("PATCH", "/matrices/" + matrix + "/settings", patch.dump(),
                {{"if-match", tag(matrix)}});
  }
  Json shown(const std::string& matrix = "shore") {
    return call("GET", "/matrices/" + matrix).body;
  }
  Json hears(std::size_t output) { return shown().at("outputs").at(output - 1).at("hears"); }
};

std::set<std::string> members_of(const Json& object) {
  std::set<std::string> names;
  for (const auto& [name, ignored] : object.items()) names.insert(name);
  return names;
}
using Members = std::set<std::string>;

std::vector<std::string> rules_of(const Called& called) {
  std::vector<std::string> rules;
  for (const auto& finding : called.body.at("findings")) rules.push_back(finding.at("rule"));
  return rules;
}

// A body of PATCH, and the one thing that is wrong with it.
struct BadBody {
  std::string body;
  std::string pointer, value, allowed, sentence;
};

const std::string trim_words = "a number of dB from -10 to 0 in steps of 0.5";
const std::string voltage_words = "9000, 12000 mV, or 0 for off";
const std::string input_words = "a list of whole numbers from 1 to 4, each once";
const std::string by_input_words = R"(an object by input, from "1" to "4")";
const std::string by_output_words = R"(an object by output, from "1" to "3")";
const std::string text_words = "text of at most 16 bytes";
const std::string member_words = "routes, trims_db, supplies_mv, labels, label, why, waiver";

// Of one socket: {"routes": {"1": [9]}}
BadBody at_socket(const std::string& member, const std::string& socket, const std::string& value,
                  const std::string& allowed) {
  return {"{\"" + member + "\":{\"" + socket + "\":" + value + "}}", "/" + member + "/" + socket,
          value, allowed,
          member + " of " + socket + " is " + value + "; allowed is " + allowed + "."};
}
BadBody no_socket(const std::string& member, const std::string& socket, const std::string& value,
                  const std::string& known) {
  return {"{\"" + member + "\":{\"" + socket + "\":" + value + "}}", "/" + member + "/" + socket,
          value, known,
          "There is no member \"" + socket + "\" in " + member + "; known are: " + known + "."};
}
BadBody whole(const std::string& member, const std::string& value, const std::string& allowed) {
  return {"{\"" + member + "\":" + value + "}", "/" + member, value, allowed,
          member + " is " + value + "; allowed is " + allowed + "."};
}

const std::string four = "1, 2, 3, 4";
const std::vector<BadBody> bad_bodies{
    at_socket("routes", "1", "3", input_words),
    at_socket("routes", "1", "\"3\"", input_words),
    at_socket("routes", "1", "null", input_words),
    at_socket("routes", "1", "{}", input_words),
    at_socket("routes", "1", "[0]", input_words),
    at_socket("routes", "1", "[5]", input_words),
    at_socket("routes", "1", "[-1]", input_words),
    at_socket("routes", "1", "[1.5]", input_words),
    at_socket("routes", "1", "[\"left\"]", input_words),
    at_socket("routes", "1", "[1,1]", input_words),
    at_socket("routes", "1", "[1,[2]]", input_words),
    at_socket("routes", "1", "[18446744073709551615]", input_words),
    no_socket("routes", "4", "[1]", "1, 2, 3"),
    no_socket("routes", "0", "[1]", "1, 2, 3"),
    no_socket("routes", "01", "[1]", "1, 2, 3"),
    no_socket("routes", "one", "[1]", "1, 2, 3"),
    no_socket("routes", "", "[1]", "1, 2, 3"),
    whole("routes", "[1]", by_output_words),
    whole("routes", "null", by_output_words),
    at_socket("trims_db", "3", "\"-3\"", trim_words),
    at_socket("trims_db", "3", "null", trim_words),
    at_socket("trims_db", "3", "-0.005", trim_words),
    at_socket("trims_db", "3", "1e+300", trim_words),
    at_socket("trims_db", "3", "-400", trim_words),
    no_socket("trims_db", "5", "-3", four),
    whole("trims_db", "-3", by_input_words),
    at_socket("supplies_mv", "2", "\"12 V\"", voltage_words),
    at_socket("supplies_mv", "2", "true", voltage_words),
    at_socket("supplies_mv", "2", "-1", voltage_words),
    at_socket("supplies_mv", "2", "9000.5", voltage_words),
    at_socket("supplies_mv", "2", "65536", voltage_words),
    no_socket("supplies_mv", "12", "9000", four),
    whole("supplies_mv", "12000", by_input_words),
    at_socket("labels", "1", "7", text_words),
    at_socket("labels", "1", "null", text_words),
    at_socket("labels", "1", "\"seventeen letters\"", text_words),
    no_socket("labels", "9", "\"vox\"", four),
    whole("labels", "[\"vox\"]", by_input_words),
    whole("label", "7", text_words),
    whole("label", "\"seventeen letters\"", text_words),
    {R"({"gain_db":6})", "/gain_db", "6", member_words,
     "There is no member \"gain_db\" here; known are: " + member_words + "."},
    {R"({"rutes":{}})", "/rutes", "{}", member_words,
     "There is no member \"rutes\" here; known are: " + member_words + "."},
    {R"({"routes":{"1":[1]},"routes":{"2":[2]}})", "/routes", "routes", "each member once",
     "The body has the member \"routes\" more than once."},
    {"[]", "", "[]", "a JSON object", "The body is not a JSON object."},
};

}  // namespace

TEST_CASE("every bad body for a matrix is told with its place, its value and what is allowed") {
  MatrixBench bench;
  const JsonSchema schema{openapi()};
  const auto& described = openapi().at("components").at("schemas").at("MatrixPatch");
  for (const auto& bad : bad_bodies) {
    CAPTURE(bad.body);
    const auto told = bench.call("PATCH", shore_dry_run, bad.body);
    CHECK(told.status == 422);
    CHECK(told.text("type") == "/problems/bad-value");
    CHECK(told.text("pointer") == bad.pointer);
    CHECK(told.text("value") == bad.value);
    CHECK(told.text("allowed") == bad.allowed);
    CHECK(told.text("detail") == bad.sentence);
    CHECK(told.body.value("errors", Json::array()).size() == 1);
    // The document takes none of what would be refused of every matrix.
    if (bad.pointer.empty()) CHECK_FALSE(schema.faults(described, Json::parse(bad.body)).empty());
  }
  CHECK(bench.gate.sent.empty());
}

TEST_CASE("all that is wrong with a body for a matrix is told at once") {
  MatrixBench bench;
  const auto told = bench.call(
      "PATCH", shore_dry_run,
      R"({"zoom":1,"labels":{"1":2,"7":""},"routes":{"1":9},"trims_db":{"2":"x"},"why":3})");
  std::vector<std::string> pointers;
  for (const auto& error : told.body.at("errors")) pointers.push_back(error.at("pointer"));
  CHECK(pointers == std::vector<std::string>{"/routes/1", "/trims_db/2", "/labels/1", "/labels/7",
                                             "/why", "/zoom"});
}

TEST_CASE("of a unit that has no trims and feeds nothing neither can be asked") {
  MatrixBench bench;
  const auto patched = [&](const char* body) {
    return bench.call("PATCH", "/matrices/attic/settings?dry_run=true", body);
  };
  CHECK(patched(R"({"trims_db":{"1":"x"}})").text("allowed") == "nothing: a selector has no trim");
  CHECK(patched(R"({"supplies_mv":{"1":"x"}})").text("allowed") ==
        "nothing: a selector feeds nothing");
  const auto trimmed = patched(R"({"trims_db":{"1":-3}})");
  CHECK(trimmed.text("would_be") == "refused");
  CHECK(trimmed.body.at("findings")[0].at("sentence") ==
        "A selector has no trim, so input 1 cannot have -3 dB.");
  CHECK(patched(R"({"supplies_mv":{"2":12000}})").body.at("findings")[0].at("sentence") ==
        "A selector feeds nothing, so input 2 cannot have 12 V.");
  CHECK(patched(R"({"routes":{"1":[1,2]}})").body.at("findings")[0].at("sentence") ==
        "Output 1 cannot take 1+2: a selector selects one input for each output.");
  // Nothing of either is no wish for it.
  CHECK(patched(R"({"trims_db":{"1":0},"supplies_mv":{"1":0}})").text("would_be") == "accepted");
}

TEST_CASE("what the datasheet does not know is refused with a finding, and reaches no matrix") {
  struct Row {
    const char* body;
    const char* rule;
    const char* sentence;
  };
  MatrixBench bench;
  for (const auto& [body, rule, sentence] : std::vector<Row>{
           {R"({"routes":{"3":[1,2,3]}})", "matrix-route",
            "Output 3 cannot take 1+2+3: a summer sums at most 2 inputs."},
           {R"({"trims_db":{"1":-10.5}})", "matrix-trim",
            "The trim of input 1 cannot be -10.5 dB; it goes from -10 dB to +0 dB."},
           {R"({"trims_db":{"1":1}})", "matrix-trim",
            "The trim of input 1 cannot be +1 dB; it goes from -10 dB to +0 dB."},
           {R"({"trims_db":{"1":-0.25}})", "matrix-trim",
            "-0.25 dB for input 1 is between two steps; it moves in steps of +0.5 dB from -10 dB."},
           {R"({"supplies_mv":{"4":5000}})", "matrix-supply",
            "Input 4 cannot feed 5 V; it feeds 9 V and 12 V, or is off."}}) {
    CAPTURE(body);
    const auto refused = bench.route(Json::parse(body));
    CHECK(refused.status == 409);
    CHECK(refused.text("type") == "/problems/refused");
    REQUIRE(refused.body.at("findings").size() == 1);
    CHECK(refused.body.at("findings")[0].at("rule") == rule);
    CHECK(refused.body.at("findings")[0].at("sentence") == sentence);
  }
  CHECK(bench.gate.sent.empty());
  CHECK(bench.tag() == "\"1\"");
}

TEST_CASE("a name of the other kind, or of nobody, is not found under matrices or nodes") {
  MatrixBench bench;
  const auto no = [](const char* what, const std::string& name) {
    return std::string{"There is no "} + what + " \"" + name + "\"";
  };
  for (const std::string name : {"left", "nobody"}) {
    CAPTURE(name);
    const auto path = "/matrices/" + name;
    for (const std::string of : {"", "/settings"}) {
      const auto missing = bench.call("GET", path + of);
      CHECK(missing.status == 404);
      CHECK(missing.text("type") == "/problems/not-found");
      CHECK(missing.text("detail") == no("matrix", name) + ".");
    }
    for (const std::string way : {"/adopt", "/reapply", "/locate", "/store"}) {
      CAPTURE(way);
      const auto missing = bench.call("POST", path + way);
      CHECK(missing.status == 404);
      CHECK(missing.text("detail").starts_with(no("matrix", name)));
    }
    const auto reclaimed = bench.call("POST", path + "/reclaim", R"({"why":"x"})");
    CHECK(reclaimed.status == 404);
    CHECK(reclaimed.text("detail").starts_with(no("matrix", name)));
    const auto patched =
        bench.call("PATCH", path + "/settings", R"({"label":"x"})", {{"if-match", "\"1\""}});
    CHECK(patched.status == 404);
    CHECK(patched.text("detail").starts_with(no("matrix", name)));
  }
  for (const std::string name : {"shore", "van"}) {
    CAPTURE(name);
    const auto path = "/nodes/" + name;
    for (const std::string of : {"", "/settings"})
      CHECK(bench.call("GET", path + of).text("detail") == no("node", name) + ".");
    for (const std::string way : {"/adopt", "/reapply", "/locate", "/store"}) {
      const auto missing = bench.call("POST", path + way);
      CHECK(missing.status == 404);
      CHECK(missing.text("detail").starts_with(no("node", name)));
    }
    CHECK(bench.call("PATCH", path + "/settings", R"({"label":"x"})", {{"if-match", "*"}}).status ==
          404);
  }
  CHECK(bench.gate.sent.empty());
  for (const std::string path : {"/matrices/shore/routes", "/matrices/shore/settings/routes"})
    CHECK(bench.call("GET", path).text("detail") == "There is nothing at /api/v1" + path + ".");
}

TEST_CASE("a matrix that is set by hand is shown, and nothing is done with it from here") {
  MatrixBench bench;
  const std::string said = "\"van\" is on no line: it is set by hand, and the rack file says how.";
  const auto told = [&](const Called& called) {
    CHECK(called.status == 404);
    CHECK(called.text("detail") == said);
  };
  told(bench.call("GET", "/matrices/van/settings"));
  told(bench.call("PATCH", "/matrices/van/settings", R"({"label":"x"})", {{"if-match", "\"1\""}}));
  told(bench.call("PATCH", "/matrices/van/settings?dry_run=true", R"({"label":"x"})"));
  for (const char* way : {"adopt", "reapply", "locate", "store"})
    told(bench.call("POST", std::string{"/matrices/van/"} + way));
  told(bench.call("POST", "/matrices/van/reclaim", R"({"why":"x"})"));
  CHECK(bench.gate.sent.empty());

  const auto van = bench.shown("van");
  CHECK(members_of(van) == Members{"name", "type", "stands", "set_from_here", "datasheet", "inputs",
                                   "outputs", "set_by_hand"});
  CHECK(van.at("set_from_here") == false);
  CHECK(van.at("stands") == "the van");
  CHECK(van.at("set_by_hand") ==
        Json::parse(R"({"label":"","routes":{"1":[2]},"labels":{"1":"","2":""}})"));
}

TEST_CASE("routes are changed from the revision that they have, and from no other") {
  MatrixBench bench;
  const std::string body = R"({"routes":{"1":[1,3]}})";
  const auto without = bench.call("PATCH", shore_settings, body);
  CHECK(without.status == 428);
  CHECK(without.text("detail") ==
        "Say with If-Match which revision of the settings you change: the ETag of GET "
        "/api/v1/matrices/shore/settings.");
  const auto weak = bench.call("PATCH", shore_settings, body, {{"if-match", "W/\"1\""}});
  CHECK(weak.status == 412);
  CHECK(weak.text("detail") ==
        "If-Match is W/\"1\": a weak tag never matches there; allowed is the ETag of the "
        "settings, \"1\".");
  for (const char* given : {"1", "\"x\"", "\"\"", "\"-1\""}) {
    CAPTURE(given);
    const auto bad = bench.call("PATCH", shore_settings, body, {{"if-match", given}});
    CHECK(bad.status == 422);
    CHECK(bad.text("pointer") == "header/If-Match");
  }
  CHECK(bench.gate.sent.empty());
  REQUIRE(bench.route({{"label", "A"}}).status == 200);
  const auto stale = bench.call("PATCH", shore_settings, body, {{"if-match", "\"1\""}});
  CHECK(stale.status == 412);
  CHECK(stale.text("outcome") == "stale");
  CHECK(stale.header("ETag") == "\"2\"");
  CHECK(stale.body.at("wanted").at("label") == "A");
  CHECK(stale.body.at("wanted").at("routes").at("1") == Json{1});
  for (const char* way : {"/adopt", "/reapply"}) {
    CHECK(bench.call("POST", std::string{"/matrices/shore"} + way, "{}", {{"if-match", "\"1\""}})
              .status == 412);
    CHECK(bench.call("POST", std::string{"/matrices/shore"} + way, "{}", {{"if-match", "W/\"2\""}})
              .status == 412);
  }
  // A reader who has them is told so.
  CHECK(bench.call("GET", shore_settings, "", {{"if-none-match", "\"2\""}}).status == 304);
  CHECK(bench.call("GET", shore_settings, "", {{"if-none-match", "\"1\""}}).status == 200);
}

TEST_CASE("a query that the routes of matrices do not know is told") {
  MatrixBench bench;
  CHECK(bench.call("PATCH", shore_settings + "?dryrun=true", "{}").text("detail") ==
        "There is no query parameter \"dryrun\" here; known are: dry_run.");
  CHECK(bench.call("PATCH", shore_settings + "?dry_run=perhaps", "{}").text("detail") ==
        "dry_run is \"perhaps\"; allowed is true or false.");
}

TEST_CASE("what is done with a matrix takes no body but its own") {
  MatrixBench bench;
  for (const char* way : {"adopt", "reapply"}) {
    const auto told =
        bench.call("POST", std::string{"/matrices/shore/"} + way, R"({"routes":{"1":[1]}})");
    CHECK(told.status == 422);
    CHECK(told.text("detail") == "There is no member \"routes\" here; known are: why, waiver.");
  }
  CHECK(bench.call("POST", "/matrices/shore/locate", R"({"seconds":256})").text("detail") ==
        "seconds is 256; allowed is a whole number from 0 to 255.");
  CHECK(bench.call("POST", "/matrices/shore/store", R"({"why":"x"})").text("detail") ==
        "There is no member \"why\" here; known are: none.");
  CHECK(bench.call("POST", "/matrices/shore/reclaim").text("detail") ==
        "why is missing; needed is the reason for it.");
  CHECK(bench.gate.sent.empty());
}

TEST_CASE("who only watches sees the matrices, and moves nothing") {
  MatrixBench bench;
  const auto as = [&](web::Role role, const std::string& method, const std::string& path) {
    return bench.call(method, path, method == "GET" ? "" : "{}", {{"if-match", "*"}}, role).status;
  };
  using web::Role;
  CHECK(as(Role::watch, "GET", "/matrices") == 200);
  CHECK(as(Role::watch, "GET", shore_settings) == 200);
  CHECK(as(Role::watch, "PATCH", shore_settings) == 403);
  for (const std::string way : {"adopt", "reapply", "locate", "store", "reclaim"})
    CHECK(as(Role::watch, "POST", "/matrices/shore/" + way) == 403);
  CHECK(as(Role::operate, "POST", "/matrices/shore/store") == 403);
  CHECK(as(Role::operate, "POST", "/matrices/shore/reclaim") == 403);
  CHECK(as(Role::operate, "PATCH", shore_settings) == 200);
  CHECK(as(Role::operate, "POST", "/matrices/shore/locate") == 200);
  CHECK(as(Role::engineer, "POST", "/matrices/shore/store") == 200);
}

TEST_CASE("routes that settle are answered with the matrix as it was read back, and a new ETag") {
  MatrixBench bench;
  const auto settled = bench.route({{"routes", {{"1", {3, 1}}}},
                                    {"trims_db", {{"3", -4.5}}},
                                    {"supplies_mv", {{"4", 0}}},
                                    {"labels", {{"3", "float"}}},
                                    {"label", "A"},
                                    {"why", "one more for the vocals"}});
  CHECK(settled.status == 200);
  CHECK(settled.text("outcome") == "settled");
  CHECK(settled.header("ETag") == "\"2\"");
  CHECK_FALSE(settled.body.contains("node"));
  const auto& matrix = settled.body.at("matrix");
  CHECK(matrix.at("agreement") == "agreed");
  const auto& seen = matrix.at("seen").at("settings");
  CHECK(seen == Json::parse(R"({"label":"A","routes":{"1":[1,3],"2":[2],"3":[3]},
      "trims_db":{"1":0.0,"2":0.0,"3":-4.5,"4":0.0},
      "supplies_mv":{"1":12000,"2":12000,"3":12000,"4":0},
      "labels":{"1":"","2":"","3":"float","4":""}})"));
  auto wanted = bench.call("GET", shore_settings).body;
  CHECK(wanted.at("revision") == 2);
  wanted.erase("revision");
  CHECK(wanted == seen);
  CHECK(matrix.at("outputs").at(0).at("hears") == Json{"left", "spare"});
  CHECK(matrix.at("outputs").at(0).at("receiver") == "vocals");
  CHECK(matrix.at("outputs").at(0).at("branch") == 1);
  CHECK_FALSE(matrix.at("outputs").at(2).contains("receiver"));
  CHECK(bench.gate.matrices.at(shore_uid).in_force.inputs[2].trim == rf::Gain::centidecibels(-450));
  CHECK(bench.gate.journal.back().entry.node == "shore");
  // The nodes say whom they serve by it.
  CHECK(bench.call("GET", "/nodes/spare").body.at("serves").size() == 1);
  // What is asked of it again, and is so already, is the next revision of the same.
  CHECK(bench.route({{"routes", {{"1", {1, 3}}}}}).status == 200);
}

TEST_CASE("a dry run of routes gives the verdict, and records and sends nothing") {
  MatrixBench bench;
  const auto rows = bench.gate.journal.size();
  const auto would_be = [&](const char* body) {
    const auto checked = bench.call("PATCH", shore_dry_run, body);
    CHECK(checked.status == 200);
    CHECK(checked.text("outcome") == "checked");
    return checked.text("would_be");
  };
  CHECK(would_be("{}") == "accepted");
  CHECK(would_be(R"({"routes":{"1":[1,3]}})") == "accepted");
  CHECK(would_be(R"({"routes":{"2":[]}})") == "needs-waiver");
  CHECK(would_be(R"({"routes":{"1":[],"2":[]}})") == "refused");
  CHECK(bench.call("PATCH", shore_dry_run, "{}", {{"if-match", "\"5\""}}).status == 412);
  CHECK(bench.gate.journal.size() == rows);
  CHECK(bench.gate.sent.empty());
  CHECK(bench.tag() == "\"1\"");
}

TEST_CASE("a caution about routes needs a named person's reason, and then goes on") {
  MatrixBench bench;
  const Json deaf = {{"routes", {{"2", Json::array()}}}};
  const auto asked = bench.route(deaf);
  CHECK(asked.status == 409);
  CHECK(asked.text("type") == "/problems/needs-waiver");
  CHECK(rules_of(asked) == std::vector<std::string>{"receiver-without-antenna"});
  CHECK(bench.gate.sent.empty());
  auto signed_for = deaf;
  signed_for["waiver"] = {{"who", "Ana"}, {"reason", "the cable is cut"}};
  CHECK(bench.route(signed_for).text("outcome") == "settled");
  CHECK(bench.hears(2) == Json::array());
}

TEST_CASE("a matrix that refuses, is silent or reads back something else ends the change so") {
  MatrixBench bench;
  auto& shore = bench.gate.matrices.at(shore_uid);
  const Json more = {{"routes", {{"1", {1, 3}}}}};
  shore.refuses = protocol::RefusalReason::supply_impossible;
  const auto refused = bench.route(more);
  CHECK(refused.status == 502);
  CHECK(refused.text("outcome") == "failed");
  shore.refuses = {};
  shore.takes_what_it_is_given = false;
  const auto other = bench.route(more);
  CHECK(other.status == 502);
  CHECK(other.text("detail") == "The node reads back output 1 1 (wanted 1+3).");
  CHECK(bench.hears(1) == Json{"left"});
  shore.takes_what_it_is_given = true;
  shore.answers = false;
  CHECK(bench.route(more).status == 504);
  CHECK(bench.call("POST", "/matrices/shore/locate").status == 504);
  // What is wanted is what it was.
  CHECK(bench.call("GET", shore_settings).body.at("routes").at("1") == Json{1});
  bench.gate.journal_writes = false;
  shore.answers = true;
  CHECK(bench.route(more).status == 503);
}

TEST_CASE("under the show lock routes are refused, and what is wanted may be sent once more") {
  MatrixBench bench;
  REQUIRE(bench.call("POST", "/rack/lock", R"({"why":"doors"})").status == 200);
  const auto refused = bench.route({{"routes", {{"1", {1, 3}}}}});
  CHECK(refused.status == 409);
  CHECK(rules_of(refused) == std::vector<std::string>{"show-locked"});
  bench.gate.turn(shore_uid, shore_set({{2}, {1}, {3}}));
  CHECK(bench.shown().at("agreement") == "drifted");
  CHECK(bench.hears(1) == Json{"right"});
  const auto again = bench.call("POST", "/matrices/shore/reapply", R"({"why":"a hand"})");
  CHECK(again.status == 200);
  CHECK(again.body.at("matrix").at("agreement") == "agreed");
  CHECK(bench.hears(1) == Json{"left"});
}

TEST_CASE("a hand at the unit can be adopted, and is shown for what it is until then") {
  MatrixBench bench;
  bench.gate.turn(shore_uid, shore_set({{1}, {3}, {3}}));
  const auto drifted = bench.shown();
  CHECK(drifted.at("agreement") == "drifted");
  CHECK(drifted.at("wanted").at("routes").at("2") == Json{2});
  CHECK(drifted.at("seen").at("settings").at("routes").at("2") == Json{3});
  CHECK_FALSE(drifted.at("conditions").empty());
  CHECK(bench.hears(2) == Json{"spare"});
  const auto adopted = bench.call("POST", "/matrices/shore/adopt");
  CHECK(adopted.status == 200);
  CHECK(adopted.header("ETag") == "\"2\"");
  CHECK(bench.shown().at("wanted").at("routes").at("2") == Json{3});
}

TEST_CASE("a matrix is shown with what it can do and what is plugged in") {
  MatrixBench bench;
  bench.gate.on(rack::NodeIdentified{uid(shore_uid), {uid(shore_uid), {9}, 1, 0x0203, "summer"}});
  const auto shore = bench.shown();
  CHECK(members_of(shore) == Members{"name", "uid", "type", "stands", "line", "on_return", "link",
                                     "agreement", "firmware", "reported_type", "set_from_here",
                                     "datasheet", "inputs", "outputs", "wanted", "seen", "findings",
                                     "conditions"});
  CHECK(shore.at("firmware") == "2.3");
  CHECK(shore.at("stands") == "rack 1");
  CHECK(shore.at("set_from_here") == true);
  CHECK(shore.at("datasheet") ==
        Json::parse(R"({"title":"Summing matrix","inputs":4,"outputs":3,"most_summed":2,
            "applies":"one after another",
            "trim_db":{"lowest":-10.0,"highest":0.0,"step":0.5},"supplies_mv":[9000,12000],
            "most_ma":300,"most_ma_of_all":600,"measures_current":true,"measures_level":true})"));
  CHECK(shore.at("inputs").at(0) == Json::parse(R"({"input":1,"antenna":"left",
            "measured":{"current_ma":80,"limited":false,"level_dbm":0.0}})"));
  CHECK_FALSE(shore.at("inputs").at(3).contains("antenna"));
  CHECK(shore.at("seen").at("passive") == false);
  const auto attic = bench.shown("attic");
  CHECK(attic.at("on_return") == "reapply");
  CHECK_FALSE(attic.at("datasheet").contains("trim_db"));
  CHECK_FALSE(attic.at("datasheet").contains("supplies_mv"));
  CHECK_FALSE(attic.at("wanted").contains("trims_db"));
  CHECK_FALSE(attic.at("wanted").contains("supplies_mv"));
  const auto all = bench.call("GET", "/matrices").body.at("matrices");
  REQUIRE(all.size() == 3);
  CHECK(all[0].at("name") == "shore");
  CHECK(all[1].at("name") == "van");
  CHECK(bench.call("GET", "/nodes/left").body.at("fed_by") ==
        Json{{"matrix", "shore"}, {"input", 1}});
  CHECK(bench.call("GET", "/nodes").body.at("nodes").size() == 3);
}

TEST_CASE("a matrix that was never read has nothing wanted, and no change is begun on it") {
  FakeGate gate{rack_of_three()};
  web::Api api{gate, [&] { return gate.now; }};
  std::vector<int> statuses;
  Json shown;
  const auto ask = [&](const std::string& method, const std::string& path,
                       const web::Role role = web::Role::engineer) {
    api.handle({method,
                "/api/v1/matrices/shore" + path,
                {},
                {{"if-match", "\"1\""}},
                method == "PATCH" ? R"({"label":"x"})" : ""},
               {"ana", role}, [&](const web::HttpResponse& response) {
                 statuses.push_back(response.status);
                 shown = Json::parse(response.body);
               });
  };
  ask("GET", "/settings");
  ask("PATCH", "/settings");
  ask("POST", "/adopt");
  CHECK(statuses == std::vector<int>{404, 504, 504});
  ask("GET", "");
  CHECK(shown.at("link") == "unknown");
  CHECK_FALSE(shown.contains("seen"));
  CHECK_FALSE(shown.contains("wanted"));
  CHECK_FALSE(shown.at("inputs").at(0).contains("measured"));
  CHECK(shown.at("outputs").at(0).at("hears") == Json::array());
  const JsonSchema schema{openapi()};
  CHECK(schema.faults(openapi().at("components").at("schemas").at("Matrix"), shown) ==
        std::vector<std::string>{});
  CHECK(gate.sent.empty());
}

TEST_CASE("a matrix without supply is passive, and nobody hears through it") {
  MatrixBench bench;
  bench.gate.matrices.at(shore_uid).supplied = false;
  bench.gate.turn(shore_uid, shore_set({{1}, {2}, {3}}));
  const auto passive = bench.shown();
  CHECK(passive.at("seen").at("passive") == true);
  CHECK(bench.hears(1) == Json::array());
  std::vector<std::string> levels;
  for (const auto& condition : passive.at("conditions")) levels.push_back(condition.at("level"));
  CHECK(std::ranges::find(levels, "fault") != levels.end());
}

TEST_CASE("a matrix that is being changed says to what") {
  MatrixBench bench;
  bench.gate.hold = true;
  const auto begun = bench.call("PATCH", shore_settings, R"({"routes":{"1":[1,3]}})",
                                {{"if-match", "\"1\""}, {"prefer", "respond-async"}});
  CHECK(begun.status == 202);
  const auto changing = bench.shown();
  CHECK(changing.at("agreement") == "changing");
  CHECK(changing.at("change").at("settings").at("routes").at("1") == Json{1, 3});
  CHECK(changing.at("change").at("who") == "ana");
  CHECK(bench.hears(1) == Json{"left"});
  const auto second = bench.call("PATCH", shore_settings, R"({"label":"B"})", {{"if-match", "*"}});
  CHECK(second.status == 409);
  CHECK(second.text("type") == "/problems/busy");
  const auto listed = bench.call("GET", "/changes").body.at("changes");
  REQUIRE(listed.size() == 1);
  CHECK(bench.call("GET", begun.header("Location").substr(7)).status == 200);
  bench.gate.release();
  CHECK(bench.shown().at("agreement") == "agreed");
  CHECK(bench.hears(1) == Json{"left", "spare"});
}

TEST_CASE("bodies for a matrix that the API takes are those that the document describes") {
  MatrixBench bench;
  const JsonSchema schema{openapi()};
  const auto& patch = openapi().at("components").at("schemas").at("MatrixPatch");
  struct Row {
    const char* body;
    bool good;
  };
  for (const auto& [body, good] :
       std::vector<Row>{{R"({})", true},
                        {R"({"routes":{"1":[],"3":[1,2]},"label":"A","labels":{"4":"x"}})", true},
                        {R"({"trims_db":{"1":-327.68},"supplies_mv":{"1":0}})", true},
                        {R"({"why":"x","waiver":{"who":"Ana","reason":"so"}})", true},
                        {R"({"routes":{"1":[1,1]}})", false},
                        {R"({"routes":{"01":[1]}})", false},
                        {R"({"routes":{"33":[1]}})", false},
                        {R"({"routes":{"1":[33]}})", false},
                        {R"({"routes":{"1":3}})", false},
                        {R"({"routes":[]})", false},
                        {R"({"trims_db":{"1":"0"}})", false},
                        {R"({"trims_db":{"1":327.68}})", false},
                        {R"({"supplies_mv":{"1":60001}})", false},
                        {R"({"supplies_mv":{"1":0.5}})", false},
                        {R"({"labels":{"1":"seventeen letters"}})", false},
                        {R"({"labels":{"one":"x"}})", false},
                        {R"({"label":null})", false},
                        {R"({"waiver":{"who":"Ana"}})", false},
                        {R"({"gain_db":6})", false},
                        {R"([])", false}}) {
    const auto& the_body = body;
    CAPTURE(the_body);
    CHECK(schema.faults(patch, Json::parse(body)).empty() == good);
    CHECK((bench.call("PATCH", shore_dry_run, body).status == 422) == !good);
  }
}

TEST_CASE("the power of an input is cycled, and what cannot be is told by its place") {
  MatrixBench bench;
  const auto cycle = [&bench](const std::string& query, const std::string& body) {
    return bench.call("POST", "/matrices/shore/power-cycle" + query, body);
  };
  struct Bad {
    std::string body, pointer, value, allowed;
  };
  for (const auto& bad : {
           Bad{"{}", "/input", "(missing)", "1 to 4"},
           Bad{R"({"input":0})", "/input", "0", "a whole number from 1 to 4"},
           Bad{R"({"input":5})", "/input", "5", "a whole number from 1 to 4"},
           Bad{R"({"input":"3"})", "/input", "\"3\"", "a whole number from 1 to 4"},
           Bad{R"({"input":1.5})", "/input", "1.5", "a whole number from 1 to 4"},
           Bad{R"({"input":null})", "/input", "null", "a whole number from 1 to 4"},
           Bad{R"({"input":1,"seconds":2})", "/seconds", "2", "input, why, waiver"},
           Bad{R"({"input":1,"why":7})", "/why", "7", "text of at most 500 bytes"},
           Bad{"[1]", "", "[1]", "a JSON object"},
       }) {
    CAPTURE(bad.body);
    const auto told = cycle("", bad.body);
    CHECK(told.status == 422);
    CHECK(told.text("pointer") == bad.pointer);
    CHECK(told.text("value") == bad.value);
    CHECK(told.text("allowed") == bad.allowed);
  }
  CHECK(cycle("?dry_run=perhaps", R"({"input":1})").status == 422);
  CHECK(bench.call("POST", "/matrices/nowhere/power-cycle", R"({"input":1})").status == 404);
  CHECK(bench.call("POST", "/matrices/left/power-cycle", R"({"input":1})").status == 404);
  CHECK(bench.gate.sent.empty());
  const auto checked = cycle("?dry_run=true", R"({"input":1})");
  CHECK(checked.status == 200);
  CHECK(checked.text("outcome") == "checked");
  CHECK(bench.gate.sent.empty());
  CHECK(bench.call("POST", "/matrices/attic/power-cycle", R"({"input":1})").status == 409);
}
