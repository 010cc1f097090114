// SPDX-License-Identifier: Apache-2.0
// Level budgets, recommendations and questions, as people read and ask them.
#include <doctest/doctest.h>

#include "daemon/cli/show_physics.hpp"
#include "daemon/cli/what_if_words.hpp"

using namespace catwalk::cli;

namespace {

const Json in_force = {
    {"gain_db", 6.0}, {"filter", "slide"}, {"centre_mhz", 510.5}, {"power", true}, {"label", ""}};

Json chain() {
  return {{"carrier", "voice-1"},
          {"receiver", "vocals"},
          {"frequency_mhz", 510.0},
          {"bandwidth_khz", 200.0},
          {"stages",
           {{{"name", "antenna"},
             {"gain_db", 0.0},
             {"noise_figure_db", 0.0},
             {"gain_so_far_db", 0.0},
             {"noise_figure_so_far_db", 0.0},
             {"noise_dbm", -121.0},
             {"strongest_dbm", -40.0}},
            {{"name", "left"},
             {"gain_db", 6.0},
             {"noise_figure_db", 3.0},
             {"gain_so_far_db", 6.0},
             {"noise_figure_so_far_db", 3.0},
             {"noise_dbm", -112.0},
             {"strongest_dbm", -34.0},
             {"weakest_dbm", -51.0},
             {"all_carriers_dbm", -20.0},
             {"output_ip3_dbm", 38.0},
             {"margin_db", 40.0}}}},
          {"budget",
           {{"chain_gain_db", 6.0},
            {"noise_figure_db", 3.0},
            {"noise_dbm", -118.0},
            {"intermodulation_dbm", -120.0},
            {"interference_dbm", -120.0},
            {"desensitisation_db", 2.1},
            {"interference_costs_db", 2.1},
            {"needed_over", "noise"},
            {"weakest_dbm", -57.0},
            {"needed_dbm", -97.0},
            {"margin_db", 40.0}}},
          {"products",
           {{{"carriers", {"a", "b"}},
             {"order", 3},
             {"at_mhz", 510.0},
             {"level_dbm", -98.04},
             {"share", 1.0}},
            {{"carriers", {"a", "b", "c"}},
             {"order", 3},
             {"at_mhz", 510.0125},
             {"level_dbm", -101.0},
             {"share", 0.344}}}},
          {"spurious_responses", Json::array()},
          {"transmitter_products", Json::array()},
          {"products_of_other_antennas", Json::array()}};
}

// Of left in speeches: this chain, and nothing that is not known or assumed.
std::string shown_alone(const Json& chain) {
  return show_explained({{"node", "left"},
                         {"segment", "speeches"},
                         {"basis", "seen"},
                         {"settings", in_force},
                         {"chains", {chain}},
                         {"unknown", Json::array()},
                         {"assumed", Json::array()}});
}

Json recommendation() {
  return {{"node", "left"},
          {"settings", in_force},
          {"clean", true},
          {"margin_db", 39.04},
          {"worst_carrier", "voice-1"},
          {"limited_by", "transmitter-noise"},
          {"room",
           {{"down_db", 3.0},
            {"up_db", 0.0},
            {"lower_mhz", 1.425},
            {"higher_mhz", 0.025},
            {"up_stops", "chain-gain"}}},
          {"findings", Json::array()},
          {"advice", Json::array()},
          {"segment", "finale"}};
}

Json question(std::vector<std::string> words) {
  words.insert(words.begin(), "what-if");
  const auto arguments = parse_arguments(words);
  REQUIRE(arguments);
  const auto asked = what_if_question(*arguments);
  REQUIRE(asked);
  return *asked;
}

// Lines are broken between words.
std::string unbroken(std::string text) {
  for (auto at = text.find("\n  "); at != std::string::npos; at = text.find("\n  "))
    text.replace(at, 3, " ");
  return text;
}

}  // namespace

TEST_CASE("a level budget is a table of stages, a line for the carrier, and its products") {
  const Json explained = {{"node", "left"},
                          {"segment", "speeches"},
                          {"basis", "seen"},
                          {"settings", in_force},
                          {"chains", {chain()}},
                          {"unknown", {"No e.r.p. of ears-9."}},
                          {"assumed", {"Free space.", "No noise of the town."}}};
  CHECK(show_explained(explained) ==
        R"(left in speeches, as seen: gain +6 dB, slide at 510.500 MHz, power on

voice-1 at 510.000 MHz, 200 kHz wide, through left to vocals
STAGE    GAIN dB  GAIN SO FAR dB  NF SO FAR dB  WEAKEST dBm  STRONGEST dBm  ALL dBm  NOISE dBm  OIP3 dBm  MARGIN dB
antenna      0.0             0.0           0.0            -          -40.0        -     -121.0         -          -
left         6.0             6.0           3.0        -51.0          -34.0    -20.0     -112.0      38.0       40.0
At the antenna, in these 200 kHz: noise -118.0 dBm, interference -120.0 dBm (intermodulation
  -120.0 dBm; costs 2.1 dB), needed over noise -97.0 dBm, weakest -57.0 dBm: margin 40.0 dB
Strongest products on it, at the antenna:
  2 × a - b at 510.000 MHz, -98.0 dBm
  a + b - c at 510.0125 MHz, -101.0 dBm (34 % of it)

Not known:
  No e.r.p. of ears-9.

Assumed:
  Free space.
  No noise of the town.
)");
}

TEST_CASE("noise that comes in by the antenna is told beside that of the chain") {
  auto one = chain();
  one["budget"]["external_noise_db"] = 11.103;
  const auto shown = shown_alone(one);
  CHECK(unbroken(shown).find("noise -118.0 dBm (with 11.1 dB over kT0B from outside)") !=
        std::string::npos);
}

TEST_CASE("what transmitters make in each other is told by both their names") {
  auto made = chain();
  made["transmitter_products"] = {{{"own", "ear-1"},
                                   {"other", "ear-2"},
                                   {"at_mhz", 510.1},
                                   {"level_dbm", -74.94},
                                   {"share", 0.004}}};
  made["budget"]["transmitter_products_dbm"] = -74.94;
  const auto shown = shown_alone(made);
  CHECK(
      shown.find("Made in transmitters and radiated into it, at the antenna:\n"
                 "  2 × ear-1 - ear-2, made in ear-1, at 510.100 MHz, -74.9 dBm (less than 1 % of "
                 "it)\n") != std::string::npos);
  CHECK(shown.find("products of transmitters -74.9 dBm") != std::string::npos);
}

TEST_CASE("products of the fifth order, and of other antennas, are told for what they are") {
  auto made = chain();
  made["products_of_other_antennas"] = {{{"antenna", "pier"},
                                         {"carriers", {"ear-1", "ear-2"}},
                                         {"order", 5},
                                         {"at_mhz", 510.1},
                                         {"level_dbm", -84.94},
                                         {"share", 1.0}}};
  made["budget"]["products_of_other_antennas_dbm"] = -84.94;
  const auto shown = shown_alone(made);
  CHECK(shown.find("Made by amplifiers at other antennas, before the combiner, at this antenna:\n"
                   "  3 × ear-1 - 2 × ear-2, made at pier, at 510.100 MHz, -84.9 dBm\n") !=
        std::string::npos);
  CHECK(unbroken(shown).find("products of other antennas -84.9 dBm") != std::string::npos);
}

TEST_CASE("who stands where the receiver hears beside its channel is told by name") {
  auto one = chain();
  one["budget"]["spurious_response_dbm"] = -112.04;
  one["spurious_responses"] = {
      {{"carrier", "ears-2"}, {"name", "image"}, {"offset_mhz", -42.8}, {"level_dbm", -112.5}},
      {{"carrier", "link-1"}, {"offset_mhz", 21.4}, {"level_dbm", -122.0}}};
  const auto shown = shown_alone(one);
  CHECK(unbroken(shown).find("spurious response -112.0 dBm") != std::string::npos);
  CHECK(
      shown.ends_with("Heard beside the channel, as in it, at the antenna:\n"
                      "  ears-2 at image, -42.800 MHz from the channel: -112.5 dBm\n"
                      "  link-1 at a response, 21.400 MHz from the channel: -122.0 dBm\n"));
}

TEST_CASE("the margin that is wanted stands beside the margin") {
  auto one = chain();
  one["budget"]["margin_wanted_db"] = 19.978;
  const auto shown = shown_alone(one);
  CHECK(unbroken(shown).find("margin 40.0 dB, wanted 20.0 dB\n") != std::string::npos);
}

TEST_CASE("what other antennas bring to a combiner has a column of its own") {
  auto one = chain();
  one["stages"][1]["other_antennas_dbm"] = -23.04;
  const auto shown = shown_alone(one);
  CHECK(shown.find("ALL dBm  OTHER ANTENNAS dBm  NOISE dBm") != std::string::npos);
  CHECK(shown.find("-20.0               -23.0     -112.0") != std::string::npos);
}

TEST_CASE("a node with nothing to hear is told as that") {
  const Json explained = {{"node", "spare"},         {"segment", "speeches"},
                          {"basis", "wanted"},       {"settings", in_force},
                          {"chains", Json::array()}, {"unknown", Json::array()},
                          {"assumed", Json::array()}};
  CHECK(show_explained(explained) ==
        "spare in speeches, as wanted: gain +6 dB, slide at 510.500 MHz, power on\n"
        "No carrier of speeches has to be heard through spare.\n");
  auto none = recommendation();
  none.erase("worst_carrier");
  CHECK(show_recommendation(none, "finale") ==
        "left has no carrier to hear in finale: it stays.\n");
}

TEST_CASE("a recommendation ends with the command that takes it") {
  const auto shown = show_recommendation(recommendation(), "finale");
  CHECK(
      shown ==
      "left in finale: gain +6 dB, slide at 510.500 MHz, power on\n"
      "  margin      39.0 dB, voice-1 is worst off\n"
      "  limited by  transmitter noise\n"
      "  gain may go down by 3 dB (the limits of the node) and up by 0 dB (chain-gain)\n"
      "  centre may go down by 1.425 MHz (the limits of the node) and up by 0.025 MHz (the limits "
      "of the node)\n"
      "To take it:\n"
      "  catwalk set left gain=6 filter=slide centre=510.5 power=on\n");
  // The command is one that the command line understands.
  const auto command = set_command(recommendation());
  std::vector<std::string> words;
  for (std::size_t at = 0; at < command.size();) {
    const auto end = std::min(command.find(' ', at), command.size());
    words.push_back(command.substr(at, end - at));
    at = end + 1;
  }
  REQUIRE(words.front() == "catwalk");
  CHECK(parse_arguments({words.begin() + 1, words.end()}));
  CHECK(show_recommendation(recommendation(), "speeches").find("first: catwalk segment finale\n") !=
        std::string::npos);
}

TEST_CASE("what is not clean is told as that, with advice") {
  auto one = recommendation();
  one["clean"] = false;
  one.erase("room");
  one["findings"] = {{{"severity", "caution"}, {"rule", "chain-gain"}, {"sentence", "Too much."}}};
  one["advice"] = {"Move voice-1 up by 0.2 MHz."};
  const auto shown = show_recommendation(one, "finale");
  CHECK(shown.find("  nothing is without a finding; this has the fewest\n") != std::string::npos);
  CHECK(shown.find("  caution  chain-gain: Too much.\n") != std::string::npos);
  CHECK(shown.find("  Move voice-1 up by 0.2 MHz.\n") != std::string::npos);
  const auto table =
      show_recommendations({{"segment", "finale"}, {"recommendations", {one}}}, "finale");
  CHECK(table ==
        "For finale:\n"
        "NODE   GAIN  FILTER       CENTRE   MARGIN  WORST OFF  LIMITED BY         FINDINGS\n"
        "left  +6 dB  slide   510.500 MHz  39.0 dB  voice-1    transmitter noise  chain-gain\n"
        "left: Move voice-1 up by 0.2 MHz.\n"
        "To take it:\n"
        "  catwalk set left gain=6 filter=slide centre=510.5 power=on\n");
}

TEST_CASE("a question in words is the API's question") {
  CHECK(question({"left"}).dump() == "{}");
  CHECK(question({"left", "gain=9", "--passive", "left,right", "--louder", "ears-1=3,voice-1=-2",
                  "--longer", "left=30", "--carrier", "voice-1", "--segment", "finale"}) ==
        Json{{"settings", {{"gain_db", 9.0}}},
             {"passive", {"left", "right"}},
             {"louder_db", {{"ears-1", 3.0}, {"voice-1", -2.0}}},
             {"longer_m", {{"left", 30.0}}},
             {"carrier", "voice-1"},
             {"segment", "finale"}});
  const auto bad = what_if_question(*parse_arguments({"what-if", "left", "--longer", "left"}));
  REQUIRE_FALSE(bad);
  CHECK(bad.error() ==
        "--longer \"left\" cannot be used; allowed is NODE=M, such as truss-left=30");
}

TEST_CASE("what would be is told beside what is now") {
  const Json supposed = {
      {"node", "left"},
      {"segment", "speeches"},
      {"settings", in_force},
      {"would_be", "needs-waiver"},
      {"findings", {{{"severity", "caution"}, {"rule", "chain-gain"}, {"sentence", "Too much."}}}},
      {"chains", {chain()}},
      {"unknown", Json::array()},
      {"assumed", Json::array()}};
  const auto shown = show_what_if(supposed, [](const Json&) { return std::optional{42.06}; });
  CHECK(
      shown.starts_with("left in speeches, supposed: gain +6 dB, slide at 510.500 MHz, power on\n"
                        "would need a waiver\n  caution  chain-gain: Too much.\n"));
  CHECK(unbroken(shown).find("margin 40.0 dB (now 42.1 dB)\n") != std::string::npos);
}
