// SPDX-License-Identifier: Apache-2.0
// The running order of a show, and what a rack file says of show control and of how fast lines are.

#include "config/zone_database.hpp"
#include "tests/unit/config/files.hpp"

namespace catwalk::config {
namespace {

using namespace std::chrono_literals;
using std::chrono::sys_days;
using std::chrono::year;

// The show without what comes after its segments, but for these members.
Files with_order(const std::string& members) {
  Files files = base_files();
  std::string& show = files.at("show.json");
  const std::size_t at = show.find(",\n  \"running_order\"");
  REQUIRE(at != std::string::npos);
  show.replace(at, std::string::npos, members + "}");
  return files;
}

TEST_CASE("cues are read in order, each with its one trigger") {
  const plan::RunningOrder order = rack_of(base_files()).plan.running_order;
  CHECK(order.zone.name == "Europe/Helsinki");
  CHECK(order.second_trigger == plan::SecondTrigger::queue);
  CHECK(order.after_restart == plan::AfterRestart::finish);
  CHECK(order.arming_lasts == 15min);
  CHECK(order.cues ==
        std::vector<plan::Cue>{
            {.name = {"start"}, .segment = {"start"}, .trigger = plan::ByHand{}},
            {.name = {"race"},
             .segment = {"race"},
             .trigger = plan::AtClock{{.of_day = 14h + 5min, .date = year{2027} / 6 / 19}}},
            {.name = {"recall"},
             .segment = {"start"},
             .trigger = plan::AfterSegment{.segment = {"race"}, .by = 90min}},
            {.name = {"second-race"},
             .segment = {"race"},
             .trigger = plan::ByMessage{"second gun"}}});
}

TEST_CASE("a show without a running order has no cues, and waits for people in everything") {
  CHECK(rack_of(with_order("")).plan.running_order == plan::RunningOrder{});
  CHECK(rack_of(with_order(", \"running_order\": {}")).plan.running_order == plan::RunningOrder{});
}

TEST_CASE("every policy can be chosen") {
  const auto order = [](const std::string& member) {
    return rack_of(with_order(", \"running_order\": {" + member + "}")).plan.running_order;
  };
  CHECK(order(R"("second_trigger": "refuse")").second_trigger == plan::SecondTrigger::refuse);
  CHECK(order(R"("second_trigger": "replace")").second_trigger == plan::SecondTrigger::replace);
  CHECK(order(R"("after_restart": "wait")").after_restart == plan::AfterRestart::wait);
  CHECK(order(R"("after_restart": "roll back")").after_restart == plan::AfterRestart::roll_back);
  CHECK(order(R"("arming_lasts_s": 10)").arming_lasts == 10s);
  CHECK(order(R"("arming_lasts_s": 86400)").arming_lasts == 24h);
}

TEST_CASE("a time of day may have seconds, and comes every day without a date") {
  const auto clock = [](const std::string& written) {
    const auto order = rack_of(with_order(R"(, "running_order": {"cues": [{"segment": "race", )" +
                                          written + "}]}"))
                           .plan.running_order;
    return std::get<plan::AtClock>(order.cues.at(0).trigger).time;
  };
  CHECK(clock(R"("clock": "00:00")") == plan::ClockTime{.of_day = 0s});
  CHECK(clock(R"("clock": "23:59:59")") == plan::ClockTime{.of_day = 24h - 1s});
  CHECK(clock(R"("clock": "07:00", "date": "2028-02-29")") ==
        plan::ClockTime{.of_day = 7h, .date = year{2028} / 2 / 29});
}

TEST_CASE("a running order may stand before the segments that it names") {
  Files files = with_order("");
  edit(files, "show.json", "\"name\": \"regatta\",",
       R"("name": "regatta", "running_order": {"cues": [{"segment": "race"}]},)");
  CHECK(rack_of(files).plan.running_order.cues.at(0).segment.text == "race");
}

TEST_CASE("zones come from the machine's time zone database, from 1970 to 2037") {
  const auto helsinki = time_zone_named("Europe/Helsinki");
  REQUIRE(helsinki);
  CHECK(helsinki->name == "Europe/Helsinki");
  CHECK(helsinki->offsets.front() == plan::TimeZone::Offset{first_zoned_day, 2h});
  // Directive 2000/84/EC, articles 2 and 3 (from memory): at 1 a.m. Greenwich time on the last
  // Sundays of March and of October.
  CHECK(helsinki->ahead_at(sys_days{year{2027} / 3 / 28} + 1h - 1s) == 2h);
  CHECK(helsinki->ahead_at(sys_days{year{2027} / 3 / 28} + 1h) == 3h);
  CHECK(helsinki->ahead_at(sys_days{year{2027} / 10 / 31} + 1h) == 2h);
  CHECK(helsinki->ahead_at(sys_days{year{2037} / 7 / 1}) == 3h);
  CHECK(helsinki->offsets.back().from < last_zoned_day + std::chrono::days{1});

  CHECK(time_zone_named("UTC") == plan::TimeZone{});
  const auto chatham = time_zone_named("Pacific/Chatham");
  REQUIRE(chatham);
  CHECK(chatham->ahead_at(sys_days{year{2027} / 7 / 1}) == 12h + 45min);
}

TEST_CASE("every zone that the database names can be read, and its offsets rise and differ") {
  const auto names = time_zone_names();
  REQUIRE(names.size() > 300);
  for (const std::string& name : names) {
    CAPTURE(name);
    const auto zone = time_zone_named(name);
    REQUIRE(zone);
    CHECK(zone->name == name);
    for (std::size_t i = 1; i < zone->offsets.size(); ++i) {
      REQUIRE(zone->offsets[i - 1].from < zone->offsets[i].from);
      REQUIRE(zone->offsets[i - 1].ahead != zone->offsets[i].ahead);
    }
  }
}

TEST_CASE("the zone that was probably meant is found by its name or by its city") {
  CHECK(nearest_time_zone("Europe/Helsinky") == "Europe/Helsinki");
  CHECK(nearest_time_zone("europe/helsinki") == "Europe/Helsinki");
  CHECK(nearest_time_zone("Lord_Howe") == "Australia/Lord_Howe");
  CHECK(nearest_time_zone("the harbour") == "");
}

struct Desks {
  const char* bind;
  const char* sends_from_any_port;
  const char* sends_from_53000;
  const char* is_told;
};
void check_show_control(const std::optional<ShowControlSetup>& setup, const Desks& desks) {
  REQUIRE(setup);
  CHECK(setup->bind == parse_endpoint(desks.bind, 0));
  CHECK(setup->senders == std::vector<Sender>{{*parse_ip(desks.sends_from_any_port), std::nullopt},
                                              {*parse_ip(desks.sends_from_53000), 53000}});
  CHECK(setup->subscribers == std::vector{*parse_endpoint(desks.is_told)});
}

TEST_CASE("show control is read with who may send and who is told") {
  const auto setup = rack_of(base_files()).show_control;
  check_show_control(setup, {"0.0.0.0:47480", "192.0.2.20", "192.0.2.21", "192.0.2.20:53001"});
}

TEST_CASE("show control is off unless it is asked for, and tells nobody unless told to") {
  Files files = base_files();
  edit(files, "rack.json", ", \"subscribers\": [\"192.0.2.20:53001\"]", "");
  CHECK(rack_of(files).show_control->subscribers.empty());
  edit(
      files, "rack.json",
      R"("show_control": {"bind": "0.0.0.0:47480", "senders": ["192.0.2.20", "192.0.2.21:53000"]})",
      R"("$schema": "here")");
  CHECK_FALSE(rack_of(files).show_control);
}

TEST_CASE("show control may speak IPv6") {
  Files files = base_files();
  edit(files, "rack.json", R"("0.0.0.0:47480", "senders": ["192.0.2.20", "192.0.2.21:53000"])",
       R"("[::]:0", "senders": ["2001:db8::20", "[2001:db8::21]:53000"])");
  edit(files, "rack.json", "192.0.2.20:53001", "[2001:db8::20]:53001");
  const auto setup = rack_of(files).show_control;
  check_show_control(setup, {"[::]:0", "2001:db8::20", "2001:db8::21", "[2001:db8::20]:53001"});
}

TEST_CASE("of each line it is known how fast it is to be expected") {
  Files files = base_files();
  edit(files, "rack.json", "\"baud\": 115200", "\"baud\": 9600");
  const auto timings = rack_of(files).plan.line_timings;
  REQUIRE(timings.size() == 3);
  // Two characters of 10 bits (PROTOCOL.md, section 2), and 0.3 ms for the node.
  CHECK(timings.at({"bus"}) == plan::LineTiming{9'600, 2'083us + 300us, false});
  CHECK(timings.at({"net"}) == plan::LineTiming{0, 1ms, true});
  // Delayed by 2 to 12 ms in each direction.
  CHECK(timings.at({"bench"}) == plan::LineTiming{115'200, 300us + 14ms, false});
}

}  // namespace
}  // namespace catwalk::config
