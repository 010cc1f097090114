// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/rules/rules.hpp"

#include <doctest/doctest.h>

#include <algorithm>

#include "tests/support/rack_fixture.hpp"

using namespace catwalk;
using namespace catwalk::test;
using rack::Rule;
using rack::Severity;

namespace {

struct Bench {
  plan::RackPlan plan = small_rack();
  std::map<std::string, rack::PossibleSettings> others{
      {"left", {slide_at(0, 518)}}, {"right", {slide_at(0, 518)}}, {"spare", {slide_at(0, 518)}}};
  bool locked = false;
  std::size_t segment = 0;

  rack::Verdict check(const std::string& node, const plan::Settings& settings) const {
    const rack::Surroundings around{plan, plan.segments[segment],
                                    [this](const plan::NodeName& name) {
                                      const auto found = others.find(name.text);
                                      return found == others.end() ? rack::PossibleSettings{}
                                                                   : found->second;
                                    },
                                    locked};
    return rack::check(around, *plan.find(plan::NodeName{node}), settings);
  }
};

std::vector<std::string> told(const rack::Verdict& verdict) {
  std::vector<std::string> lines;
  for (const auto& finding : verdict.findings)
    lines.push_back(std::string{rack::name_of(finding.severity)} + ' ' +
                    std::string{rack::name_of(finding.rule)} + ": " + finding.sentence);
  return lines;
}

using Lines = std::vector<std::string>;

}  // namespace

TEST_CASE("settings that fit the plan raise no finding") {
  CHECK(told(Bench{}.check("left", slide_at(6, 518))) == Lines{});
}

TEST_CASE("a gain beyond the datasheet and the rack's limits is refused for both reasons") {
  CHECK(told(Bench{}.check("left", slide_at(28, 518))) ==
        Lines{"refuse gain-range: A slider cannot do +28 dB; it goes from -12 dB to +27 dB.",
              "refuse gain-limit: +28 dB is outside the rack's own limits, -12 dB to +20 dB."});
}

TEST_CASE("a gain between two steps is refused with the step") {
  CHECK(told(Bench{}.check("left", slide_at(2.5, 518))) ==
        Lines{"refuse gain-step: +2.5 dB is between two steps of a slider; it moves in steps of +1 "
              "dB from -12 dB."});
}

TEST_CASE("a node's own gain limits stand before the rack's") {
  Bench bench;
  bench.plan.nodes[0].gain_limits = plan::GainLimits{rf::Gain::decibels(0), rf::Gain::decibels(3)};
  CHECK(told(bench.check("left", slide_at(4, 518))) ==
        Lines{"refuse gain-limit: +4 dB is outside this node's own limits, +0 dB to +3 dB."});
}

TEST_CASE("a centre out of reach and a centre off the raster are told apart") {
  Bench bench;
  CHECK(
      told(bench.check("spare", slide_at(0, 741)))[0] ==
      "refuse centre-range: The centre of slide cannot go to 741.000 MHz; it tunes from 430.000 to "
      "740.000 MHz.");
  CHECK(told(bench.check("spare", slide_at(0, 518.01)))[0] ==
        "refuse centre-step: 518.010 MHz is between two steps of slide; it tunes in steps of 0.025 "
        "MHz from 430.000 MHz.");
}

TEST_CASE("a fixed filter takes no centre, and a sliding one needs one") {
  Bench bench;
  plan::Settings settings = slide_at(0, 518);
  settings.filter = 1;
  CHECK(told(bench.check("spare", settings))[0] ==
        "refuse centre-range: Filter wide is fixed at 470.000 to 600.000 MHz and has no centre to "
        "tune.");
  CHECK(told(bench.check("spare", slide_at(0, 0)))[0] ==
        "refuse centre-range: Filter slide needs a centre; it tunes from 430.000 to 740.000 MHz.");
}

TEST_CASE("an unknown filter is refused with the list of those there are") {
  Bench bench;
  const auto proposal = rack::propose(bench.plan.nodes[0], slide_at(0, 518), {.filter = "narrow"});
  REQUIRE(proposal.findings.size() == 1);
  CHECK(proposal.findings[0].rule == Rule::filter_known);
  CHECK(proposal.findings[0].sentence ==
        "A slider has no filter \"narrow\"; it has slide and wide.");
}

TEST_CASE("a fixed filter drops the centre of the one before") {
  Bench bench;
  const auto proposal = rack::propose(bench.plan.nodes[0], slide_at(3, 518), {.filter = "wide"});
  CHECK(proposal.findings.empty());
  CHECK(proposal.settings.filter == 1);
  CHECK(proposal.settings.centre == rf::Frequency{});
  CHECK(proposal.settings.gain == rf::Gain::decibels(3));
}

TEST_CASE("a carrier must lie in the window with its bandwidth, and the window's skirts left out") {
  Bench bench;
  // voice-1 needs 509.900 to 510.100; the window of 40 MHz surely passes centre ± 19.5.
  CHECK_FALSE(bench.check("left", slide_at(0, 529.4)).refuses());
  const auto verdict = bench.check("left", slide_at(0, 529.425));
  REQUIRE(verdict.findings.size() >= 1);
  CHECK(verdict.findings[0].rule == Rule::carrier_outside_window);
  CHECK(
      verdict.findings[0].sentence ==
      "voice-1 needs 509.900 to 510.100 MHz, but the window surely passes only 509.925 to 548.925 "
      "MHz.");
  CHECK(verdict.findings[0].concerns == Lines{"voice-1"});
}

TEST_CASE("only the carriers of a node's own receivers matter to it") {
  CHECK(told(Bench{}.check("spare", slide_at(0, 480))) == Lines{});
}

TEST_CASE("an own transmitter in the window or its skirts is refused") {
  Bench bench;
  // ears-1 begins at 569.9; with its skirts the window passes up to centre + 20.5.
  CHECK_FALSE(bench.check("spare", slide_at(0, 549.4)).has(Severity::refuse));
  const auto verdict = bench.check("spare", slide_at(0, 549.425));
  REQUIRE(verdict.has(Severity::refuse));
  CHECK(verdict.findings[0].rule == Rule::own_transmitter_in_window);
  CHECK(verdict.findings[0].sentence ==
        "Our own transmitter ears-1 at 570.000 MHz is let in: with its skirts the window passes "
        "528.925 to 569.925 MHz.");
}

TEST_CASE("a window over a closed lane is a caution that says how much and whose") {
  CHECK(told(Bench{}.check("spare", slide_at(0, 525))) ==
        Lines{"caution lane-conflict: The window takes in 5.000 MHz of the closed lane tower "
              "(broadcast), 540.000 to 545.000 MHz."});
}

TEST_CASE("power off is a caution for every own transmitter, and covers every carrier") {
  auto settings = slide_at(0, 700);
  settings.power = false;
  CHECK(told(Bench{}.check("left", settings)) ==
        Lines{"caution own-transmitter-in-window: With the power off there is no filter: our own "
              "ears-1 at 570.000 MHz comes down the line unfiltered."});
}

TEST_CASE("a receiver that would lose both branches is refused, one that keeps one is not") {
  Bench bench;
  const auto away = slide_at(0, 480);
  const auto has_rule = [](const rack::Verdict& verdict, Rule rule) {
    return std::ranges::any_of(verdict.findings,
                               [&](const rack::Finding& finding) { return finding.rule == rule; });
  };
  CHECK_FALSE(has_rule(bench.check("left", away), Rule::diversity_dark));
  SUBCASE("the other branch is tuned away") { bench.others["right"] = {away}; }
  SUBCASE("the other branch is on its way, and may be in either state") {
    bench.others["right"] = {slide_at(0, 518), away};
  }
  SUBCASE("the other branch was never read") { bench.others["right"] = {}; }
  const auto verdict = bench.check("left", away);
  REQUIRE(has_rule(verdict, Rule::diversity_dark));
  CHECK(
      verdict.findings.back().sentence ==
      "Receiver vocals would lose voice-1 and voice-2: none of its 2 branches has an antenna that "
      "surely passes them.");
}

TEST_CASE("the show lock is one finding among the others") {
  Bench bench;
  bench.locked = true;
  const auto lines = told(bench.check("left", slide_at(28, 518)));
  REQUIRE(lines.size() == 3);
  CHECK(lines[0] == "refuse show-locked: The rack is locked for the show. Unlock it first.");
}

TEST_CASE("a label longer than a node keeps is refused") {
  auto settings = slide_at(0, 518);
  settings.label = "seventeen letters";
  CHECK(told(Bench{}.check("spare", settings)) ==
        Lines{"refuse label-length: The label is 17 bytes long; a node keeps 16."});
}

TEST_CASE("a label with control characters is refused before it is journaled") {
  auto settings = slide_at(0, 518);
  settings.label = "a\nb";
  CHECK(
      told(Bench{}.check("spare", settings)) ==
      Lines{"refuse label-text: The label has characters that a node cannot show: allowed is UTF-8 "
            "text without control or format characters."});
}
