// SPDX-License-Identifier: Apache-2.0
// What people do with the carriers from one segment to another, and in which order.
#include <doctest/doctest.h>

#include <algorithm>
#include <set>
#include <tuple>

#include "daemon/rack/way/crew_sheet.hpp"
#include "daemon/rack/way/live_between.hpp"
#include "tests/support/rack_fixture.hpp"
#include "tests/support/way_racks.hpp"

using namespace catwalk;
using namespace catwalk::test;
using rack::CrewAct;
using rack::CrewMoment;

namespace {

using Lines = std::vector<std::string>;

plan::Segment segment(const std::string& name, std::vector<plan::Carrier> carriers) {
  plan::Segment one;
  one.name = {name};
  one.carriers = std::move(carriers);
  return one;
}

plan::Carrier early(plan::Carrier carrier) {
  carrier.early = true;
  return carrier;
}
plan::Carrier late(plan::Carrier carrier) {
  carrier.late = true;
  return carrier;
}

Lines sheet(const plan::Segment& left, const plan::Segment& entered) {
  Lines lines;
  for (const auto& row : rack::crew_sheet(left, entered)) lines.push_back(row.said());
  return lines;
}
Lines keys(const plan::Segment& left, const plan::Segment& entered) {
  Lines lines;
  for (const auto& row : rack::crew_sheet(left, entered)) lines.push_back(row.key);
  return lines;
}

bool names_are_unique(const plan::Segment& segment) {
  std::set<std::string> names;
  for (const auto& carrier : segment.carriers) names.insert(carrier.name.text);
  return names.size() == segment.carriers.size();
}

rack::CrewTick tick_of(const rack::CrewRow& row, const std::string& who = "bo") {
  return {"speeches", "finale", row.key, row.said(), {who, rack::TimePoint{}}};
}

}  // namespace

TEST_CASE("what only one segment has goes off before the nodes move, or comes on after") {
  const auto left =
      segment("speeches", {microphone("voice-1", 510, "vocals"), transmitter("ears-1", 570)});
  const auto entered = segment("finale", {transmitter("ears-2", 571.5)});
  CHECK(sheet(left, entered) == Lines{"before: voice-1 off, 510.000 MHz; heard by vocals",
                                      "before: ears-1 off, 570.000 MHz (ours)",
                                      "after: ears-2 on, 571.500 MHz (ours)"});
}

TEST_CASE("what is late goes off after the nodes have moved, what is early comes on before") {
  const auto left = segment("speeches", {late(transmitter("ears-1", 570))});
  const auto entered = segment("finale", {early(transmitter("ears-2", 571.5))});
  CHECK(sheet(left, entered) ==
        Lines{"before: ears-2 on, 571.500 MHz (ours)", "after: ears-1 off, 570.000 MHz (ours)"});
}

TEST_CASE("a carrier that moves is off while the nodes do, unless it is early or late") {
  const auto from = microphone("voice-1", 510, "vocals");
  const auto to = microphone("voice-1", 620.125, "vocals");
  CHECK(sheet(segment("a", {from}), segment("b", {to})) ==
        Lines{"before: voice-1 off, 510.000 MHz, then to 620.125 MHz; heard by vocals",
              "after: voice-1 to 620.125 MHz from 510.000 MHz; heard by vocals"});
  CHECK(sheet(segment("a", {from}), segment("b", {early(to)})) ==
        Lines{"before: voice-1 to 620.125 MHz from 510.000 MHz; heard by vocals"});
  CHECK(sheet(segment("a", {late(from)}), segment("b", {to})) ==
        Lines{"after: voice-1 to 620.125 MHz from 510.000 MHz; heard by vocals"});
  CHECK(sheet(segment("a", {late(from)}), segment("b", {early(to)})) ==
        Lines{"meanwhile: voice-1 to 620.125 MHz from 510.000 MHz; heard by vocals"});
}

TEST_CASE("at the same frequency there is something to do where it is set or worn otherwise") {
  auto before = microphone("voice-1", 510, "vocals");
  before.held_by = "Ada";
  auto after = before;
  CHECK(sheet(segment("a", {before}), segment("b", {after})).empty());
  after.receivers = {{"band"}, {"roving"}};
  CHECK(sheet(segment("a", {before}), segment("b", {after})) ==
        Lines{"meanwhile: voice-1: receivers vocals → band and roving; heard by band and roving; "
              "held by Ada"});
  after = before;
  after.held_by = "Bo";
  after.bandwidth = rf::Frequency::hertz(12'500);
  after.erp.reset();
  const auto rows = rack::crew_sheet(segment("a", {before}), segment("b", {after}));
  REQUIRE(rows.size() == 1);
  CHECK(rows[0].act == CrewAct::change);
  CHECK(rows[0].otherwise ==
        Lines{"bandwidth 200 kHz → 12.500 kHz", "e.r.p. 10.0 dBm → not known", "held by Ada → Bo"});
  // Where it is walks by itself: nobody sets that.
  after = before;
  after.nearest = after.farthest = rf::Metres::of(12);
  CHECK(sheet(segment("a", {before}), segment("b", {after})).empty());
}

TEST_CASE("a name that another use has in the other segment is two carriers") {
  CHECK(sheet(segment("a", {microphone("link", 510, "vocals")}),
              segment("b", {transmitter("link", 510)})) ==
        Lines{"before: link off, 510.000 MHz; heard by vocals",
              "after: link on, 510.000 MHz (ours)"});
}

TEST_CASE("between segments with the same carriers there is nothing to do") {
  const auto rack = small_rack();
  CHECK(sheet(rack.segments[0], rack.segments[0]).empty());
  CHECK(rack::not_ticked({}).empty());
}

TEST_CASE("whoever moves to where another is comes behind it, and a circle stays as it is") {
  const auto mic = [](const char* name, double megahertz) {
    return late(microphone(name, megahertz, "vocals"));
  };
  const auto left = segment("a", {mic("v1", 510), mic("v2", 511), mic("v3", 512), mic("v4", 520)});
  CHECK(keys(left,
             segment("b", {mic("v1", 511.1), mic("v2", 512.1), mic("v3", 515), mic("v4", 510)})) ==
        Lines{"v3.move", "v2.move", "v1.move", "v4.move"});
  CHECK(keys(left, segment("b", {mic("v1", 511), mic("v2", 510), mic("v3", 515),
                                 mic("v4", 520)})) == Lines{"v3.move", "v1.move", "v2.move"});
}

TEST_CASE("keys are once in a sheet, and stay when others come or go") {
  const auto left = segment("a", {microphone("v1", 510, "vocals"), microphone("v2", 511, "vocals"),
                                  microphone("link", 512, "vocals")});
  auto entered = segment(
      "b", {microphone("v1", 520, "vocals"), transmitter("link", 570), transmitter("ears", 571)});
  const auto all = keys(left, entered);
  CHECK(all == Lines{"v1.off", "v2.off", "link.off", "v1.move", "link.on", "ears.on"});
  entered.carriers.pop_back();
  CHECK(keys(left, entered) == Lines(all.begin(), all.end() - 1));
}

// The planner proves the way for what live_between() says. The crew makes it so.
TEST_CASE("whoever follows the sheet has on the air what the way was planned for") {
  using Signal = std::tuple<std::string, plan::CarrierUse, rf::Frequency>;
  const auto signal = [](const plan::Carrier& one) {
    return Signal{one.name.text, one.use, one.frequency};
  };
  const auto follow = [](std::set<Signal>& air, const rack::CrewRow& row) {
    const auto at = [&](const std::optional<rf::Frequency>& frequency) {
      return Signal{row.carrier.text, row.use, *frequency};
    };
    if (row.act == CrewAct::off) CHECK(air.erase(at(row.from)) == 1);
    // Of one that has gone off before only the new one is left to come.
    if (row.act == CrewAct::move) air.erase(at(row.from));
    if (row.act == CrewAct::move || row.act == CrewAct::on) CHECK(air.insert(at(row.to)).second);
    if (row.act == CrewAct::change) CHECK(air.contains(at(row.to)));
  };
  std::set<std::pair<CrewMoment, CrewAct>> met;
  for (unsigned seed = 1; seed <= 300; ++seed) {
    CAPTURE(seed);
    auto crossing = random_crossing(6, seed);
    auto& left = crossing.plan.segments.front();
    auto& entered = crossing.plan.segments.back();
    for (std::size_t i = 0; i < left.carriers.size(); ++i) left.carriers[i].late = (seed >> i) & 1;
    for (std::size_t i = 0; i < entered.carriers.size(); ++i)
      entered.carriers[i].early = (seed >> (i + 2)) & 1;
    if (!names_are_unique(left)) continue;  // no show file has that
    std::set<Signal> air;
    for (const auto& carrier : left.carriers) air.insert(signal(carrier));
    std::set<Signal> planned;
    for (const auto& live : rack::live_between(left, entered)) planned.insert(signal(live.any()));
    const auto rows = rack::crew_sheet(left, entered);
    for (const auto& row : rows)
      if (row.moment == CrewMoment::before) follow(air, row);
    // What moves meanwhile is counted with twice, and is one of the two.
    for (const auto& row : rows)
      if (row.moment == CrewMoment::meanwhile && row.act == CrewAct::move)
        planned.erase({row.carrier.text, row.use, *row.to});
    CHECK(air == planned);
    for (const auto& row : rows) {
      met.emplace(row.moment, row.act);
      if (row.moment != CrewMoment::before) follow(air, row);
    }
    std::set<Signal> end;
    for (const auto& carrier : entered.carriers) end.insert(signal(carrier));
    CHECK(air == end);
  }
  CHECK(met.size() >= 6);  // or the racks have become too easy for this test
}

TEST_CASE("a tick holds as long as its row says the same, and on its own sheet alone") {
  auto left = segment("speeches", {microphone("voice-1", 510, "vocals")});
  const auto entered = segment("finale", {});
  const auto tick = tick_of(rack::crew_sheet(left, entered)[0]);
  CHECK(rack::crew_sheet(left, entered, {tick})[0].ticked == tick.ticked);
  auto elsewhere = tick;
  elsewhere.entered = "encore";
  CHECK_FALSE(rack::crew_sheet(left, entered, {elsewhere})[0].ticked);
  left.carriers[0].held_by = "Ada";
  CHECK_FALSE(rack::crew_sheet(left, entered, {tick})[0].ticked);
}

TEST_CASE("a warning counts and names what is to be done before the nodes move") {
  const auto left =
      segment("speeches", {microphone("voice-1", 510, "vocals"),
                           microphone("voice-2", 525, "vocals"), transmitter("ears-1", 570)});
  const auto entered = segment("finale", {microphone("voice-3", 620, "vocals")});
  const auto rows = rack::crew_sheet(left, entered);
  CHECK(rack::not_ticked(rows) ==
        "3 of 3 to do before it are not ticked: voice-1 off, 510.000 MHz; voice-2 off, 525.000 "
        "MHz; ears-1 off, 570.000 MHz.");
  CHECK(rack::not_ticked(rack::crew_sheet(left, entered, {tick_of(rows[0]), tick_of(rows[1])})) ==
        "1 of 3 to do before it is not ticked: ears-1 off, 570.000 MHz.");
  CHECK(rack::not_ticked(rack::crew_sheet(
            left, entered, {tick_of(rows[0]), tick_of(rows[1]), tick_of(rows[2])})) == "");
}

TEST_CASE("a long warning names eight, and counts the rest") {
  auto left = segment("speeches", {});
  for (int i = 0; i < 11; ++i)
    left.carriers.push_back(microphone("v" + std::to_string(i), 510 + i, "vocals"));
  const auto words = rack::not_ticked(rack::crew_sheet(left, segment("finale", {})));
  CHECK(words.starts_with("11 of 11 to do before it are not ticked: v0 off, "));
  CHECK(words.ends_with("; v7 off, 517.000 MHz; and 3 more."));
}
