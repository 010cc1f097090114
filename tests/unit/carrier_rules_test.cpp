// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/rules/carrier_rules.hpp"

#include <doctest/doctest.h>

#include <algorithm>

#include <cmath>

#include "daemon/rack/outlook/advice.hpp"
#include "daemon/rack/outlook/explain.hpp"
#include "daemon/rack/outlook/recommend.hpp"
#include "daemon/rack/way/way.hpp"
#include "tests/support/near.hpp"
#include "tests/support/physics_rack.hpp"
#include "tests/support/rack_fixture.hpp"

using namespace catwalk;
using namespace catwalk::rack;
using catwalk::test::microphone;
using catwalk::test::near;
using catwalk::test::transmitter;
using rf::Decibel;
using rf::Frequency;

namespace {

using Lines = std::vector<std::string>;

Lines told(const std::vector<Finding>& findings) {
  Lines lines;
  for (const auto& finding : findings)
    lines.push_back(std::string{name_of(finding.severity)} + ' ' +
                    std::string{name_of(finding.rule)} + ": " + finding.sentence);
  return lines;
}

plan::Carrier used_at(plan::Carrier carrier, double nearest, double farthest) {
  carrier.nearest = rf::Metres::of(nearest);
  carrier.farthest = rf::Metres::of(farthest);
  return carrier;
}

// One receiver "r0" behind two antennas, its blocking given from 400 kHz on, and only these
// carriers.
plan::RackPlan rack_with(std::vector<plan::Carrier> carriers) {
  auto plan = test::physics_rack(2, 0, 1);
  plan.receivers[0].input->blocking = {{Frequency::kilohertz(400), Decibel::of(60)},
                                       {Frequency::megahertz(6), Decibel::of(90)}};
  plan.segments[0].carriers = std::move(carriers);
  return plan;
}

Lines of_segment(const plan::RackPlan& plan) {
  return told(check_carriers(plan, plan.segments[0]));
}

Explanation explained(const plan::RackPlan& plan, const std::string& carrier) {
  const auto nobody = [](const plan::NodeName&) -> std::optional<plan::Settings> { return {}; };
  const auto all = explain(plan, plan.segments[0], plan.nodes[0], test::slide_at(6, 500), nobody,
                           plan::CarrierName{carrier});
  REQUIRE(all.chains.size() == 1);
  return all.chains[0];
}

}  // namespace

TEST_CASE("carriers that stand clear of each other raise nothing") {
  CHECK(of_segment(rack_with({microphone("a", 500.0, "r0"), microphone("b", 500.4, "r0"),
                              transmitter("ears", 570.0)})) == Lines{});
}

TEST_CASE("two microphones on one frequency are told, and so are bands that share a little") {
  CHECK(of_segment(rack_with({microphone("a", 500.0, "r0"), microphone("b", 500.0, "r0")})) ==
        Lines{"caution co-channel: a and b stand on one frequency, 500.000 MHz: a and b cannot be "
              "told from each other."});
  CHECK(of_segment(rack_with({microphone("a", 500.0, "r0"), microphone("b", 500.175, "r0")})) ==
        Lines{"caution co-channel: a (500.000 MHz) and b (500.175 MHz) share 500.075 to 500.100 "
              "MHz: a and b cannot be told from each other."});
  // Bands that only touch share nothing; they are near all the same.
  const auto touching = check_carriers(
      rack_with({}),
      rack_with({microphone("a", 500.0, "r0"), microphone("b", 500.2, "r0")}).segments[0]);
  REQUIRE(touching.size() == 1);
  CHECK(touching[0].rule == Rule::adjacent_carrier);
}

TEST_CASE("a show's own transmitter on a microphone's frequency is told as that") {
  CHECK(of_segment(rack_with({microphone("a", 500.0, "r0"), transmitter("ears", 500.1)})) ==
        Lines{"caution co-channel: a (500.000 MHz) and ears (500.100 MHz) share 500.000 to 500.100 "
              "MHz: a cannot be told from our own transmitter."});
  CHECK(of_segment(rack_with({transmitter("ears", 500.0), transmitter("link", 500.0)})) ==
        Lines{"caution co-channel: ears and link stand on one frequency, 500.000 MHz: whoever "
              "listens to one hears the other."});
}

TEST_CASE("nearer than the receiver is said to keep apart is told with both figures") {
  CHECK(of_segment(rack_with({microphone("a", 500.0, "r0"), microphone("b", 500.375, "r0")})) ==
        Lines{"caution adjacent-carrier: a (500.000 MHz) stands 0.375 MHz from b (500.375 MHz); "
              "receiver r0 is said to keep carriers apart from 0.400 MHz on."});
  // Also where the other one is not for that receiver.
  CHECK(of_segment(rack_with({transmitter("ears", 500.3), microphone("a", 500.0, "r0")})).size() ==
        1);
  auto silent = rack_with({microphone("a", 500.0, "r0"), microphone("b", 500.3, "r0")});
  silent.receivers[0].input->blocking.clear();
  CHECK(of_segment(silent) == Lines{});
}

TEST_CASE("one channel twice is a note where levels keep the two apart everywhere") {
  // A tour of one building: the other hall is 60 dB of free space and walls away.
  auto far = microphone("hall-2", 500.0, "");
  far.receivers.clear();
  far.use = plan::CarrierUse::transmit;
  for (const auto* node : {"n0", "n1"}) far.isolations[{node}] = Decibel::of(150);
  const auto plan = rack_with({used_at(microphone("a", 500.0, "r0"), 5, 30), far});
  const auto findings = check_carriers(plan, plan.segments[0]);
  REQUIRE(findings.size() == 1);
  CHECK(findings[0].severity == Severity::note);
  // Free space over 30 m at 500 MHz: 55.98 dB (20·lg d + 20·lg f − 27.55, d in m, f in MHz;
  // Recommendation ITU-R P.525-4, equation 3). 10 dBm e.r.p. against 10 dBm less 150 dB: the aerial
  // and the dipole's 2.15 dB are the same on both ways, except that isolations count from the
  // e.r.p. to the terminals.
  const double wanted =
      10.0 + 2.15 - (20 * std::log10(30.0) + 20 * std::log10(500.0) - 27.55) + 4.0;
  CHECK(near(findings[0].numbers.back().value, wanted - (10.0 - 150.0), 0.02));
  // Nearer, and it is a caution again.
  auto close = plan;
  for (auto& [node, isolation] : close.segments[0].carriers[1].isolations)
    isolation = Decibel::of(60);
  CHECK(check_carriers(close, close.segments[0])[0].severity == Severity::caution);
}

TEST_CASE("carriers belong into lanes of their own purpose") {
  const auto mhz = [](double value) { return Frequency::megahertz(value); };
  auto plan = rack_with({microphone("in", 505.0, "r0"), microphone("edge", 510.0, "r0"),
                         microphone("tv", 520.0, "r0"), microphone("out", 540.0, "r0"),
                         transmitter("ears", 541.0), transmitter("lost", 506.0)});
  plan.segments[0].lanes = {
      {{"mics"}, plan::LanePurpose::receive, {mhz(500), mhz(510)}, ""},
      {{"tower"}, plan::LanePurpose::closed, {mhz(516), mhz(524)}, "channel 27"},
      {{"ears"}, plan::LanePurpose::transmit, {mhz(540.5), mhz(550)}, ""}};
  CHECK(of_segment(plan) ==
        Lines{"caution carrier-outside-lane: edge at 510.000 MHz stands in no receive lane: "
              "510.000 to 510.100 MHz belongs to none.",
              "caution carrier-outside-lane: tv at 520.000 MHz stands in the closed lane tower "
              "(channel 27), 519.900 to 520.100 MHz.",
              "caution carrier-outside-lane: out at 540.000 MHz stands in no receive lane: "
              "539.900 to 540.100 MHz belongs to none.",
              "caution carrier-outside-lane: lost at 506.000 MHz stands in the receive lane mics, "
              "505.900 to 506.100 MHz."});
  // Lanes that touch are one stretch; a segment without lanes divides nothing.
  plan.segments[0].lanes[0].band.high = mhz(509.95);
  plan.segments[0].lanes.push_back(
      {{"more"}, plan::LanePurpose::receive, {mhz(509.95), mhz(512)}, ""});
  CHECK(of_segment(plan).size() == 3);
  plan.segments[0].lanes.clear();
  CHECK(of_segment(plan) == Lines{});
}

TEST_CASE("what stays on late and what comes on early may meet on the way alone") {
  plan::Segment left;
  plan::Segment entered;
  left.carriers = {microphone("a", 500.0, "r0"), microphone("b", 501.0, "r0")};
  entered.carriers = {microphone("c", 500.0, "r0"), microphone("b", 501.1, "r0")};
  const auto plan = rack_with({});
  CHECK(told(check_meeting(plan, left, entered)) == Lines{});
  left.carriers[0].late = true;
  CHECK(told(check_meeting(plan, left, entered)) == Lines{});
  entered.carriers[0].early = true;
  REQUIRE(check_meeting(plan, left, entered).size() == 1);
  CHECK(check_meeting(plan, left, entered)[0].rule == Rule::co_channel);
  // One radio that moves by less than its bandwidth does not meet itself.
  left.carriers[1].late = entered.carriers[1].early = true;
  CHECK(check_meeting(plan, left, entered).size() == 1);

  // On the way there and on the way back, and the ends are judged too.
  auto both = plan;
  left.name = {"left"};
  entered.name = {"entered"};
  both.segments = {left, entered};
  both.segments[1].carriers.push_back(microphone("d", 501.2, "r0"));
  const SwitchTask there{both, both.segments[0], both.segments[1], {}, false};
  const SwitchTask back{both, both.segments[1], both.segments[0], {}, true};
  for (const auto& task : {there, back}) {
    const auto way = plan_way(task);
    REQUIRE(way.breaches.findings.size() == 1);
    CHECK(way.breaches.findings[0].rule == Rule::co_channel);
    CHECK(way.needs_waiver());
  }
  const auto way = plan_way(there);
  CHECK(told(way.before.findings) == Lines{});
  REQUIRE(way.end.findings.size() == 1);
  CHECK(way.end.findings[0].rule == Rule::co_channel);
}

TEST_CASE("a carrier in the channel takes the margin that it takes on paper") {
  // a at its farthest, b on the same frequency at its nearest. Interference that looks like noise
  // adds to it in power: the margin falls by 10·lg(1 + I/N) (Recommendation ITU-R SM.1134-1 and
  // every handbook of sharing; definition).
  const auto alone = explained(rack_with({used_at(microphone("a", 500.0, "r0"), 20, 40)}), "a");
  const auto both = explained(rack_with({used_at(microphone("a", 500.0, "r0"), 20, 40),
                                         used_at(microphone("b", 500.0, "r0"), 10, 10)}),
                              "a");
  const double path = 20 * std::log10(10.0) + 20 * std::log10(500.0) - 27.55;
  const double intruder = 10.0 + 2.15 - path + 4.0;
  CHECK(near(both.budget.co_channel.dbm(), intruder, 0.02));
  CHECK(both.budget.blocking == rf::no_power());
  const double cost =
      10 * std::log10(1 + std::pow(10.0, (intruder - both.budget.noise.dbm()) / 10));
  CHECK(near((*alone.budget.margin() - *both.budget.margin()).value(), cost, 0.02));
  CHECK(*both.budget.margin() < Decibel::of(0));

  // Half a band in the channel: half the power.
  const auto half = explained(rack_with({used_at(microphone("a", 500.0, "r0"), 20, 40),
                                         used_at(microphone("b", 500.1, "r0"), 10, 10)}),
                              "a");
  CHECK(near(half.budget.co_channel.dbm(), intruder + 10 * std::log10(0.5), 0.02));
}

TEST_CASE("below the first offset a receiver's rejection falls to nothing") {
  const plan::ReceiverInput input{{}, {}, {},
                                  {}, {}, {{Frequency::kilohertz(400), Decibel::of(60)}}};
  CHECK(near(input.blocking_rejection(Frequency::kilohertz(400))->value(), 60, 1e-9));
  CHECK(near(input.blocking_rejection(Frequency::kilohertz(300))->value(), 45, 1e-9));
  CHECK(near(input.blocking_rejection(Frequency{})->value(), 0, 1e-9));
  CHECK(near(input.blocking_rejection(Frequency::megahertz(9))->value(), 60, 1e-9));
}

namespace {

Recommendation recommended(const plan::RackPlan& plan) {
  const Surroundings around{plan, plan.segments[0],
                            [](const plan::NodeName&) { return PossibleSettings{}; }, false};
  return recommend(around, plan.nodes[0], test::slide_at(0, 500));
}

bool any_has(const Lines& lines, const std::string& words) {
  return std::ranges::any_of(
      lines, [&](const std::string& line) { return line.find(words) != std::string::npos; });
}

}  // namespace

TEST_CASE("advice for carriers that stand in each other's way is a frequency that is free") {
  const auto plan = rack_with({used_at(microphone("a", 500.0, "r0"), 20, 40),
                               used_at(microphone("b", 500.0, "r0"), 10, 40)});
  const auto answer = recommended(plan);
  CHECK(answer.limited_by == LimitedBy::co_channel);
  CHECK(any_has(answer.advice,
                "Move a up by at least 0.400 MHz, to 500.400 MHz: a and b stand on "
                "one frequency"));
  CHECK_FALSE(any_has(answer.advice, "stronger at its weakest"));
  auto moved = plan;
  moved.segments[0].carriers[0].frequency = Frequency::megahertz(500.4);
  CHECK(of_segment(moved) == Lines{});
}

TEST_CASE("advice for carriers that stand evenly names the carriers, not the cable") {
  // Loud, near and evenly spaced: 2·b − a falls on c, and each on the next. The gain that would
  // make up the cable is held down by that.
  std::vector<plan::Carrier> carriers;
  for (int i = 0; i < 8; ++i) {
    auto one = used_at(microphone("m" + std::to_string(i), 500.0 + i, "r0"), 2, 60);
    one.erp = rf::PowerLevel::dbm(17);
    one.extra_loss = Decibel::of(20);
    carriers.push_back(std::move(one));
  }
  const auto plan = rack_with(std::move(carriers));
  const auto answer = recommended(plan);
  REQUIRE_FALSE(answer.clean);
  CHECK_FALSE(any_has(answer.advice, "shorter or better cable"));
  CHECK(any_has(answer.advice, " minus m"));
}

TEST_CASE("a recommendation that nobody waits for ends at once, wherever it is") {
  const auto plan = rack_with({used_at(microphone("a", 500.0, "r0"), 20, 40)});
  const Surroundings around{plan, plan.segments[0],
                            [](const plan::NodeName&) { return PossibleSettings{}; }, false};
  for (const int patience : {0, 1, 30}) {
    int asked = 0;
    const auto answer = recommend(around, plan.nodes[0], test::slide_at(3, 500),
                                  [&] { return asked++ < patience; });
    CHECK(asked == patience + 1);
    CHECK(answer.settings == test::slide_at(3, 500));
    CHECK_FALSE(answer.clean);
  }
}
