// SPDX-License-Identifier: Apache-2.0
// Segments written in full, and as differences from an earlier one.

#include <algorithm>

#include "config/carrier_section.hpp"
#include "config/lane_section.hpp"
#include "tests/unit/config/files.hpp"

namespace catwalk::config {
namespace {

plan::RackPlan plan_of(const Files& files) {
  const Loaded loaded = load_text(files, "rack.json");
  REQUIRE(texts_of(loaded.problems) == std::vector<std::string>{});
  return loaded.rack->plan;
}

// The base files, but with other members in the segment that is written as differences.
Files with_race(const std::string& members) {
  Files files = base_files();
  std::string& show = files.at("show.json");
  const std::string begin = "\"name\": \"race\", ";
  const std::size_t at = show.find(begin) + begin.size();
  const std::size_t end = show.find("\n    }\n  ],\n");
  REQUIRE(end != std::string::npos);
  show.replace(at, end - at, members);
  return files;
}

plan::Segment race_of(const std::string& members) {
  return *plan_of(with_race(members)).find(plan::SegmentName{"race"});
}

template <class Item>
std::vector<std::string> names_of(const std::vector<Item>& items) {
  std::vector<std::string> names;
  for (const Item& item : items) names.push_back(item.name.text);
  return names;
}

using Names = std::vector<std::string>;

TEST_CASE("differences make the same segment as one that is written in full") {
  const plan::Segment in_full = race_of(R"("title": "The race", "if_a_node_fails": "go on",
      "lanes": [
        {"name": "mics", "purpose": "receive", "low_mhz": 510, "high_mhz": 550},
        {"name": "ears", "purpose": "transmit", "low_mhz": 642, "high_mhz": 662}
      ],
      "carriers": [
        {
          "name": "speech-1",
          "use": "receive",
          "frequency_mhz": 518.025,
          "bandwidth_khz": 200,
          "receivers": ["speech"], "nearest_m": 4, "farthest_m": 60, "extra_loss_db": 15
        },
        {"name": "ear-2", "use": "transmit", "frequency_mhz": 655, "bandwidth_khz": 180, "erp_dbm": 14, "early": true, "late": true}
      ],
      "settings": {
        "mast": {"gain_db": 8, "filter": "slide-40", "centre_mhz": 526.025},
        "crane": {"power": false}
      })");
  CHECK(*plan_of(base_files()).find(plan::SegmentName{"race"}) == in_full);
}

TEST_CASE("a carrier is on around a switch only if it says so") {
  const plan::RackPlan plan = plan_of(base_files());
  const plan::Carrier& speech = plan.segments.at(0).carriers.at(0);
  CHECK_FALSE(speech.early);
  CHECK_FALSE(speech.late);
  const plan::Carrier& ear = plan.segments.at(1).carriers.at(1);
  CHECK(ear.early);
  CHECK(ear.late);
}

TEST_CASE("a carrier may say who holds it, up to 48 bytes, and a later segment says it anew") {
  Files files = base_files();
  edit(files, "show.json", "\"extra_loss_db\": 15",
       "\"held_by\": \"the harbour master’s choir, first row, left\"");
  edit(files, "show.json", "\"early\": true", "\"held_by\": \"Ada\", \"early\": true");
  const plan::RackPlan plan = plan_of(files);
  CHECK(plan.segments.at(0).carriers.at(0).held_by ==
        "the harbour master’s choir, first row, left");
  CHECK(plan.segments.at(0).find({"ear-1"})->held_by.empty());
  CHECK(plan.segments.at(1).find({"speech-1"})->held_by ==
        "the harbour master’s choir, first row, left");
  CHECK(plan.segments.at(1).find({"ear-2"})->held_by == "Ada");
}

TEST_CASE("nothing is different but what is said to be") {
  const plan::RackPlan plan = plan_of(with_race(R"("title": "Again", "differs_from": "start")"));
  plan::Segment expected = plan.segments.at(0);
  expected.name = {"race"};
  expected.title = "Again";
  CHECK(plan.segments.at(1) == expected);
}

TEST_CASE("what a node's failure means is never taken over") {
  Files files = base_files();
  edit(files, "show.json", "\n    }\n  ],\n",
       "\n    },\n    {\"name\": \"end\", \"title\": \"The end\", \"differs_from\": \"race\"}\n  "
       "],\n");
  const plan::RackPlan plan = plan_of(files);
  CHECK(plan.segments.at(0).if_a_node_fails == plan::IfNodeFails::roll_back);
  CHECK(plan.segments.at(1).if_a_node_fails == plan::IfNodeFails::go_on);
  CHECK(plan.segments.at(2).if_a_node_fails == plan::IfNodeFails::roll_back);
}

TEST_CASE("differences count from what the earlier segment has come to by differences of its own") {
  Files files = base_files();
  edit(files, "show.json", "\n    }\n  ],\n",
       R"(
    },
    {"name": "end", "title": "The end", "differs_from": "race", "without": {"carriers": ["ear-2"]},
     "settings": {"mast": {"label": "home"}}}
  ],
)");
  const plan::RackPlan plan = plan_of(files);
  const plan::Segment& end = plan.segments.at(2);
  CHECK(names_of(end.lanes) == Names{"mics", "ears"});
  CHECK(end.lanes == plan.segments.at(1).lanes);
  CHECK(names_of(end.carriers) == Names{"speech-1"});
  const plan::SettingsPatch& mast = end.settings.at({"mast"});
  CHECK(mast.gain == rf::Gain::decibels(8));
  CHECK(mast.centre == rf::Frequency::kilohertz(526'025));
  CHECK(mast.label == "home");
  CHECK(end.settings.at({"crane"}).power == false);
}

TEST_CASE("what is replaced keeps its place, what is new comes at the end") {
  const plan::Segment race = race_of(R"("title": "The race", "differs_from": "start",
      "lanes": [
        {"name": "choir", "purpose": "receive", "low_mhz": 570, "high_mhz": 600},
        {"name": "mics", "purpose": "receive", "low_mhz": 500, "high_mhz": 540}
      ])");
  CHECK(names_of(race.lanes) == Names{"mics", "tv", "ears", "choir"});
  CHECK(race.lanes.at(0).band.low == rf::Frequency::megahertz(500));
}

TEST_CASE("a carrier that is replaced keeps nothing of what it was") {
  const plan::Segment race = race_of(R"("title": "The race", "differs_from": "start",
      "carriers": [{"name": "ear-1", "use": "transmit", "frequency_mhz": 650, "bandwidth_khz": 200}])");
  const plan::Carrier& ear = race.carriers.at(1);
  CHECK(ear.frequency == rf::Frequency::megahertz(650));
  CHECK_FALSE(ear.erp);
  CHECK(ear.isolations.empty());
}

TEST_CASE("two lanes may change places, since each is compared with what the others have become") {
  const plan::Segment race = race_of(R"("title": "The race", "differs_from": "start",
      "without": {"carriers": ["speech-1", "ear-1"]},
      "lanes": [
        {"name": "mics", "purpose": "receive", "low_mhz": 640, "high_mhz": 660},
        {"name": "ears", "purpose": "transmit", "low_mhz": 510, "high_mhz": 550}
      ])");
  CHECK(race.lanes.at(0).band.low == rf::Frequency::megahertz(640));
  CHECK(race.lanes.at(2).band.low == rf::Frequency::megahertz(510));
}

TEST_CASE("settings are merged member by member, and a fixed filter takes no centre over") {
  const plan::Segment race = race_of(R"("title": "The race", "differs_from": "start",
      "settings": {"mast": {"filter": "wide", "label": "low"}, "buoy": {"gain_db": 0}})");
  const plan::SettingsPatch& mast = race.settings.at({"mast"});
  CHECK(mast.filter == "wide");
  CHECK_FALSE(mast.centre);
  CHECK(mast.gain == rf::Gain::decibels(6));
  CHECK(mast.label == "low");
  const plan::SettingsPatch& buoy = race.settings.at({"buoy"});
  CHECK(buoy.filter == "fixed-606-630");
  CHECK(buoy.gain == rf::Gain::decibels(0));
  CHECK(buoy.label == "band");
}

TEST_CASE("settings that go away and are given again are all that the node has") {
  const plan::Segment race = race_of(R"("title": "The race", "differs_from": "start",
      "without": {"settings": ["mast"]}, "settings": {"mast": {"gain_db": 2}})");
  CHECK(race.settings.at({"mast"}) == plan::SettingsPatch{.gain = rf::Gain::decibels(2)});
}

// A second sliding filter, coarser and narrower in its range than the first.
Files with_second_filter(const std::string& lowest_mhz, const std::string& mast) {
  Files files = with_race(R"("title": "The race", "differs_from": "start",
      "settings": {"mast": )" +
                          mast + "}");
  edit(files, "tern.json", "\"filters\": [",
       R"("filters": [{"name": "slide-24", "skirt_khz": 500, "sliding": {"width_mhz": 24,
          "lowest_centre_mhz": )" +
           lowest_mhz + R"(, "highest_centre_mhz": 740, "step_khz": 1000}},)");
  return files;
}

TEST_CASE("another sliding filter takes the centre over, if it can be tuned there") {
  Files files = with_second_filter("430", R"({"filter": "slide-24"})");
  edit(files, "show.json", "526.025", "526");
  const plan::RackPlan plan = plan_of(files);
  const plan::SettingsPatch& mast = plan.segments.at(1).settings.at({"mast"});
  CHECK(mast.filter == "slide-24");
  CHECK(mast.centre == rf::Frequency::megahertz(526));

  CHECK(texts_of(load_text(with_second_filter("530", R"({"filter": "slide-24"})"), "rack.json")
                     .problems) ==
        std::vector<std::string>{
            "show.json:29: /segments/1/settings/mast/filter: \"slide-24\" cannot be tuned to the "
            "526.025 MHz from before; allowed: 530 to 740 MHz in steps of 1000 kHz"});
  CHECK(
      texts_of(load_text(with_second_filter("430", R"({"filter": "slide-24"})"), "rack.json")
                   .problems) ==
      std::vector<std::string>{
          "show.json:29: /segments/1/settings/mast/filter: \"slide-24\" has no tuning step at the "
          "526.025 MHz from before; allowed: 430 to 740 MHz in steps of 1000 kHz"});
  CHECK(load_text(with_second_filter("530", R"({"filter": "slide-24", "centre_mhz": 531})"),
                  "rack.json")
            .rack);
}

std::string lanes_of(std::size_t first, std::size_t count) {
  std::string text;
  for (std::size_t i = first; i < first + count; ++i)
    text += (i > first ? ", " : "") + std::string{"{\"name\": \"lane-"} + std::to_string(i) +
            R"(", "purpose": "receive", "low_mhz": 480, "high_mhz": 500})";
  return text;
}

TEST_CASE("a segment has no more lanes by differences than it may have in full") {
  const auto problems = [](std::size_t count) {
    const Files files = with_race(R"("title": "The race", "differs_from": "start", "lanes": [)" +
                                  lanes_of(0, count) + "]");
    return texts_of(load_text(files, "rack.json").problems);
  };
  CHECK(problems(most_lanes - 3).empty());
  CHECK(problems(most_lanes - 2) ==
        std::vector<std::string>{"show.json:28: /segments/1/lanes: makes 129 with those of "
                                 "\"start\"; allowed: at most 128 in a segment"});
}

TEST_CASE("a small file cannot ask for a huge show by repeating itself") {
  Files files = base_files();
  std::string nodes;
  std::string isolations;
  for (int i = 100; i < 140; ++i) {
    nodes += "{\"name\": \"n-" + std::to_string(i) + "\", \"uid\": \"7a10-00000" +
             std::to_string(i) + "\", \"line\": \"bench\", \"address\": " + std::to_string(i) +
             ", \"datasheet\": \"tern\"}, ";
    isolations += (i > 100 ? ", \"n-" : "\"n-") + std::to_string(i) + "\": 60";
  }
  edit(files, "rack.json", "\"nodes\": [\n", "\"nodes\": [" + nodes + "\n");
  std::string carriers;
  for (std::size_t i = 0; i < most_carriers; ++i)
    carriers += (i > 0 ? ", " : "") + std::string{"{\"name\": \"c-"} + std::to_string(i) +
                R"(", "use": "transmit", "frequency_mhz": 650, "bandwidth_khz": 200, )" +
                "\"isolation_db\": {" + isolations + "}}";
  std::string segments =
      R"({"name": "s-0", "title": "All", "lanes": [], "settings": {}, "carriers": [)" + carriers +
      "]}";
  for (int i = 1; i < 64; ++i)
    segments +=
        ",\n{\"name\": \"s-" + std::to_string(i) + R"(", "title": "More", "differs_from": "s-0"})";
  // 512 carriers with 40 isolations each, in 64 segments: 1.3 million.
  files["show.json"] = "{\"name\": \"regatta\", \"segments\": [" + segments + "]}";
  CHECK(texts_of(load_text(files, "rack.json").problems) ==
        std::vector<std::string>{
            "show.json:48: /segments/47/differs_from: \"s-0\" repeats too much; allowed: at most "
            "1000000 lanes, carriers, settings and what carriers list, in all segments"});
}

}  // namespace
}  // namespace catwalk::config
