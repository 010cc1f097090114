// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/settings_words.hpp"

#include <doctest/doctest.h>

using namespace catwalk::cli;
using Json = nlohmann::ordered_json;
using Words = std::vector<std::string>;

TEST_CASE("settings in words become the patch of the API") {
  const auto patch = parse_settings(
      {"gain=+6", "centre=518.125", "filter=slide-40", "power=off", "label=vox 1=a"});
  REQUIRE(patch);
  CHECK(*patch == Json{{"gain_db", 6.0},
                       {"centre_mhz", 518.125},
                       {"filter", "slide-40"},
                       {"power", false},
                       {"label", "vox 1=a"}});
  CHECK(parse_settings({"gain=-1.5"})->dump() == R"({"gain_db":-1.5})");
  CHECK(parse_settings({"power=on"})->dump() == R"({"power":true})");
  CHECK(parse_settings({"label="})->dump() == R"({"label":""})");
  CHECK(parse_settings({})->dump() == "{}");
}

TEST_CASE("a word that cannot be used is told with what is allowed") {
  const std::string gain = "gain=DB, such as gain=-1.5";
  const std::string centre = "centre=MHZ, such as centre=518.125";
  const std::string any = "gain=, filter=, centre=, power= or label=";
  const std::string power = "power=on or power=off";
  const auto sentence = [](const std::string& word, const std::string& said) {
    return '"' + word + "\" cannot be used; allowed is " + said;
  };
  struct Row {
    Words words;
    std::string word, allowed;
  };
  for (const auto& [words, word, allowed] :
       std::vector<Row>{{{"gain"}, "gain", "setting=value"},
                        {{"6"}, "6", "setting=value"},
                        {{"gain="}, "gain=", gain},
                        {{"gain=lots"}, "gain=lots", gain},
                        {{"gain=6dB"}, "gain=6dB", gain},
                        {{"gain=6,5"}, "gain=6,5", gain + "; use a point, not a comma"},
                        {{"center=518"}, "center=518", any + "; did you mean centre=?"},
                        {{"gain= 6"}, "gain= 6", gain},
                        {{"gain=1e3"}, "gain=1e3", gain},
                        {{"gain=++6"}, "gain=++6", gain},
                        {{"gain=+-6"}, "gain=+-6", gain},
                        {{"gain=-+6"}, "gain=-+6", gain},
                        {{"gain=+"}, "gain=+", gain},
                        {{"gain=-nan"}, "gain=-nan", gain},
                        {{"gain=nan"}, "gain=nan", gain},
                        {{"gain=inf"}, "gain=inf", gain},
                        {{"centre=518 MHz"}, "centre=518 MHz", centre},
                        {{"centre="}, "centre=", centre},
                        {{"filter="}, "filter=", "filter=NAME"},
                        {{"power=yes"}, "power=yes", power},
                        {{"power=ON"}, "power=ON", power},
                        {{"power="}, "power=", power},
                        {{"Gain=6"}, "Gain=6", any},
                        {{"=6"}, "=6", any},
                        {{"zoom=2"}, "zoom=2", any},
                        {{"gain=6", "gain=7"}, "gain=7", "each setting once"},
                        {{"label=a", "power=on", "label=a"}, "label=a", "each setting once"}}) {
    const auto& the_word = word;
    CAPTURE(the_word);
    const auto patch = parse_settings(words);
    REQUIRE_FALSE(patch);
    CHECK(patch.error() == sentence(word, allowed));
  }
}

TEST_CASE("amounts for names become an object, and one that cannot be used is told") {
  const auto amounts = [](const std::string& list) {
    return parse_amounts("--louder", list, "CARRIER=DB, such as ear-1=6");
  };
  CHECK(*amounts("ear-1=6") == Json{{"ear-1", 6.0}});
  CHECK(*amounts("ear-1=+6,a=b=-1.5") == Json{{"ear-1", 6.0}, {"a=b", -1.5}});
  for (const char* list : {"ear-1", "ear-1=", "=6", "ear-1=loud", "", "ear-1=1e3"}) {
    CAPTURE(list);
    const auto bad = amounts(list);
    REQUIRE_FALSE(bad);
    CHECK(bad.error() == "--louder \"" + std::string{list} +
                             "\" cannot be used; allowed is CARRIER=DB, such as ear-1=6");
  }
  CHECK(amounts("a=1,a=2").error() == "--louder has \"a\" twice");
  CHECK(parse_names("left,right") == Words{"left", "right"});
  CHECK(parse_names("left") == Words{"left"});
}

TEST_CASE("a time in words is a number of seconds") {
  CHECK(parse_duration("90s").value() == 90);
  CHECK(parse_duration("30m").value() == 1800);
  CHECK(parse_duration("2h").value() == 7200);
  CHECK(parse_duration("0s").value() == 0);
  for (const std::string wrong : {"", "30", "m", "30 m", "1.5h", "-5m", "+5m", "1d", "30min",
                                  "1h30m", "99999999999999999999s", "1000001h"}) {
    CAPTURE(wrong);
    const auto duration = parse_duration(wrong);
    REQUIRE_FALSE(duration);
    CHECK(duration.error() ==
          "\"" + wrong + "\" cannot be used; allowed is a time such as 90s, 30m or 2h");
  }
}
