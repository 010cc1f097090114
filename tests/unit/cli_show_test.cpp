// SPDX-License-Identifier: Apache-2.0
// The rack as people read it: what is live must look so, and nothing else may.
#include "daemon/cli/show.hpp"
#include "daemon/cli/show_live.hpp"

#include <doctest/doctest.h>

#include <filesystem>

using namespace catwalk::cli;

namespace {

Json condition(const std::string& level, const std::string& word) {
  return {{"level", level}, {"kind", "some"}, {"word", word}};
}

// What is said of it: that it is as wanted, or what is wrong with its link.
Json seen_node(const std::string& link, const std::string& quality, double age_ms) {
  const auto said =
      link == "answering" ? condition("calm", "as wanted") : condition("fault", spaced(link));
  return {{"name", "left"},
          {"line", "bus"},
          {"hangs", "truss"},
          {"link", link},
          {"agreement", "agreed"},
          {"findings", Json::array()},
          {"conditions", {said}},
          {"seen",
           {{"settings",
             {{"gain_db", 4.0},
              {"filter", "slide"},
              {"centre_mhz", 518.0},
              {"power", true},
              {"label", ""}}},
            {"telemetry", {{"supply_v", 11.4}, {"powered", true}}},
            {"passive", false},
            {"passband_mhz", {498.0, 538.0}},
            {"age_ms", age_ms},
            {"quality", quality}}}};
}

// The second line of the table of one node, its cells one space apart.
std::string row(const Json& node) {
  const auto table = show_nodes(Json::array({node}), false);
  auto line = table.substr(table.find('\n') + 1);
  line.pop_back();
  for (std::size_t at = 0; (at = line.find("  ", at)) != std::string::npos;) line.erase(at, 1);
  return line;
}

Json alarm(int id, bool active, const std::string& sentence) {
  return {{"id", id},
          {"active", active},
          {"acknowledged", false},
          {"sentence", sentence},
          {"raised_at", "2026-08-14T20:00:00Z"}};
}

}  // namespace

TEST_CASE("a gain and a frequency read the same in tables and in sentences") {
  CHECK(gain_words(9) == "+9 dB");
  CHECK(gain_words(0) == "+0 dB");
  CHECK(gain_words(-1.5) == "-1.5 dB");
  CHECK(gain_words(2.25) == "+2.25 dB");
  CHECK(gain_words(-0.001) == "+0 dB");
  CHECK(megahertz_words(518) == "518.000 MHz");
  CHECK(megahertz_words(518.0125) == "518.0125 MHz");
  CHECK(megahertz_words(518.000001) == "518.000001 MHz");
  CHECK(age_words(28'900) == "28 s");
  CHECK(age_words(121'000) == "2 min");
  CHECK(age_words(3 * 3600e3) == "3 h");
}

TEST_CASE(
    "what is live stands plain; what may have changed since stands in brackets, with its age") {
  CHECK(row(seen_node("answering", "good", 100)) ==
        "left as wanted +4 dB slide 498.000 to 538.000 MHz 11.4 V bus truss");
  CHECK(row(seen_node("silent", "stale", 28'200)) ==
        "left silent, read 28 s ago (+4 dB) (slide) (498.000 to 538.000 MHz) (11.4 V) bus truss");
  CHECK(row(seen_node("line-down", "stale", 300e3)) ==
        "left line down, read 5 min ago (+4 dB) (slide) (498.000 to 538.000 MHz) (11.4 V) bus "
        "truss");
  CHECK(row(seen_node("answering", "stale", 12e3)) ==
        "left as wanted, stale, read 12 s ago (+4 dB) (slide) (498.000 to 538.000 MHz) (11.4 V) "
        "bus truss");
}

TEST_CASE("a passive antenna has no gain and no filter, whatever is set") {
  auto node = seen_node("answering", "good", 100);
  node["seen"]["passive"] = true;
  node["seen"].erase("passband_mhz");
  node["seen"]["telemetry"] = {{"supply_v", 0.2}, {"powered", false}};
  node["conditions"] = {condition("fault", "no supply: passive")};
  CHECK(row(node) == "left no supply: passive - - everything 0.2 V bus truss");
}

TEST_CASE("all that the daemon says of a node stands in its line, and makes it bold unless calm") {
  auto node = seen_node("answering", "good", 100);
  CHECK(show_nodes(Json::array({node}), true).find("\x1b[") == std::string::npos);
  node["conditions"] = {condition("fault", "off plan"), condition("caution", "2 cautions")};
  CHECK(row(node).starts_with("left off plan, 2 cautions +4 dB"));
  CHECK(show_nodes(Json::array({node}), true).find("\x1b[") != std::string::npos);
}

TEST_CASE("a node that was never read shows nothing, and says why") {
  Json node = {{"name", "left"},    {"line", "bus"},          {"hangs", "truss"},
               {"link", "unknown"}, {"agreement", "unknown"}, {"findings", Json::array()}};
  node["conditions"] = {condition("caution", "not read yet")};
  CHECK(row(node) == "left not read yet - - - - bus truss");
}

TEST_CASE("the feed is told line by line with the time, and only what is new or changed") {
  Json known = Json::object();
  const Json first = {{"type", "snapshot"},
                      {"nodes", {seen_node("answering", "good", 100)}},
                      {"alarms", {alarm(1, true, "left was changed by hand.")}}};
  CHECK(show_live({{"type", "hello"}}, "20:00:00", known).empty());
  CHECK(show_live(first, "20:00:01", known).starts_with("20:00:01  as it is now\nNODE "));
  // A reading alone is no news.
  CHECK(show_live({{"type", "change"}, {"nodes", {seen_node("answering", "good", 900)}}},
                  "20:00:02", known)
            .empty());
  CHECK(show_live({{"type", "change"},
                   {"nodes", {seen_node("silent", "stale", 9000)}},
                   {"alarms",
                    {alarm(1, true, "left was changed by hand."),
                     alarm(2, true, "left does not answer.")}}},
                  "20:00:03", known) ==
        "20:00:03  left: silent; seen gain +4 dB, slide at 518.000 MHz, power on\n"
        "20:00:03  alarm 2: left does not answer.\n");
  CHECK(show_live({{"type", "change"}, {"alarms", {alarm(2, false, "left does not answer.")}}},
                  "20:00:04", known) ==
        "20:00:04  alarm 2, returned: left does not answer.\n"
        "20:00:04  over: alarm 1: left was changed by hand.\n");
  // A fresh snapshot for one that fell behind: again only what is new.
  CHECK(show_live({{"type", "snapshot"},
                   {"nodes", {seen_node("answering", "good", 100)}},
                   {"alarms", {alarm(2, false, "left does not answer.")}}},
                  "20:00:05", known) ==
        "20:00:05  left: as wanted; seen gain +4 dB, slide at 518.000 MHz, power on\n");
}

TEST_CASE("whoever watches is told who ticks what on a crew sheet, and what is ticked no longer") {
  const auto tick = [](const char* row) {
    return Json{{"from", "speeches"}, {"to", "finale"}, {"row", row}, {"who", "bo"}};
  };
  Json known = {{"rack", "as it was"}};
  CHECK(show_live({{"type", "change"}, {"ticks", {tick("voice-1.off")}}}, "20:00:00", known) ==
        "20:00:00  crew sheet speeches → finale: voice-1.off ticked by bo\n");
  CHECK(show_live({{"type", "change"}, {"ticks", {tick("voice-1.off"), tick("ears-1.off")}}},
                  "20:00:01",
                  known) == "20:00:01  crew sheet speeches → finale: ears-1.off ticked by bo\n");
  CHECK(show_live({{"type", "change"}, {"ticks", {tick("ears-1.off")}}}, "20:00:02", known) ==
        "20:00:02  over: crew sheet speeches → finale: voice-1.off ticked by bo\n");
}

TEST_CASE("findings stand under what they are about: what is in force") {
  auto node = seen_node("answering", "good", 100);
  node["uid"] = "0000-00000001";
  node["type"] = "slider";
  node["on_return"] = "hold";
  node["seen"]["telemetry"] = {{"supply_v", 11.4},
                               {"supply_ma", 100},
                               {"temperature_c", 30.0},
                               {"detector_dbm", -40.0},
                               {"powered", true}};
  node["findings"] = {{{"severity", "refuse"}, {"rule", "gain-limit"}, {"sentence", "Too much."}}};
  node["conditions"] = {condition("fault", "off plan")};
  const auto shown = show_node(node);
  CHECK(shown.find("  findings on what is in force:\n    refuse  gain-limit: Too much.\n") !=
        std::string::npos);
  CHECK(shown.find("  state    off plan\n") != std::string::npos);
}

TEST_CASE("a shelved alarm says so, with its reason and its end, and draws no attention") {
  auto shelved = alarm(1, true, "left does not answer.");
  shelved["shelved"] = {
      {"by", "ana"}, {"why", "the mast moves"}, {"until", "2026-08-14T20:30:00.25Z"}};
  const auto both = Json::array({shelved, alarm(2, true, "right does not answer.")});
  CHECK(show_alarms(both, false) ==
        "NO.  STATE            SINCE                 WHAT\n"
        "  1  active, shelved  2026-08-14 20:00:00Z  left does not answer. (shelved by ana until "
        "2026-08-14 20:30:00Z: the mast moves)\n"
        "  2  active           2026-08-14 20:00:00Z  right does not answer.\n");
  // Only the other one is bold.
  const auto bold = show_alarms(both, true);
  CHECK(bold.find("left does not answer") < bold.find("\x1b["));
  Json known = {{"rack", ""}};
  CHECK(show_live({{"type", "change"}, {"alarms", {shelved}}}, "20:00:01", known) ==
        "20:00:01  alarm 1: left does not answer. (shelved by ana until 2026-08-14 20:30:00Z: the "
        "mast moves)\n");
}

TEST_CASE("active alarms stand first, each with those behind it that stand under it") {
  auto silent = alarm(3, true, "left does not answer.");
  silent["cause"] = 7;
  silent["under"] = 7;
  const auto all = Json::array(
      {alarm(1, false, "right was passive."), silent, alarm(7, true, "Line bus is down.")});
  const auto shown = show_alarms(all, false);
  CHECK(shown.find("Line bus is down.") < shown.find("  from no. 7: left does not answer."));
  CHECK(shown.find("from no. 7") < shown.find("right was passive."));
  // Its cause was seen before it came: it stands for itself.
  silent.erase("under");
  CHECK(show_alarms(Json::array({silent, alarm(7, true, "Line bus is down.")}), false)
            .find("from no.") == std::string::npos);
}

TEST_CASE("the rack says who has which nodes, and when the other one was heard last") {
  Json rack = {{"name", "small"}, {"segment", "speeches"}, {"region", "unknown"},
               {"epoch", 9},      {"control", "ours"},     {"locked", false}};
  CHECK(show_rack(rack).find("  control  ours\n") != std::string::npos);
  rack["not_ours"] = {"left", "spare"};
  rack["other_heard"] = "2026-08-14T20:15:00.5Z";
  CHECK(show_rack(rack).find("  control  ours, but for left, spare: another controller has them. "
                             "It was heard last at 2026-08-14 20:15:00Z.\n") != std::string::npos);
  rack.erase("not_ours");
  rack["control"] = "watching";
  rack["watching_because"] = "Another controller (epoch 7) speaks to left.";
  CHECK(show_rack(rack).find("only watching: Another controller (epoch 7) speaks to left. It was "
                             "heard last at 2026-08-14 20:15:00Z. Take over to move anything.") !=
        std::string::npos);
}

TEST_CASE("times are told by the clock of the show, where this machine knows it") {
  CHECK(to_the_second("2026-08-14T20:15:00.123456Z") == "2026-08-14 20:15:00Z");
  if (std::filesystem::exists("/usr/share/zoneinfo/Europe/Helsinki")) {
    // Summer time of the European Union: three hours ahead (Directive 2000/84/EC); in winter two.
    tell_times_in("Europe/Helsinki");
    CHECK(to_the_second("2026-08-14T20:15:00.123456Z") == "2026-08-14 23:15:00 EEST");
    CHECK(to_the_second("2026-12-01T23:00:00Z") == "2026-12-02 01:00:00 EET");
  }
  // What is no zone is not looked for elsewhere.
  tell_times_in("../../etc/passwd");
  CHECK(to_the_second("2026-08-14T20:15:00Z") == "2026-08-14 20:15:00 UTC");
  tell_times_in("UTC");
  CHECK(to_the_second("2026-08-14T20:15:00Z") == "2026-08-14 20:15:00Z");
}
