// SPDX-License-Identifier: Apache-2.0
// Facts of the trade, each as a technician would expect it: common practice, no source. Levels are
// worked out beside them with the textbook formulas, by hand:
//   free space   20·lg(d/m) + 20·lg(f/MHz) − 27.55 dB   (ITU-R P.525)
//   noise        −174 dBm/Hz + 10·lg(B/Hz) + noise figure
// Played on a floating stage in a harbour.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <regex>

#include "daemon/rack/outlook/explain.hpp"
#include "daemon/rack/outlook/recommend.hpp"
#include "daemon/rack/rules/carrier_rules.hpp"
#include "daemon/rack/rules/power_failure.hpp"
#include "daemon/rack/rules/rules.hpp"
#include "daemon/rf/noise.hpp"
#include "tests/support/near.hpp"
#include "tests/support/sheets.hpp"

using namespace catwalk;
using namespace catwalk::rack;
using rf::Decibel;
using rf::Frequency;
using rf::Gain;
using rf::PowerLevel;
using test::near;

namespace {

double free_space(double metres, double megahertz) {
  return 20.0 * std::log10(metres) + 20.0 * std::log10(megahertz) - 27.55;
}

// −12 to +27 dB in steps of 1 dB; a window of 40 MHz that slides from 410 to 760 MHz, a wide
// setting from 470 to 600 MHz, a fixed filter from 940 to 960 MHz.
std::shared_ptr<const plan::Datasheet> inline_amplifier() {
  auto sheet = test::amplifier_sheet("stage-amp");
  test::set_figures(sheet, {.noise_figure_db = 3.0,
                            .output_p1db_dbm = 20,
                            .output_ip3_dbm = 40,
                            .passive_loss_db = 1.0});
  const auto upper = test::fixed_filter(
      "upper", {Frequency::megahertz(940), Frequency::megahertz(960)}, Frequency::kilohertz(300));
  sheet.filters = {test::sliding_filter("slide-40", test::fine_tuning()), test::wide_filter(),
                   upper};
  return std::make_shared<const plan::Datasheet>(std::move(sheet));
}

plan::Carrier microphone(const std::string& name, double megahertz) {
  plan::Carrier carrier;
  carrier.name = {name};
  carrier.use = plan::CarrierUse::receive;
  carrier.frequency = Frequency::megahertz(megahertz);
  carrier.bandwidth = Frequency::kilohertz(200);
  carrier.erp = PowerLevel::dbm(10);
  carrier.nearest = rf::Metres::of(10);
  carrier.farthest = rf::Metres::of(50);
  carrier.receivers = {{"singers"}};
  return carrier;
}

plan::Carrier in_ear(const std::string& name, double megahertz, double metres) {
  auto carrier = microphone(name, megahertz);
  carrier.use = plan::CarrierUse::transmit;
  carrier.erp = PowerLevel::dbm(17);
  carrier.nearest = carrier.farthest = rf::Metres::of(metres);
  carrier.receivers.clear();
  return carrier;
}

// One antenna of 6.5 dBi over the stage, some loss to the rack, one receiver.
plan::RackPlan stage(double feed_loss) {
  plan::RackPlan plan;
  plan.lines = {{"bus"}};
  plan::Node node;
  node.name = {"bow"};
  node.uid = NodeUid::from_bits(1);
  node.line = {"bus"};
  node.datasheet = inline_amplifier();
  node.antenna_gain = Decibel::of(6.5);
  node.feed = plan::Chain{plan::FixedLoss{"cable and splitter", Decibel::of(feed_loss)}};
  plan.nodes = {node};
  plan::Receiver receiver;
  receiver.name = {"singers"};
  receiver.branches = {{{node.name}}};
  receiver.input = plan::ReceiverInput{Decibel::of(8), PowerLevel::dbm(-95), PowerLevel::dbm(-15),
                                       PowerLevel::dbm(15), Decibel::of(12)};
  plan.receivers = {receiver};
  plan::Segment segment;
  segment.name = {"songs"};
  segment.carriers = {microphone("alto", 520), microphone("tenor", 527)};
  plan.segments = {segment};
  return plan;
}

// A second node like the first, on the same branch: what follows is behind a combiner of the two.
plan::Branch& combine_with_stern(plan::RackPlan& plan) {
  auto stern = plan.nodes.front();
  stern.name = {"stern"};
  stern.uid = NodeUid::from_bits(2);
  plan.nodes.push_back(stern);
  auto& branch = plan.receivers.front().branches.front();
  branch.nodes.push_back(stern.name);
  return branch;
}

plan::Settings at(double gain, double centre, std::uint8_t filter = 0) {
  return {Gain::decibels(gain), filter, Frequency::megahertz(centre), true, ""};
}

Verdict verdict_on(const plan::RackPlan& plan, const plan::Settings& settings) {
  return check({plan, plan.segments.front(),
                [](const plan::NodeName&) { return PossibleSettings{}; }, false},
               plan.nodes.front(), settings);
}

// "caution chain-gain", in the order of the verdict, notes left out.
std::vector<std::string> says(const plan::RackPlan& plan, const plan::Settings& settings) {
  std::vector<std::string> words;
  for (const auto& finding : verdict_on(plan, settings).findings)
    if (finding.severity != Severity::note)
      words.push_back(std::string{name_of(finding.severity)} + ' ' +
                      std::string{name_of(finding.rule)});
  return words;
}

Finding the(const Verdict& verdict, Rule rule) {
  const auto found = std::ranges::find(verdict.findings, rule, &Finding::rule);
  REQUIRE(found != verdict.findings.end());
  return *found;
}

double number(const Finding& finding, const std::string& name) {
  const auto found = std::ranges::find(finding.numbers, name, &Number::name);
  REQUIRE(found != finding.numbers.end());
  return found->value;
}

using Words = std::vector<std::string>;

}  // namespace

TEST_CASE("gain goes from -12 to +27 dB in whole steps, and the window from 410 to 760 MHz") {
  const auto plan = stage(15);
  CHECK(says(plan, at(28, 520)) == Words{"refuse gain-range"});
  CHECK(says(plan, at(-13, 520)) == Words{"refuse gain-range"});
  CHECK(says(plan, at(16.5, 520)) == Words{"refuse gain-step"});
  CHECK(says(plan, at(16, 429))[0] == "refuse centre-range");
  CHECK(says(plan, at(16, 741))[0] == "refuse centre-range");
  const auto& slide = plan.nodes.front().datasheet->filters.front();
  CHECK(slide.passband(slide.tuning->lowest).low == Frequency::megahertz(410));
  CHECK(slide.passband(slide.tuning->highest).high == Frequency::megahertz(760));
}

TEST_CASE("the gain makes up for the cable and no more") {
  // 15 dB from node to receiver: +16 to +20 dB serve, and a window in the middle loses almost
  // nothing.
  const auto plan = stage(15);
  CHECK(says(plan, at(10, 523)) == Words{"caution chain-gain"});
  CHECK(says(plan, at(17, 523)) == Words{});
  CHECK(says(plan, at(20, 523)) == Words{});
  CHECK(says(plan, at(22, 523)) == Words{"caution chain-gain"});
  const auto low = the(verdict_on(plan, at(10, 523)), Rule::chain_gain);
  CHECK(number(low, "chain gain") == doctest::Approx(-5.0).epsilon(0.02));
  // The same amplifier right at the receiver needs to pad.
  const auto near_by = stage(0.5);
  CHECK(says(near_by, at(17, 523))[0] == "caution chain-gain");
  CHECK(says(near_by, at(2, 523)) == Words{});
}

TEST_CASE("levels are those of the textbook") {
  const auto plan = stage(15);
  const auto explained = explain(plan, plan.segments.front(), plan.nodes.front(), at(17, 523),
                                 [](const plan::NodeName&) { return std::nullopt; }, {"alto"});
  REQUIRE(explained.chains.size() == 1);
  const auto& chain = explained.chains.front();
  REQUIRE(chain.stages.size() == 5);  // antenna, filter, amplifier, feed, receiver
  const double weakest = 10 + 2.15 - free_space(50, 520) + 6.5;
  CHECK(chain.stages[0].weakest->dbm() == doctest::Approx(weakest).epsilon(0.0005));
  CHECK(chain.stages[0].strongest->dbm() ==
        doctest::Approx(10 + 2.15 - free_space(10, 520) + 6.5).epsilon(0.0005));
  // Friis by hand: filter loss L first, then 3 dB with 17 dB of gain, 15 dB of loss, 8 dB.
  const double filter = -chain.stages[1].gain.value();
  const auto ratio = [](double db) { return std::pow(10.0, db / 10.0); };
  const double factor = ratio(filter) * (ratio(3.0) + (ratio(15.0 + 8.0) - 1.0) / ratio(17.0));
  CHECK(chain.budget.noise_figure.value() ==
        doctest::Approx(10.0 * std::log10(factor)).epsilon(1e-9));
  const double noise = -173.975 + 10.0 * std::log10(200e3) + chain.budget.noise_figure.value();
  CHECK(chain.budget.noise.dbm() == doctest::Approx(noise).epsilon(1e-4));
  // −95 dBm with 8 dB of noise figure in 200 kHz is 17.96 dB over the noise.
  const double needed = noise - 0.0 + (-95.0 - (-173.975 + 53.0103 + 8.0));
  CHECK(*chain.budget.margin() ==
        Decibel::of(chain.budget.weakest->dbm() - chain.budget.needed->dbm()));
  CHECK(chain.budget.needed->dbm() ==
        doctest::Approx(needed + chain.budget.desensitisation.value()).epsilon(1e-4));
}

TEST_CASE("our own in-ear transmitter has to stay out of the window") {
  auto plan = stage(15);
  plan.segments.front().carriers.push_back(in_ear("ear", 536, 12));
  CHECK(says(plan, at(17, 523))[0] == "refuse own-transmitter-in-window");
  // Tuned so that the microphones lie at the upper edge, the window ends below it.
  CHECK(says(plan, at(17, 511)) == Words{});
  // Sixty megahertz away nobody minds.
  plan.segments.front().carriers.back().frequency = Frequency::megahertz(600);
  CHECK(says(plan, at(17, 523)) == Words{});
}

TEST_CASE("a strong transmitter close to the antenna overloads what lets it in") {
  // 1 W, one metre from the antenna, in the wide setting: past compression at any useful gain.
  auto plan = stage(15);
  auto camera = in_ear("camera", 640, 1);
  camera.erp = PowerLevel::dbm(30);
  plan.segments.front().carriers.push_back(camera);
  const auto wide = verdict_on(plan, {Gain::decibels(27), 1, {}, true, ""});
  const auto overload = the(wide, Rule::amplifier_overload);
  CHECK(overload.concerns == Words{"camera"});
  // The sliding window far below rejects it by tens of decibels.
  const auto narrow = verdict_on(plan, at(17, 511));
  CHECK(std::ranges::find(narrow.findings, Rule::amplifier_overload, &Finding::rule) ==
        narrow.findings.end());
}

TEST_CASE("a fixed filter from 940 to 960 MHz passes the upper microphones and no others") {
  auto plan = stage(15);
  plan.segments.front().carriers = {microphone("high", 941.7), microphone("higher", 958.5)};
  CHECK(says(plan, {Gain::decibels(17), 2, {}, true, ""}) == Words{});
  CHECK(says(plan, {Gain::decibels(17), 1, {}, true, ""})[0] == "refuse carrier-outside-window");
}

TEST_CASE(
    "with the power gone the antenna still has its 6.5 dBi, and the feed's loss is not made up") {
  const auto plan = stage(15);
  const auto note = the(verdict_on(plan, at(17, 523)), Rule::if_power_fails);
  CHECK(note.severity == Severity::note);
  // Passive: 1 dB through the node and 15 dB of feed.
  CHECK(number(note, "chain gain passive") == doctest::Approx(-16.0).epsilon(1e-9));
  // Losses before the receiver add to its noise figure, decibel by decibel.
  CHECK(number(note, "noise figure passive") == doctest::Approx(1.0 + 15.0 + 8.0).epsilon(1e-9));
  // The antenna's gain counts all the same: weakest −40.9 dBm at 50 m, needed −79.0.
  const double weakest = 10 + 2.15 - free_space(50, 527) + 6.5;
  CHECK(number(note, "margin passive") == doctest::Approx(weakest - (-95.0 + 16.0)).epsilon(0.001));
}

TEST_CASE("who hears less of an antenna without its power is told, in the dB that its link loses") {
  // Powered 3 dB, 15 dB of feed and 8 dB of receiver behind 17 dB of gain; passive the decibels
  // add.
  const double feed = std::pow(10, 1.5);
  const double gain = std::pow(10, 1.7);
  const double powered =
      std::pow(10, 0.3) + (feed - 1) / gain + (std::pow(10, 0.8) - 1) * feed / gain;
  const double less = 1.0 + 15.0 + 8.0 - 10 * std::log10(powered);
  const double left = 10 + 2.15 - free_space(50, 527) + 6.5 - (-95.0 + 16.0);
  const auto told = [](double feed_loss, const plan::Settings& settings) {
    const auto plan = stage(feed_loss);
    const Surroundings around{plan, plan.segments.front(),
                              [](const plan::NodeName&) { return PossibleSettings{}; }, false};
    return heard_less_without_power(around, plan.nodes.front(), settings);
  };
  const auto sentence = told(15, at(17, 523));
  CAPTURE(sentence);
  std::smatch said;
  // Of the two the one that is left with less.
  REQUIRE(std::regex_match(
      sentence, said,
      std::regex{"singers hears tenor ([0-9.]+) dB less by it, with ([0-9.]+) dB of margin left"}));
  CHECK(near(std::stod(said[1]), less, 0.06));
  CHECK(near(std::stod(said[2]), left, 0.06));
  // With 45 dB of feed more nothing is left.
  const auto lost = told(60, at(27, 523));
  CAPTURE(lost);
  REQUIRE(std::regex_search(lost, said, std::regex{" dB less by it, ([0-9.]+) dB too little$"}));
  CHECK(near(std::stod(said[1]), 45.0 - left, 0.06));
  // Nobody loses by what is off already.
  auto off = at(17, 523);
  off.power = false;
  CHECK(told(15, off).empty());
}

TEST_CASE("asked what to set, it makes up for the cable and puts the window over the microphones") {
  auto plan = stage(15);
  plan.segments.front().carriers.push_back(in_ear("ear", 545, 12));
  const Surroundings around{plan, plan.segments.front(),
                            [](const plan::NodeName&) { return PossibleSettings{}; }, false};
  const auto answer = recommend(around, plan.nodes.front(), {});
  CHECK(answer.clean);
  CHECK(answer.settings.gain >= Gain::decibels(15));
  CHECK(answer.settings.gain <= Gain::decibels(22));
  const auto& filter = plan.nodes.front().datasheet->filters[answer.settings.filter];
  CHECK(filter.surely_passed(answer.settings.centre)
            .contains({Frequency::megahertz(519.9), Frequency::megahertz(527.1)}));
  CHECK_FALSE(filter.perhaps_passed(answer.settings.centre)
                  .overlaps({Frequency::megahertz(544.9), Frequency::megahertz(545.1)}));
}

TEST_CASE("if no window holds all microphones, it says which to move and how far") {
  auto plan = stage(15);
  plan.segments.front().carriers.push_back(microphone("soprano", 640));
  const Surroundings around{plan, plan.segments.front(),
                            [](const plan::NodeName&) { return PossibleSettings{}; }, false};
  const auto answer = recommend(around, plan.nodes.front(), {});
  CHECK_FALSE(answer.clean);
  REQUIRE_FALSE(answer.advice.empty());
  CHECK(answer.advice.front().starts_with("Move soprano down by at least "));
}

// ---- an amplifier at the antenna, before the node ----------------------------------------------

namespace {

// 30 dB at the mast with a noise figure of 3 dB, and 20 dB of cable down to the node.
plan::RackPlan with_mast_amplifier(double output_p1db, double output_ip3) {
  auto plan = stage(15);
  plan.nodes.front().lead = {
      plan::RackAmplifier{"mast amplifier", Decibel::of(30), Decibel::of(3),
                          PowerLevel::dbm(output_p1db), PowerLevel::dbm(output_ip3)},
      plan::FixedLoss{"mast cable", Decibel::of(20)}};
  return plan;
}

// As good as without modulation.
plan::Carrier narrow(plan::Carrier carrier) {
  carrier.bandwidth = Frequency::kilohertz(1);
  return carrier;
}

double ratio(double db) { return std::pow(10.0, db / 10.0); }

}  // namespace

TEST_CASE("a noise figure begins with the amplifier at the antenna, and never lies under kTB") {
  // Friis by hand: 3 dB with 30 dB of gain, 20 dB of cable, the filter, 3 dB with 27 dB of gain,
  // 15 dB of feed, 8 dB in the receiver. Were the mast a loss below zero, it would be some −6 dB.
  const auto plan = with_mast_amplifier(20, 40);
  const auto explained = explain(plan, plan.segments.front(), plan.nodes.front(), at(27, 523),
                                 [](const plan::NodeName&) { return std::nullopt; }, {"alto"});
  REQUIRE(explained.chains.size() == 1);
  const auto& chain = explained.chains.front();
  REQUIRE(chain.stages.size() == 7);
  CHECK(chain.stages[1].name == "mast amplifier");
  const double filter = -chain.stages[3].gain.value();
  const double behind_mast =
      ratio(20.0) * ratio(filter) * (ratio(3.0) + (ratio(15.0 + 8.0) - 1.0) / ratio(27.0));
  const double factor = ratio(3.0) + (behind_mast - 1.0) / ratio(30.0);
  CHECK(chain.budget.noise_figure.value() ==
        doctest::Approx(10.0 * std::log10(factor)).epsilon(1e-9));
  CHECK(chain.stages.back().noise_figure_so_far.value() ==
        doctest::Approx(chain.budget.noise_figure.value()).epsilon(1e-9));
  CHECK(chain.budget.noise > rf::thermal_noise(Frequency::kilohertz(200)) + Decibel::of(3));
  CHECK(chain.budget.chain_gain.value() ==
        doctest::Approx(30 - 20 - filter + 27 - 15).epsilon(1e-9));
}

TEST_CASE("an amplifier at the antenna makes products of all that it meets, whatever the window") {
  // Two in-ear transmitters far above the window; twice the lower minus the upper falls on alto.
  // At the antenna 17 + 2.15 − free space + 6.5 each, and the product, referred there, at
  // 3·P − 2·(OIP3 − G): the same formula as in rf/intermodulation.hpp (Analog Devices).
  auto plan = with_mast_amplifier(30, 40);
  // Narrow: all of the product lies in the channel.
  plan.segments.front().carriers.push_back(narrow(in_ear("ear-1", 600, 20)));
  plan.segments.front().carriers.push_back(narrow(in_ear("ear-2", 680, 20)));
  const auto explained = explain(plan, plan.segments.front(), plan.nodes.front(), at(-5, 523),
                                 [](const plan::NodeName&) { return std::nullopt; }, {"alto"});
  REQUIRE(explained.chains.size() == 1);
  const auto& chain = explained.chains.front();
  const auto level = [](double megahertz) { return 17 + 2.15 - free_space(20, megahertz) + 6.5; };
  const double product = 2 * level(600) + level(680) - 2 * (40.0 - 30.0);
  REQUIRE_FALSE(chain.products.empty());
  CHECK(chain.products.front().carriers == Words{"ear-1", "ear-2"});
  // Behind the filter, which rejects both, hardly anything is added.
  CHECK(chain.products.front().level.dbm() == doctest::Approx(product).epsilon(0.0005));
  CHECK(chain.budget.intermodulation.dbm() == doctest::Approx(product).epsilon(0.0005));
}

TEST_CASE("an amplifier at the antenna that is driven too far is found, and no window helps") {
  // 1 W one metre away comes in with some 3 dBm; 33 dBm are more than any mast amplifier has.
  auto plan = with_mast_amplifier(20, 40);
  auto camera = in_ear("camera", 700, 1);
  camera.erp = PowerLevel::dbm(30);
  plan.segments.front().carriers.push_back(camera);
  const auto verdict = verdict_on(plan, at(-10, 511));
  const auto overload = the(verdict, Rule::amplifier_overload);
  CHECK(overload.severity == Severity::refuse);
  CHECK(overload.concerns == Words{"camera", "mast amplifier"});
  const double output = 30 + 2.15 - free_space(1, 700) + 6.5 + 30;
  CHECK(number(overload, "output") == doctest::Approx(output).epsilon(0.01));
  CHECK(overload.sentence.ends_with(
      " It stands before bow, whose filter and gain change nothing for it."));
}

TEST_CASE("near compression products that nearly count are a caution, and others are none") {
  const auto plan = stage(10);
  const auto& node = plan.nodes.front();
  const NodePhysics physics{plan, plan.segments.front(), node,
                            [](const plan::NodeName&) { return std::optional<plan::Settings>{}; }};
  const auto settings = at(8, 523);
  const TunedNode tuned{physics, settings};
  // So far below compression, and products on alto so far over the noise; they count from −6 dB on.
  const auto found = [&](double below, double over_noise) {
    auto budget = tuned.at(settings.gain);
    auto& load = budget.amplifiers.front();
    load.output = load.output_p1db - Decibel::of(below);
    auto& alto = budget.carriers.front();
    alto.intermodulation = alto.noise + Decibel::of(over_noise);
    for (std::size_t i = 1; i < budget.carriers.size(); ++i)
      budget.carriers[i].intermodulation = rf::no_power();
    Verdict verdict{judge(plan, node, tuned, settings.gain, budget)};
    std::erase_if(verdict.findings,
                  [](const Finding& finding) { return finding.rule != Rule::near_compression; });
    return verdict.findings;
  };
  const auto caution = found(8, -9);
  REQUIRE(caution.size() == 1);
  CHECK(caution.front().severity == Severity::caution);
  CHECK(caution.front().concerns == Words{"alto", "singers", "bow"});
  CHECK(caution.front().sentence ==
        "The amplifier of bow is 8.0 dB below its 1 dB compression point. Nearer than 10.0 dB "
        "products are stronger than computed; those on alto at receiver singers are 3.0 dB from "
        "counting already.");
  CHECK(found(10.1, -9).empty());
  CHECK(found(8, -17).empty());  // 11 dB from counting
  // They count, and cost nothing that is wanted: a note of the other rule, and a caution still.
  const auto counting = found(8, -4);
  REQUIRE(counting.size() == 1);
  CHECK(counting.front().sentence.ends_with(
      "those on alto at receiver singers count already, though they cost no margin yet."));
  CHECK(found(8, 80).empty());   // a caution of intermodulation-on-carrier already
  CHECK(found(-1, -4).empty());  // refused by amplifier-overload
}

// ---- a measured isolation ----------------------------------------------------------------------

TEST_CASE("a measured isolation wins over an extra loss, and whoever asks is told so") {
  auto plan = stage(15);
  auto& alto = plan.segments.front().carriers.front();
  alto.extra_loss = Decibel::of(8);
  alto.isolations = {{{"bow"}, Decibel::of(60)}};
  const auto verdict = verdict_on(plan, at(17, 523));
  const auto note = the(verdict, Rule::link_margin);
  CHECK(note.severity == Severity::note);
  CHECK(note.sentence ==
        "A measured isolation wins over an extra loss: at bow, that of alto (8.0 dB) is not taken "
        "off the weakest level again.");
  const auto explained = explain(plan, plan.segments.front(), plan.nodes.front(), at(17, 523),
                                 [](const plan::NodeName&) { return std::nullopt; }, {"alto"});
  CHECK(explained.chains.front().budget.weakest == PowerLevel::dbm(10 - 60));
  CHECK(std::ranges::count(explained.unknown, note.sentence) == 1);
  const auto of_segment = the(check_segment(plan, plan.segments.front()), Rule::link_margin);
  CHECK(of_segment.severity == Severity::note);
  CHECK(of_segment.concerns == Words{"alto"});
  // Without the loss, or without the measurement, there is nothing to tell.
  alto.extra_loss = {};
  CHECK(std::ranges::count(verdict_on(plan, at(17, 523)).findings, Rule::link_margin,
                           &Finding::rule) == 0);
  alto.extra_loss = Decibel::of(8);
  alto.isolations.clear();
  CHECK(std::ranges::count(verdict_on(plan, at(17, 523)).findings, Rule::link_margin,
                           &Finding::rule) == 0);
}

// ---- what a receiver needs ---------------------------------------------------------------------

namespace {

// Its level at the antenna's terminals, whatever the distance.
plan::Carrier arriving(plan::Carrier carrier, double dbm) {
  carrier.isolations = {{{"bow"}, *carrier.erp - PowerLevel::dbm(dbm)}};
  return carrier;
}

}  // namespace

TEST_CASE("what is needed is over interference by the protection ratio, where that asks for more") {
  // A transmitter on alto's own frequency comes in with −83 dBm, far above the noise of some −113.
  // The receiver's sensitivity stands 18 dB over its noise; the protection ratio asks for 40 dB.
  auto plan = stage(15);
  auto& input = *plan.receivers.front().input;
  auto& segment = plan.segments.front();
  segment.carriers = {arriving(microphone("alto", 520), -60),
                      arriving(in_ear("ear", 520, 10), -83)};
  const auto needed = [&](double protection) {
    input.protection_ratio = Decibel::of(protection);
    const NodePhysics physics{plan, segment, plan.nodes.front(),
                              [](const plan::NodeName&) { return std::nullopt; }};
    return budget_of(physics, at(17, 523)).carriers.front();
  };
  const auto strict = needed(40);
  CHECK(strict.protection_decides);
  CHECK(strict.needed->dbm() == doctest::Approx(-83 + 40).epsilon(1e-9));
  CHECK(strict.margin()->value() == doctest::Approx(-60 + 83 - 40).epsilon(1e-9));
  // A receiver that asks for less is limited by what interference adds to the noise: by hand the
  // powers of both, and 17.96 dB over them.
  const auto mild = needed(12);
  CHECK_FALSE(mild.protection_decides);
  const double both = 10.0 * std::log10(ratio(mild.noise.dbm()) + ratio(-83.0));
  const double over = -95.0 - (-173.975 + 53.0103 + 8.0);
  CHECK(mild.needed->dbm() == doctest::Approx(both + over).epsilon(1e-5));
  CHECK(strict.interference_costs - mild.interference_costs == *strict.needed - *mild.needed);

  input.protection_ratio = Decibel::of(40);
  // The same again, when a search only puts other products in.
  CHECK(strict.with_intermodulation(strict.intermodulation).needed == strict.needed);
  const auto finding = the(verdict_on(plan, at(17, 523)), Rule::link_margin);
  CHECK(finding.severity == Severity::caution);
  CHECK(finding.sentence ==
        "alto comes in with -60.0 dBm at its weakest, 17.0 dB less than the -43.0 dBm that at "
        "receiver singers is needed, 40.0 dB over -83.0 dBm of interference in its channel.");
}

TEST_CASE("the table has what other antennas bring to the combiner, and the margins of the check") {
  // Stern hears the ear with −3 dBm, bow with −103. Stern has no power: 1 dB; 15 dB of feed; two
  // ways, 3.01 dB; then 10 dB of gain, with 20 dBm at the compression point.
  auto plan = stage(15);
  auto& branch = combine_with_stern(plan);
  branch.chain = {plan::RackAmplifier{"rack amplifier", Decibel::of(10), Decibel::of(4),
                                      PowerLevel::dbm(20), PowerLevel::dbm(35)}};
  auto& segment = plan.segments.front();
  auto alto = microphone("alto", 520);
  alto.isolations = {{{"bow"}, Decibel::of(100)}, {{"stern"}, Decibel::of(100)}};
  auto ear = in_ear("ear", 600, 10);
  ear.isolations = {{{"bow"}, Decibel::of(120)}, {{"stern"}, Decibel::of(20)}};
  segment.carriers = {alto, ear};
  const auto nobody = [](const plan::NodeName&) { return std::nullopt; };
  const auto explained = explain(plan, segment, plan.nodes.front(), at(17, 523), nobody, {"alto"});
  REQUIRE(explained.chains.size() == 1);
  const auto& stages = explained.chains.front().stages;
  REQUIRE(stages.size() == 7);  // antenna, filter, bow, feed, combiner, rack amplifier, receiver
  CHECK(stages[3].other_antennas == rf::no_power());
  const double behind = -3.0 - 1.0 - 15.0 - 10.0 * std::log10(2.0);
  CHECK(stages[4].other_antennas.dbm() == doctest::Approx(behind).epsilon(1e-6));
  CHECK(stages[4].all_carriers.dbm() == doctest::Approx(behind).epsilon(1e-4));
  CHECK(stages[5].margin->value() == doctest::Approx(20.0 - (behind + 10.0)).epsilon(1e-4));
  CHECK(stages[6].margin->value() == doctest::Approx(-15.0 - (behind + 10.0)).epsilon(1e-4));
  const auto budget = budget_of({plan, segment, plan.nodes.front(), nobody}, at(17, 523));
  CHECK(budget.amplifiers.back().amplifier == "rack amplifier");
  CHECK(stages[5].margin->value() ==
        doctest::Approx(budget.amplifiers.back().margin().value()).epsilon(1e-9));
  CHECK(stages[6].margin->value() ==
        doctest::Approx(budget.receivers.front().margin().value()).epsilon(1e-9));
}

TEST_CASE(
    "what amplifiers at another antenna make before the combiner comes in with its carriers") {
  // Stern hears two in-ears with −20 dBm each and makes twice ear-1 minus ear-2 of them, on alto:
  // 3·(−20) − 2·(40 − 17) = −106 dBm at its amplifier's input. Bow hears nothing of the ears. Both
  // are set alike, so that at bow's antenna it is as strong as at stern's.
  auto plan = stage(15);
  combine_with_stern(plan);
  plan.receivers.front().input->input_ip3 = PowerLevel::dbm(120);
  auto& segment = plan.segments.front();
  const auto ear = [](const std::string& name, double megahertz) {
    auto carrier = narrow(in_ear(name, megahertz, 10));
    carrier.isolations = {{{"bow"}, Decibel::of(150)}, {{"stern"}, Decibel::of(37)}};
    return carrier;
  };
  // On the channels of a filter that is flat there, 0.5 MHz apart in the middle of the window.
  segment.carriers = {microphone("alto", 523), ear("ear-1", 523.5), ear("ear-2", 524)};
  const auto both = [](const plan::NodeName&) { return std::optional{at(17, 523.5)}; };
  const NodePhysics physics{plan, segment, plan.nodes.front(), both};
  const TunedNode tuned{physics, at(17, 523.5)};
  const auto budget = tuned.at(Gain::decibels(17));
  REQUIRE(budget.carriers.size() == 1);
  const auto& alto = budget.carriers.front();
  CHECK(near(alto.brought_products.dbm(), -106, 0.1));
  CHECK(alto.intermodulation < alto.brought_products - Decibel::of(60));
  CHECK(alto.most_of_interference() == Interference::brought_products);
  const auto made = tuned.brought(alto, Gain::decibels(17));
  REQUIRE(made.size() == 1);
  CHECK(made.front().by->name.text == "stern");
  CHECK(physics.words_for(made.front().product) == "twice ear-1 minus ear-2");
  CHECK(near((made.front().product.level - alto.brought_products).value(), 0, 1e-9));
  // A gain 6 dB lower at stern: the carriers are as strong there, and so are products at the
  // output, less 6 dB of gain and, the output's intercept being what it is, twice that.
  const auto lower = [](const plan::NodeName&) { return std::optional{at(11, 523.5)}; };
  const auto less = budget_of({plan, segment, plan.nodes.front(), lower}, at(17, 523.5));
  CHECK(near((alto.brought_products - less.carriers.front().brought_products).value(), 18, 1e-6));
  // Passive it makes none.
  const auto nobody = [](const plan::NodeName&) { return std::nullopt; };
  const auto none = budget_of({plan, segment, plan.nodes.front(), nobody}, at(17, 523.5));
  CHECK(none.carriers.front().brought_products == rf::no_power());
  // Nor in settings that its datasheet does not have, which count as passive: nodes may say
  // anything.
  const auto beyond = [](const plan::NodeName&) { return std::optional{at(60, 523.5)}; };
  const auto lied = budget_of({plan, segment, plan.nodes.front(), beyond}, at(17, 523.5));
  CHECK(lied.carriers.front().brought_products == rf::no_power());
  // From 50 m alto has −42 dBm: with 70 dB of protection the finding names who makes it.
  plan.receivers.front().input->protection_ratio = Decibel::of(70);
  const auto verdict =
      check({plan, segment,
             [&](const plan::NodeName& name) { return PossibleSettings{*both(name)}; }, false},
            plan.nodes.front(), at(17, 523.5));
  const auto finding = the(verdict, Rule::link_margin);
  CHECK(finding.sentence.find("most of the interference is made by amplifiers at stern, before the "
                              "combiner: twice ear-1 minus ear-2") != std::string::npos);
  CHECK(near(number(finding, "products of other antennas"), alto.brought_products.dbm(), 1e-6));
}

TEST_CASE("where a datasheet has a fifth-order intercept, products of the fifth order count") {
  // Three times ear-1 minus twice ear-2 falls on alto, with 3·(−12) + 2·(−14) − 4·(33 − 17) dBm at
  // the amplifier's input, −128; both as strong as they are at the antenna, in a window that is
  // flat.
  auto plan = stage(15);
  auto sheet = *inline_amplifier();
  sheet.output_ip5_dbm = 33;
  plan.nodes.front().datasheet = std::make_shared<const plan::Datasheet>(sheet);
  plan.receivers.front().input->input_ip3 = PowerLevel::dbm(120);
  auto& segment = plan.segments.front();
  const auto ear = [](const std::string& name, double megahertz, double level) {
    auto carrier = narrow(in_ear(name, megahertz, 10));
    carrier.isolations = {{{"bow"}, *carrier.erp - PowerLevel::dbm(level)}};
    return carrier;
  };
  segment.carriers = {microphone("alto", 523), ear("ear-1", 523.5, -12), ear("ear-2", 523.75, -14)};
  const auto nobody = [](const plan::NodeName&) { return std::nullopt; };
  const NodePhysics physics{plan, segment, plan.nodes.front(), nobody};
  const TunedNode tuned{physics, at(17, 523.5)};
  const auto alto = tuned.at(Gain::decibels(17)).carriers.front();
  CHECK(near(alto.intermodulation.dbm(), -128, 0.1));
  const auto products = tuned.products(alto, Gain::decibels(17));
  REQUIRE(products.size() == 1);
  CHECK(products.front().order == rf::Order::fifth);
  CHECK(products.front().at == Frequency::megahertz(523));
  CHECK(physics.words_for(products.front()) == "three times ear-1 minus twice ear-2");
  CHECK(tuned.worst_product(alto, Gain::decibels(17))->level == products.front().level);
  CHECK(near((products.front().level - alto.intermodulation).value(), 0, 1e-9));
  // Both 1 dB stronger at the antenna: 5 dB.
  for (std::size_t i : {1, 2})
    segment.carriers[i].isolations[{"bow"}] =
        segment.carriers[i].isolations[{"bow"}] - Decibel::of(1);
  const auto more = budget_of({plan, segment, plan.nodes.front(), nobody}, at(17, 523.5));
  CHECK(near((more.carriers.front().intermodulation - alto.intermodulation).value(), 5, 1e-6));
  // Without the figure there is none.
  plan.nodes.front().datasheet = inline_amplifier();
  const auto without = budget_of({plan, segment, plan.nodes.front(), nobody}, at(17, 523.5));
  CHECK(without.carriers.front().intermodulation == rf::no_power());
}

TEST_CASE("a transmitter's noise comes in by whichever antenna of a combiner brings it") {
  // −140 dBc/Hz in 200 kHz are −87 dBc. Bow hears the ear with −103 dBm, stern with −3 dBm; stern
  // has no power, and so 1 dB of loss where bow has 17 dB of gain, less its filter's loss.
  auto plan = stage(15);
  combine_with_stern(plan);
  auto& segment = plan.segments.front();
  auto ear = in_ear("ear", 600, 10);
  ear.isolations = {{{"bow"}, Decibel::of(120)}, {{"stern"}, Decibel::of(20)}};
  ear.noise_density = Decibel::of(-140);
  segment.carriers = {microphone("alto", 520), ear};
  const auto explained = explain(plan, segment, plan.nodes.front(), at(17, 523),
                                 [](const plan::NodeName&) { return std::nullopt; }, {"alto"});
  REQUIRE(explained.chains.size() == 1);
  const auto& chain = explained.chains.front();
  const double filter = -chain.stages[1].gain.value();
  const double beside = -140 + 10.0 * std::log10(200e3);
  const double by_bow = 17 - 120 + beside;
  const double by_stern = 17 - 20 + beside + (-1.0 - (17.0 - filter));
  const double both = 10.0 * std::log10(ratio(by_bow) + ratio(by_stern));
  CHECK(chain.budget.transmitter_noise.dbm() == doctest::Approx(both).epsilon(1e-6));
}

// ---- beside the channel ------------------------------------------------------------------------

TEST_CASE("a rejection made of a blocking ratio gives the blocking ratio back") {
  // Measured with the wanted signal 3 dB over the sensitivity: a blocker 70 dB above it is where
  // the wanted one just does. Powers add, by hand.
  plan::ReceiverInput input{Decibel::of(8), PowerLevel::dbm(-95), PowerLevel::dbm(-15),
                            PowerLevel::dbm(15), Decibel::of(12)};
  const auto bandwidth = Frequency::kilohertz(200);
  const double over_noise = input.needed_over_noise(bandwidth).value();
  const double rejection = 70 + over_noise + 3 - 10.0 * std::log10(ratio(3.0) - 1.0);
  CHECK(rejection == doctest::Approx(70 + over_noise + 3.02).epsilon(0.0005));
  const double noise = -173.975 + 10.0 * std::log10(200e3) + 8.0;
  const double wanted = -95.0 + 3.0;
  const double in_channel = wanted + 70 - rejection;
  const double both = 10.0 * std::log10(ratio(noise) + ratio(in_channel));
  CHECK(wanted - both == doctest::Approx(over_noise).epsilon(1e-4));
  // The same by the budget, with the receiver right behind a node that adds next to nothing.
  auto plan = stage(0);
  input.blocking = {{Frequency::megahertz(2), Decibel::of(rejection)}};
  plan.receivers.front().input = input;
  auto sheet = *plan.nodes.front().datasheet;
  sheet.noise_figure_db = 0;
  sheet.output_ip3_dbm = 80;
  plan.nodes.front().datasheet = std::make_shared<const plan::Datasheet>(std::move(sheet));
  auto& segment = plan.segments.front();
  // 60 dB of attenuation behind 0 dB of gain is what makes the receiver's noise the only one.
  plan.nodes.front().feed = plan::Chain{plan::FixedLoss{"pad", Decibel::of(60)}};
  segment.carriers = {arriving(microphone("alto", 520), wanted + 60),
                      arriving(in_ear("ear", 523, 10), wanted + 70 + 60)};
  const auto budget = budget_of(
      {plan, segment, plan.nodes.front(), [](const plan::NodeName&) { return std::nullopt; }},
      at(0, 521.5));
  CHECK(budget.carriers.front().margin()->value() == doctest::Approx(0.0).epsilon(0.02));
}

TEST_CASE("under a high protection ratio a blocker counts that does much less than the noise") {
  const double noise = -173.975 + 10.0 * std::log10(200e3) + 8.0;
  plan::ReceiverInput input{Decibel::of(8), PowerLevel::dbm(noise + 8), PowerLevel::dbm(-15),
                            PowerLevel::dbm(15), Decibel::of(60)};
  input.blocking = {{Frequency::megahertz(2), Decibel::of(60)}};
  auto plan = stage(0);
  plan.receivers.front().input = input;
  auto sheet = *plan.nodes.front().datasheet;
  sheet.noise_figure_db = 0;
  sheet.output_ip3_dbm = 80;
  plan.nodes.front().datasheet = std::make_shared<const plan::Datasheet>(std::move(sheet));
  // As above, 60 dB of attenuation leave the receiver's noise alone.
  plan.nodes.front().feed = plan::Chain{plan::FixedLoss{"pad", Decibel::of(60)}};
  // In the channel the ear does 45 dB less than the noise; 60 dB over that is 7 dB more than what
  // noise asks for.
  plan.segments.front().carriers = {arriving(microphone("alto", 520), noise + 15 + 60),
                                    arriving(in_ear("ear", 523, 10), noise - 45 + 60 + 60)};
  const auto budget = budget_of({plan, plan.segments.front(), plan.nodes.front(),
                                 [](const plan::NodeName&) { return std::nullopt; }},
                                at(0, 521.5));
  const auto& alto = budget.carriers.front();
  CHECK(alto.protection_decides);
  CHECK(alto.interference_costs.value() == doctest::Approx(7.0).epsilon(0.01));
  CHECK(alto.margin()->value() == doctest::Approx(0.0).epsilon(0.02));
}

TEST_CASE("who stands nearer than a receiver's figures begin is told, and who has no figures") {
  auto plan = stage(15);
  auto& segment = plan.segments.front();
  segment.carriers = {arriving(microphone("alto", 520), -60),
                      arriving(in_ear("ear", 520.3, 10), -60),
                      arriving(in_ear("far", 526, 10), -60)};
  const auto told = [&] {
    return explain(plan, segment, plan.nodes.front(), at(17, 523),
                   [](const plan::NodeName&) { return std::nullopt; }, {"alto"})
        .unknown;
  };
  CHECK(std::ranges::count(told(),
                           "The rack file gives no blocking figures of receiver singers: what "
                           "strong carriers beside a channel do in it is not counted.") == 1);
  plan.receivers.front().input->blocking = {{Frequency::kilohertz(400), Decibel::of(60)}};
  CHECK(std::ranges::count(
            told(),
            "Nearer than 0.400 MHz to a carrier no rejection of receiver singers is given, "
            "so what ear does there is not computed: a straight line down to 0 dB in the "
            "channel is assumed.") == 1);
}

// ---- products by their share ------------------------------------------------------------------

TEST_CASE("what of a product lies in a channel counts there, and beside it") {
  // Three carriers of 200 kHz of FM: even spectra of 130 kHz. Of a + b − c on the channel's centre,
  // a quadratic spline; the part within ±w/2·(200/130) of it by its cubic distribution.
  const auto with_third_at = [](double megahertz, rf::Modulation modulation) {
    auto plan = stage(15);
    auto& segment = plan.segments.front();
    segment.carriers = {
        arriving(microphone("alto", 520), -110), arriving(microphone("a", 522.5), -30),
        arriving(microphone("b", 521.5), -30), arriving(microphone("c", megahertz), -30)};
    for (auto& carrier : segment.carriers) carrier.modulation = modulation;
    const auto settings = at(17, 523);
    const NodePhysics physics{plan, segment, plan.nodes.front(),
                              [](const plan::NodeName&) { return std::nullopt; }};
    return budget_of(physics, settings).carriers.front().intermodulation;
  };
  const auto on_channel = with_third_at(524, rf::Modulation::fm);
  // Half the channel is 100 of 130 kHz: x = 0.769 widths from the middle of three; F(x) − F(−x).
  const double beyond = std::pow(1.5 - 100.0 / 130, 3) / 6;
  const double whole = on_channel.dbm() - 10.0 * std::log10(1 - 2 * beyond);
  for (const double beside : {0.05, 0.1, 0.101, 0.15, 0.2, 0.25}) {
    CAPTURE(beside);
    // The product's centre is so much lower: the channel lies from beside − 0.1 to beside + 0.1.
    const double low = (beside - 0.1) / 0.130;
    const double high = (beside + 0.1) / 0.130;
    const auto part_below = [](double x) {
      const auto cubed = [](double y) { return y > 0 ? y * y * y : 0.0; };
      return (cubed(x + 1.5) - 3 * cubed(x + 0.5) + 3 * cubed(x - 0.5) - cubed(x - 1.5)) / 6;
    };
    const double share = part_below(high) - part_below(low);
    CHECK(with_third_at(524 + beside, rf::Modulation::fm).dbm() ==
          doctest::Approx(whole + 10.0 * std::log10(share)).epsilon(0.0002));
  }
  CHECK(with_third_at(524.3, rf::Modulation::fm) == rf::no_power());
  // Wider: less on the channel, more beside it.
  CHECK(with_third_at(524, rf::Modulation::ofdm) < on_channel);
  CHECK(with_third_at(524.25, rf::Modulation::ofdm) >
        with_third_at(524.25, rf::Modulation::fm) + Decibel::of(6));
}

// ---- two antennas into one amplifier -----------------------------------------------------------

namespace {

// The power (mW) at one frequency of x − c·x³, by a Fourier sum over one common period of all
// tones; c of an amplifier whose products would be as strong as its tones, each of `ip3` mW:
// amplitudes A = √(2P), 3/4·c·A³ = A.
double cubed(const std::vector<std::pair<int, double>>& tones, double ip3, int at) {
  constexpr int samples = 8'192;
  const double c = 2.0 / (3.0 * ip3);
  double real = 0.0;
  double imaginary = 0.0;
  for (int n = 0; n < samples; ++n) {
    const auto turn = [n](int k) { return 2.0 * std::numbers::pi * k * n / samples; };
    double x = 0.0;
    for (const auto& [k, power] : tones) x += std::sqrt(2.0 * power) * std::cos(turn(k) + 0.3 * k);
    const double y = x - c * x * x * x;
    real += y * std::cos(turn(at)) * 2.0 / samples;
    imaginary += y * std::sin(turn(at)) * 2.0 / samples;
  }
  return (real * real + imaginary * imaginary) / 2.0;
}

}  // namespace

TEST_CASE("a cubic that two antennas feed makes the products that the budget has") {
  // Bow hears a, stern b and c; a + b − c falls on alto, at 522.5 + 521.5 − 524 MHz. Neither
  // antenna's own amplifier has all three.
  auto plan = stage(15);
  auto& branch = combine_with_stern(plan);
  const auto ip3 = PowerLevel::dbm(12);  // at its input
  auto& receiver = plan.receivers.front();
  receiver.input->input_ip3 = PowerLevel::dbm(120);
  branch.chain = {plan::RackAmplifier{"rack amplifier", Decibel::of(10), Decibel::of(4),
                                      PowerLevel::dbm(20), ip3 + Decibel::of(10)}};
  auto& segment = plan.segments.front();
  const auto heard = [](plan::Carrier carrier, double by_bow, double by_stern) {
    if (carrier.name.text != "alto") carrier = narrow(carrier);  // the cubic has no modulation
    carrier.isolations = {{{"bow"}, *carrier.erp - PowerLevel::dbm(by_bow)},
                          {{"stern"}, *carrier.erp - PowerLevel::dbm(by_stern)}};
    return carrier;
  };
  segment.carriers = {
      heard(microphone("alto", 520), -120, -120), heard(microphone("a", 522.5), -23, -160),
      heard(microphone("b", 521.5), -160, -26), heard(microphone("c", 524), -160, -21)};
  const auto settings = at(17, 523);
  const auto budget = budget_of({plan, segment, plan.nodes.front(),
                                 [&](const plan::NodeName&) { return std::optional{settings}; }},
                                settings);
  // To the rack amplifier: the filter, 17 dB of gain, 15 dB of feed, two ways.
  const auto filter = plan.nodes.front().datasheet->tuned(settings).value();
  const auto gain = [&](double megahertz) {
    return 17.0 - filter.attenuation(Frequency::megahertz(megahertz)).value() - 15.0 -
           10.0 * std::log10(2.0);
  };
  const std::vector<std::pair<int, double>> tones{{1045, ratio(-23 + gain(522.5))},
                                                  {1043, ratio(-26 + gain(521.5))},
                                                  {1048, ratio(-21 + gain(524))}};
  const double at_amplifier = 10.0 * std::log10(cubed(tones, ratio(ip3.dbm()), 1040));
  CHECK(budget.carriers.front().carrier->name.text == "alto");
  CHECK(budget.carriers.front().intermodulation.dbm() ==
        doctest::Approx(at_amplifier - gain(520)).epsilon(0.0002));
}
