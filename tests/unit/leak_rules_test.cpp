// SPDX-License-Identifier: Apache-2.0
// What comes to a receiver past the routes of a matrix, against a budget written out in decibels:
// every level is a sum of what stands in the case, and powers of two ways add.
#include <doctest/doctest.h>

#include <cmath>

#include "daemon/plan/routed.hpp"
#include "daemon/rack/rules/leak_rules.hpp"
#include "tests/support/matrix_rack.hpp"

using namespace catwalk;
using namespace catwalk::test;
using rf::Decibel;

namespace {

// Nobody amplifies and nothing filters, so that a level at the receiver is
//   at the antenna's terminals − 2 dB of the passive node − 3 dB of cable + 1 dB of the unit
// At left's terminals voice-1 is −80 dBm, and the in-ears are not there; at right's these are
// −43 dBm.
struct Case {
  plan::MatrixSheet sheet = shore_sheet();
  plan::RackPlan plan;
  plan::Settings passive;

  Case() {
    plan = matrix_rack(sheet);
    auto amplifier = *plan.nodes[0].datasheet;
    amplifier.passive_loss_db = 2;
    for (auto& node : plan.nodes) {
      node.datasheet = std::make_shared<const plan::Datasheet>(amplifier);
      node.feed = plan::Chain{plan::FixedLoss{"cable", Decibel::of(3)}};
    }
    auto& receiver = plan.receivers[0];
    receiver.branches.resize(1);
    receiver.input = plan::ReceiverInput{};
    receiver.input->overload = rf::PowerLevel::dbm(-20);
    receiver.input->protection_ratio = Decibel::of(12);
    receiver.input->blocking = {{rf::Frequency::megahertz(1), Decibel::of(30)}};
    auto& segment = plan.segments[0];
    auto voice = microphone("voice-1", 510, "vocals");
    voice.isolations = {{{"left"}, Decibel::of(90)}};  // 10 dBm less these
    auto ears = transmitter("ears-1", 570);
    ears.isolations = {{{"right"}, Decibel::of(60)}};  // 17 dBm less these
    segment.carriers = {voice, ears};
  }

  std::vector<rack::Finding> findings(std::vector<plan::Inputs> routes, double trim_of_left = 0,
                                      bool supplied = true) {
    plan.matrices[0].sheet = std::make_shared<const plan::MatrixSheet>(sheet);
    auto settings = shore_set(std::move(routes));
    settings.inputs[0].trim = rf::Gain::decibels(trim_of_left);
    const auto routed = plan::routed(plan, {{{"shore"}, {settings, supplied}}});
    const rack::Surroundings around{*routed, routed->segments[0], [this](const plan::NodeName&) {
                                      return rack::PossibleSettings{passive};
                                    }};
    return rack::check_leaks(around, routed->matrices[0]);
  }
};

double number(const rack::Finding& finding, const std::string& name) {
  for (const auto& one : finding.numbers)
    if (one.name == name) return one.value;
  return std::nan("");
}

}  // namespace

TEST_CASE("an input that is not taken is heard over the isolation of inputs") {
  Case it;
  it.sheet.isolation_of_inputs = Decibel::of(15);
  const auto findings = it.findings({{1}, {}, {}});
  REQUIRE(findings.size() == 1);
  // −43 − 2 − 3 at input 2, −15 over to input 1, +1.
  CHECK(number(findings[0], "level") == doctest::Approx(-62));
  // voice-1: −80 − 2 − 3 + 1 = −84; ears-1 less 30 dB of rejection −92: 8 of 12 dB.
  CHECK(number(findings[0], "over") == doctest::Approx(4));
  CHECK(findings[0].rule == rack::Rule::past_the_routes);
  CHECK(findings[0].concerns == std::vector<std::string>{"ears-1", "vocals", "voice-1"});
  CHECK(findings[0].sentence ==
        "ears-1 comes to vocals past the routes, from input 2 of shore (right) over 15.0 dB of "
        "isolation: at -62.0 dBm, which no antenna of output 1 brings. voice-1 at its weakest is "
        "then 8.0 dB over it, and has to be 12.0 dB over.");
}

TEST_CASE("the last decibel of isolation decides") {
  Case it;
  it.sheet.isolation_of_inputs = Decibel::of(19.1);
  CHECK(it.findings({{1}, {}, {}}).empty());
  it.sheet.isolation_of_inputs = Decibel::of(18.9);
  CHECK(it.findings({{1}, {}, {}}).size() == 1);
}

TEST_CASE("the trim of the input that is taken takes off what leaks there, and the wanted alike") {
  Case it;
  it.sheet.isolation_of_inputs = Decibel::of(15);
  const auto findings = it.findings({{1}, {}, {}}, -6);
  REQUIRE(findings.size() == 1);
  CHECK(number(findings[0], "level") == doctest::Approx(-68));
  CHECK(number(findings[0], "over") == doctest::Approx(4));
}

TEST_CASE("another output is heard over the isolation of outputs, if it brings anything") {
  Case it;
  it.sheet.isolation_of_outputs = Decibel::of(12);
  CHECK(it.findings({{1}, {}, {}}).empty());
  const auto findings = it.findings({{1}, {2}, {}});
  REQUIRE(findings.size() == 1);
  // −43 − 2 − 3 + 1 at output 2, −12.
  CHECK(number(findings[0], "level") == doctest::Approx(-59));
  CHECK(number(findings[0], "over") == doctest::Approx(7));
  CHECK(findings[0].sentence.find("from output 2 of shore over 12.0 dB of isolation") !=
        std::string::npos);
}

TEST_CASE("two ways past the routes add as powers") {
  Case it;
  it.sheet.isolation_of_inputs = it.sheet.isolation_of_outputs = Decibel::of(12);
  const auto findings = it.findings({{1}, {2}, {}});
  REQUIRE(findings.size() == 1);
  CHECK(number(findings[0], "level") == doctest::Approx(-59 + 10 * std::log10(2.0)));
}

TEST_CASE("what the routes bring as strong is not told again") {
  Case it;
  it.sheet.isolation_of_inputs = it.sheet.isolation_of_outputs = Decibel::of(12);
  CHECK(it.findings({{2}, {}, {}}).empty());
  CHECK(it.findings({{1, 2}, {}, {}}).empty());
}

TEST_CASE("a carrier past the routes may overload the receiver") {
  Case it;
  it.sheet.isolation_of_inputs = Decibel::of(1);
  it.plan.receivers[0].input->blocking.clear();
  it.plan.receivers[0].input->overload = rf::PowerLevel::dbm(-50);
  const auto findings = it.findings({{1}, {}, {}});
  REQUIRE(findings.size() == 1);
  CHECK(number(findings[0], "over") == doctest::Approx(2));  // −48 over −50
  CHECK(findings[0].sentence.ends_with("That is 2.0 dB over what vocals takes."));
}

TEST_CASE("without an isolation in the datasheet, or without its supply, nothing is said") {
  Case it;
  CHECK(it.findings({{1}, {2}, {}}).empty());
  it.sheet.isolation_of_inputs = it.sheet.isolation_of_outputs = Decibel::of(12);
  CHECK(it.findings({{1}, {2}, {}}, 0, true).size() == 1);
  CHECK(it.findings({{1}, {2}, {}}, 0, false).empty());
}
