// SPDX-License-Identifier: Apache-2.0
#include "web/server/http/input.hpp"
#include "web/server/http/settings_body.hpp"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

using namespace catwalk;
using namespace catwalk::web;

namespace {

// What a settings patch with this body is complained of.
std::vector<BadValue> complaints_of(const std::string& text) {
  Body body{text};
  read_patch(body);
  body.text("why", 500);
  body.waiver("waiver");
  return body.finish();
}

struct BadBody {
  std::string text;
  BadValue complaint;
};

const std::string gain_allowed = "a number of dB from -327.68 to 327.67 in steps of 0.01";
const std::string centre_allowed = "a number of MHz from 0 to 4294.967295 in steps of 0.000001";
const std::string waiver_allowed =
    R"(an object {"who": a name, "reason": a sentence}, neither empty, both without )"
    "control or format characters";
const std::string members = "gain_db, filter, centre_mhz, power, label, why, waiver";

BadBody bad(const std::string& member, const std::string& value, const std::string& allowed) {
  return {
      "{\"" + member + "\":" + value + "}",
      {"/" + member, value, allowed, member + " is " + value + "; allowed is " + allowed + "."}};
}

const std::string deep = R"({"gain_db":[[[[[[[[[1]]]]]]]]]})";

const std::vector<BadBody> bad_bodies{
    {"gain=6",
     {"", "byte 1", "a JSON object", "The body is not JSON: it cannot be read at byte 1."}},
    {R"({"gain_db":6)",
     {"", "byte 13", "a JSON object", "The body is not JSON: it cannot be read at byte 13."}},
    {R"({"gain_db":6}x)",
     {"", "byte 14", "a JSON object", "The body is not JSON: it cannot be read at byte 14."}},
    {"\"\xC3\"",
     {"", "byte 3", "a JSON object", "The body is not JSON: it cannot be read at byte 3."}},
    {"[]", {"", "[]", "a JSON object", "The body is not a JSON object."}},
    {"null", {"", "null", "a JSON object", "The body is not a JSON object."}},
    {"6", {"", "6", "a JSON object", "The body is not a JSON object."}},
    {deep, {"", "deeper than 8 levels", "at most 8 levels", "The body is nested too deeply."}},
    {R"({"gain_db":1e400})",
     {"", "a number beyond 1.8e308", "numbers that a double can hold",
      "A number in the body is too large to be read."}},
    {R"({"gain_db":3,"gain_db":4})",
     {"/gain_db", "gain_db", "each member once",
      "The body has the member \"gain_db\" more than once."}},
    {R"({"waiver":{"who":"Ana","reason":"a","who":"Bo"}})",
     {"/who", "who", "each member once", "The body has the member \"who\" more than once."}},
    bad("gain_db", "\"6\"", gain_allowed),
    bad("gain_db", "true", gain_allowed),
    bad("gain_db", "null", gain_allowed),
    bad("gain_db", "6.005", gain_allowed),
    bad("gain_db", "327.68", gain_allowed),
    bad("gain_db", "-327.69", gain_allowed),
    bad("gain_db", "1e+300", gain_allowed),
    bad("centre_mhz", "\"518\"", centre_allowed),
    bad("centre_mhz", "-1", centre_allowed),
    bad("centre_mhz", "518.0000005", centre_allowed),
    bad("centre_mhz", "4294.967296", centre_allowed),
    bad("filter", "1", "text of at most 64 bytes"),
    bad("power", "\"on\"", "true or false"),
    bad("power", "1", "true or false"),
    bad("label", "null", "text of at most 16 bytes"),
    bad("label", "\"seventeen letters\"", "text of at most 16 bytes"),
    bad("why", "7", "text of at most 500 bytes"),
    bad("waiver", "\"Ana\"", waiver_allowed),
    bad("waiver", "null", waiver_allowed),
    bad("waiver", "[]", waiver_allowed),
    bad("waiver", "{}", waiver_allowed),
    bad("waiver", R"({"who":"Ana"})", waiver_allowed),
    bad("waiver", R"({"reason":" ","who":"Ana"})", waiver_allowed),
    bad("waiver", R"({"reason":"no choice","when":1,"who":"Ana"})", waiver_allowed),
    bad("waiver", R"({"reason":"no choice","who":"Ana\u001b[2J"})", waiver_allowed),
    bad("waiver", R"({"reason":"no\u007f","who":"Ana"})", waiver_allowed),
    {R"({"gian_db":6})",
     {"/gian_db", "6", members,
      "There is no member \"gian_db\" here; known are: " + members + "."}},
};

HttpRequest with(const std::string& header, const std::string& value) {
  HttpRequest request;
  request.headers[header] = value;
  return request;
}

}  // namespace

TEST_CASE("every bad body is told with its place, its value and what is allowed") {
  for (const auto& [text, complaint] : bad_bodies) {
    const auto& the_text = text;
    CAPTURE(the_text);
    const auto complaints = complaints_of(text);
    REQUIRE(complaints.size() == 1);
    CHECK(complaints[0].pointer == complaint.pointer);
    CHECK(complaints[0].value == complaint.value);
    CHECK(complaints[0].allowed == complaint.allowed);
    CHECK(complaints[0].sentence == complaint.sentence);
  }
}

TEST_CASE("all that is wrong with a body is told at once, in the order of reading") {
  const auto complaints = complaints_of(R"({"zoom":1,"label":2,"gain_db":"x","power":0})");
  REQUIRE(complaints.size() == 4);
  CHECK(complaints[0].pointer == "/gain_db");
  CHECK(complaints[1].pointer == "/power");
  CHECK(complaints[2].pointer == "/label");
  CHECK(complaints[3].pointer == "/zoom");
}

TEST_CASE("a long value is quoted only in part") {
  const auto complaints = complaints_of("{\"label\":\"" + std::string(300, 'x') + "\"}");
  REQUIRE(complaints.size() == 1);
  CHECK(complaints[0].value == '"' + std::string(76, 'x') + "...");
}

TEST_CASE("a whole patch is read exactly") {
  Body body{
      R"({"gain_db":-1.5,"filter":"slide","centre_mhz":518.000001,"power":false,"label":"ü"})"};
  const auto patch = read_patch(body);
  CHECK(body.finish().empty());
  CHECK(patch.gain == rf::Gain::centidecibels(-150));
  CHECK(patch.filter == "slide");
  CHECK(patch.centre == rf::Frequency::hertz(518'000'001));
  CHECK(patch.power == false);
  CHECK(patch.label == "ü");
}

TEST_CASE(
    "where the node is known, a complaint says what it can do and not what the wire can carry") {
  plan::Datasheet sheet;
  sheet.type = "two-way";
  sheet.gains.lowest = rf::Gain::centidecibels(-1250);
  sheet.gains.highest = rf::Gain::decibels(27);
  sheet.gains.step = rf::Gain::centidecibels(50);
  plan::Filter fixed;
  fixed.name = "fixed";
  sheet.filters = {fixed};
  const auto allowed = [&] {
    Body body{R"({"gain_db":"6","centre_mhz":5000})"};
    read_patch(body, &sheet);
    std::vector<std::string> said;
    for (const auto& complaint : body.finish()) said.push_back(complaint.allowed);
    return said;
  };
  CHECK(allowed() == std::vector<std::string>{"a number of dB from -12.5 to 27 in steps of 0.5",
                                              "none: no filter of a two-way has a centre"});
  for (const double width : {40.0, 24.0}) {
    plan::Filter slide;
    slide.name = "slide-" + std::to_string(static_cast<int>(width));
    slide.tuning = plan::Tuning{rf::Frequency::megahertz(450 - width),
                                rf::Frequency::megahertz(740), rf::Frequency::kilohertz(25)};
    sheet.filters.push_back(slide);
  }
  CHECK(allowed().back() ==
        "a number of MHz: with slide-40 from 410 to 740 in steps of 0.025; with slide-24 from 426 "
        "to 740 in steps of 0.025");
}

TEST_CASE("every hundredth of a decibel that the wire can carry is read exactly") {
  for (int cdb = -32768; cdb <= 32767; ++cdb) {
    Body body{"{\"gain_db\":" + nlohmann::json(cdb / 100.0).dump() + "}"};
    const auto gain = body.decibels("gain_db");
    REQUIRE(gain);
    REQUIRE(gain->centidecibels() == cdb);
  }
}

TEST_CASE("an empty body is an empty object, and a patch of nothing") {
  for (const char* text : {"", " \r\n", "{}"}) {
    Body body{text};
    CHECK(read_patch(body).empty());
    CHECK(body.finish().empty());
  }
}

TEST_CASE("whole numbers hold their range, and nothing else is one") {
  const std::string allowed = "a whole number from 0 to 255";
  for (const char* value : {"-1", "256", "1.5", "\"7\"", "1e3", "99999999999999999999"}) {
    CAPTURE(value);
    Body body{"{\"seconds\":" + std::string{value} + "}"};
    CHECK_FALSE(body.whole("seconds", 0, 255));
    const auto complaints = body.finish();
    REQUIRE(complaints.size() == 1);
    CHECK(complaints[0].allowed == allowed);
  }
  Body body{R"({"seconds":255})"};
  CHECK(body.whole("seconds", 0, 255) == 255);
}

TEST_CASE("what must be there is missed by name, but not under a body that could not be read") {
  Body missing{"{}"};
  missing.text("segment", 64);
  missing.require("segment", false, "the name of a segment");
  const auto complaints = missing.finish();
  REQUIRE(complaints.size() == 1);
  CHECK(complaints[0] == BadValue{"/segment", "(missing)", "the name of a segment",
                                  "segment is missing; needed is the name of a segment."});

  Body broken{"{"};
  broken.require("segment", false, "the name of a segment");
  CHECK(broken.finish().size() == 1);
}

TEST_CASE("If-Match is a revision in quotes, or several of them, or any") {
  const auto three = read_if_match(with("if-match", "\"3\""));
  CHECK(three.revision(3) == 3);
  CHECK(three.revision(4) == 3);  // which the change will not meet
  const auto several = read_if_match(with("if-match", "\"3\", \"4\" ,\"9\""));
  CHECK(several.revision(4) == 4);
  CHECK(several.revision(5) == 3);
  CHECK(several.revision({}) == 3);
  CHECK(read_if_match(with("if-match", ",\"3\", ,")).revision(4) == 3);
  const auto any = read_if_match(with("if-match", "*"));
  CHECK_FALSE(any.revision(7));
  CHECK_FALSE(read_if_match(HttpRequest{}).complaint);
  // Compared strongly, a weak tag never matches: RFC 9110, section 13.1.1.
  for (const char* weak : {"W/\"3\"", "W/\"3\", W/\"any\""}) {
    CAPTURE(weak);
    CHECK_FALSE(read_if_match(with("if-match", weak)).complaint);
    CHECK(read_if_match(with("if-match", weak)).only_weak);
  }
  const auto beside = read_if_match(with("if-match", "W/\"3\", \"4\""));
  CHECK_FALSE(beside.only_weak);
  CHECK(beside.revision(3) == 4);
  for (const char* given : {"", "3", "\"\"", "\"x\"", "W/3", "W/\"", "\"-1\"", "\"3\", *", ",",
                            "\"99999999999999999999\""}) {
    CAPTURE(given);
    const auto match = read_if_match(with("if-match", given));
    REQUIRE(match.complaint);
    CHECK(match.complaint->pointer == "header/If-Match");
    CHECK(match.complaint->value == given);
    CHECK(match.complaint->sentence ==
          "If-Match is " + std::string{given} +
              R"(; allowed is the ETag of the settings, a revision in quotes such as "3", several )"
              "of them, or *.");
  }
}
