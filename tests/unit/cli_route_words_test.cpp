// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/route_words.hpp"
#include "daemon/cli/show_matrix.hpp"

#include <doctest/doctest.h>

using namespace catwalk::cli;
using Json = nlohmann::ordered_json;
using Words = std::vector<std::string>;

TEST_CASE("routes in words become the patch of the API") {
  const auto patch =
      parse_routes({"output-1=3+7", "output-2=none", "output-32=32", "trim-3=-4.5", "trim-4=0",
                    "supply-3=12", "supply-4=off", "supply-5=9.5", "label-3=quay 1=a", "label=A"});
  REQUIRE(patch);
  CHECK(*patch == Json::parse(R"({"routes":{"1":[3,7],"2":[],"32":[32]},
      "trims_db":{"3":-4.5,"4":0.0},"supplies_mv":{"3":12000,"4":0,"5":9500},
      "labels":{"3":"quay 1=a"},"label":"A"})"));
  CHECK(parse_routes({"label="})->dump() == R"({"label":""})");
  CHECK(parse_routes({"label-1="})->dump() == R"({"labels":{"1":""}})");
  CHECK(parse_routes({"output-1=7+3"})->dump() == R"({"routes":{"1":[7,3]}})");
  CHECK(parse_routes({"supply-1=0"})->dump() == R"({"supplies_mv":{"1":0}})");
  CHECK(parse_routes({"supply-1=60"})->dump() == R"({"supplies_mv":{"1":60000}})");
  CHECK(parse_routes({})->dump() == "{}");
}

TEST_CASE("a word for routes that cannot be used is told with what is allowed") {
  const std::string output =
      "output-N=INPUT[+INPUT …] or output-N=none, such as output-1=3+7; N and INPUT from 1 to 32, "
      "each input once";
  const std::string trim = "trim-N=DB, such as trim-3=-4.5; N from 1 to 32";
  const std::string supply =
      "supply-N=VOLTS from 0 to 60 or supply-N=off, such as supply-3=12; N from 1 to 32";
  const std::string label = "label-N=TEXT, or label=TEXT for the unit; N from 1 to 32";
  const std::string any = "output-N=, trim-N=, supply-N=, label-N= or label=, N from 1";
  struct Row {
    Words words;
    std::string word, allowed;
  };
  for (const auto& [words, word, allowed] :
       std::vector<Row>{{{"output-1"}, "output-1", any},
                        {{"3"}, "3", any},
                        {{"=3"}, "=3", any},
                        {{"gain=3"}, "gain=3", any},
                        {{"Output-1=3"}, "Output-1=3", any},
                        {{"outputs-1=3"}, "outputs-1=3", any},
                        {{"output=3"}, "output=3", output},
                        {{"output-=3"}, "output-=3", output},
                        {{"output-0=3"}, "output-0=3", output},
                        {{"output-33=3"}, "output-33=3", output},
                        {{"output-one=3"}, "output-one=3", output},
                        {{"output-1-2=3"}, "output-1-2=3", output},
                        {{"output--1=3"}, "output--1=3", output},
                        {{"output-1="}, "output-1=", output},
                        {{"output-1=0"}, "output-1=0", output},
                        {{"output-1=33"}, "output-1=33", output},
                        {{"output-1=-3"}, "output-1=-3", output},
                        {{"output-1=3+"}, "output-1=3+", output},
                        {{"output-1=+3"}, "output-1=+3", output},
                        {{"output-1=3,7"}, "output-1=3,7", output},
                        {{"output-1=3+3"}, "output-1=3+3", output},
                        {{"output-1=3+none"}, "output-1=3+none", output},
                        {{"output-1=quay"}, "output-1=quay", output},
                        {{"output-1=99999999999"}, "output-1=99999999999", output},
                        {{"trim-1="}, "trim-1=", trim},
                        {{"trim-1=low"}, "trim-1=low", trim},
                        {{"trim-1=-3dB"}, "trim-1=-3dB", trim},
                        {{"trim-1=-4,5"}, "trim-1=-4,5", trim},
                        {{"trim-1=nan"}, "trim-1=nan", trim},
                        {{"trim-1=1e1"}, "trim-1=1e1", trim},
                        {{"trim=-3"}, "trim=-3", trim},
                        {{"supply-1=on"}, "supply-1=on", supply},
                        {{"supply-1=-12"}, "supply-1=-12", supply},
                        {{"supply-1=60.001"}, "supply-1=60.001", supply},
                        {{"supply-1=12000"}, "supply-1=12000", supply},
                        {{"supply-1=0.0005"}, "supply-1=0.0005", supply},
                        {{"supply-1=12V"}, "supply-1=12V", supply},
                        {{"supply-1=inf"}, "supply-1=inf", supply},
                        {{"label-0=x"}, "label-0=x", label},
                        {{"label-x=x"}, "label-x=x", label},
                        {{"label-=x"}, "label-=x", label},
                        {{"output-1=3", "output-1=4"}, "output-1=4", "output-1= once"},
                        {{"label-2=a", "label-2=a"}, "label-2=a", "label-2= once"},
                        {{"label=a", "label=b"}, "label=b", "label= once"}}) {
    const auto& the_word = word;
    CAPTURE(the_word);
    const auto patch = parse_routes(words);
    REQUIRE_FALSE(patch);
    CHECK(patch.error() == '"' + word + "\" cannot be used; allowed is " + allowed);
  }
}

namespace {

const char* const shore = R"({"name":"shore","type":"summer","stands":"rack 1","set_from_here":true,
  "link":"answering","agreement":"agreed","conditions":[{"level":"calm","kind":"some","word":"as wanted"}],
  "datasheet":{"title":"S","inputs":2,"outputs":2,"most_summed":2,"measures_current":true,"measures_level":true},
  "inputs":[{"input":1,"antenna":"left","measured":{"current_ma":85,"limited":true,"level_dbm":-42.13}},
            {"input":2}],
  "outputs":[{"output":1,"receiver":"vocals","branch":2,"hears":["left"]},{"output":2,"hears":[]}],
  "wanted":{"label":"","routes":{"1":[1,2],"2":[]},"labels":{"1":"","2":""},"revision":3},
  "seen":{"settings":{"label":"","routes":{"1":[1,2],"2":[]},"trims_db":{"1":0,"2":-4.5},
                      "supplies_mv":{"1":12000,"2":0},"labels":{"1":"bow","2":""}}},
  "findings":[]})";

// Runs of spaces as one, for lines that are told apart by what stands in them.
std::string squeezed(std::string text) {
  for (std::size_t at = 0; (at = text.find("  ", at)) != std::string::npos;) text.erase(at, 1);
  for (std::size_t at = 0; (at = text.find(" \n", at)) != std::string::npos;) text.erase(at, 1);
  return text;
}

}  // namespace

TEST_CASE("a matrix is shown input by input and output by output") {
  CHECK(squeezed(show_matrix(Json::parse(shore), false)) ==
        "shore, summer, rack 1\n"
        " state as wanted\n"
        " wanted revision 3\n"
        "\n"
        "INPUT ANTENNA LABEL SUPPLY CURRENT LEVEL TRIM TO OUTPUTS\n"
        " 1 left bow 12 V 85 mA, at its limit -42.1 dBm +0 dB 1\n"
        " 2 - off - - -4.5 dB 1\n"
        "\n"
        "OUTPUT TAKES HEARS RECEIVER BRANCH\n"
        " 1 1+2 left vocals 2\n"
        " 2 nothing - - -\n");
}

TEST_CASE("an output that ends at another matrix is shown where it ends, at both") {
  auto first = Json::parse(shore);
  first["outputs"][1]["ends_at"] = {{"matrix", "foh"}, {"input", 7}};
  CHECK(squeezed(show_matrix(first, false)).find(" 2 nothing - foh, input 7 -\n") !=
        std::string::npos);
  auto second = Json::parse(shore);
  second["inputs"][1]["from"] = {{"matrix", "stage"}, {"output", 2}};
  CHECK(squeezed(show_matrix(second, false)).find(" 2 stage, output 2 off - - -4.5 dB 1\n") !=
        std::string::npos);
}

TEST_CASE("one that is set by hand, or was never read, is shown as far as it is known") {
  auto van = Json::parse(shore);
  for (const char* gone : {"seen", "wanted", "findings", "link", "agreement", "conditions"})
    van.erase(gone);
  van["set_from_here"] = false;
  van["set_by_hand"] = Json::parse(R"({"label":"","routes":{"1":[2]},"labels":{"1":"","2":""}})");
  for (auto& input : van["inputs"]) input.erase("measured");
  const auto by_hand = squeezed(show_matrix(van, false));
  CHECK(by_hand.find(" It is on no line: set by hand, as the rack file says.\n") !=
        std::string::npos);
  CHECK(by_hand.find(" 2 - - - - - 1\n") != std::string::npos);
  auto unread = Json::parse(shore);
  unread.erase("seen");
  CHECK(squeezed(show_matrix(unread, false)).find(" 1 1+2 left vocals 2\n") != std::string::npos);
  unread.erase("wanted");
  CHECK(squeezed(show_matrix(unread, false)).find(" 1 nothing left vocals 2\n") !=
        std::string::npos);
  CHECK(show_matrices(Json::array(), false) == "No matrix stands in this rack.\n");
  CHECK(squeezed(show_matrices(Json::array({van, Json::parse(shore)}), false)) ==
        "MATRIX STATE TYPE INPUTS OUTPUTS STANDS\n"
        "shore set by hand summer 2 2 rack 1\n"
        "shore as wanted summer 2 2 rack 1\n");
}

TEST_CASE("how routes differ is told socket by socket") {
  const auto before = Json::parse(R"({"label":"","routes":{"1":[1],"2":[2]},
      "trims_db":{"1":0,"2":0},"supplies_mv":{"1":12000,"2":0},"labels":{"1":"","2":""}})");
  auto after = before;
  CHECK(route_differences(before, after) == "nothing");
  after["routes"]["1"] = {1, 2};
  after["routes"]["2"] = Json::array();
  after["trims_db"]["2"] = -4.5;
  after["supplies_mv"]["2"] = 9'500;
  after["labels"]["1"] = "bow";
  CHECK(route_differences(before, after) ==
        "output 1: 1 → 1+2, output 2: 2 → nothing, input 2 trim: +0 dB → -4.5 dB, "
        "input 2 supply: off → 9.5 V, input 1 label: \"\" → \"bow\"");
  auto named = before;
  named["label"] = "A";
  CHECK(route_differences(before, named) == "label: \"\" → \"A\"");
}
