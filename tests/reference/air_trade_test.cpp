// SPDX-License-Identifier: Apache-2.0
// What the air and the receiver's surroundings do to a budget, as a technician would expect it and
// work it out by hand: common practice, no source, where nothing else is said.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "daemon/rack/outlook/explain.hpp"
#include "daemon/rack/outlook/recommend.hpp"
#include "daemon/rack/rules/rules.hpp"
#include "tests/support/air_rack.hpp"
#include "tests/support/near.hpp"

using namespace catwalk;
using namespace catwalk::rack;
using rf::Decibel;
using rf::Metres;
using test::near;

namespace {

const SettingsOf nobody = [](const plan::NodeName&) { return std::nullopt; };

// Of the node as a plain loss.
Explained explained(const plan::RackPlan& plan) {
  auto all = explain(plan, plan.segments.front(), plan.nodes.front(), test::unpowered(), nobody,
                     {"guest-1"});
  REQUIRE(all.chains.size() == 1);
  return all;
}
ExplainedStage at_antenna(const plan::RackPlan& plan) {
  return explained(plan).chains.front().stages.front();
}

bool has(const std::vector<std::string>& sentences, const std::string& text) {
  return std::ranges::any_of(sentences, [&](const std::string& sentence) {
    return sentence.find(text) != std::string::npos;
  });
}

Verdict verdict(const plan::RackPlan& plan) {
  return check({plan, plan.segments.front(),
                [](const plan::NodeName&) { return PossibleSettings{}; }, false},
               plan.nodes.front(), test::unpowered());
}
// Of guest-1; nothing: its margin is enough.
std::optional<Finding> on_link(const plan::RackPlan& plan) {
  const auto all = verdict(plan).findings;
  const auto found = std::ranges::find(all, Rule::link_margin, &Finding::rule);
  return found == all.end() ? std::nullopt : std::optional{*found};
}
CarrierBudget budget(const plan::RackPlan& plan) { return explained(plan).chains.front().budget; }

// As much more loss on the way as leaves this margin.
void leave_margin(plan::RackPlan& plan, double margin) {
  auto& carrier = plan.segments.front().carriers.front();
  carrier.extra_loss = carrier.extra_loss + *budget(plan).margin() - Decibel::of(margin);
}

double number(const Finding& finding, const std::string& name) {
  const auto found = std::ranges::find(finding.numbers, name, &Number::name);
  REQUIRE(found != finding.numbers.end());
  return found->value;
}

// The receiver hears by a second antenna like the first.
void add_second_branch(plan::RackPlan& plan) {
  auto other = plan.nodes.front();
  other.name = {"stern"};
  other.uid = NodeUid::from_bits(2);
  plan.nodes.push_back(other);
  plan.receivers.front().branches.push_back({{other.name}});
}

double free_space(double metres, double megahertz) {
  return 20.0 * std::log10(metres) + 20.0 * std::log10(megahertz) - 27.55;
}
constexpr double eirp = 10 + 2.15;

}  // namespace

TEST_CASE("over a deck the strongest may be 6 dB stronger, and the weakest falls twice as fast") {
  auto plan = test::air_rack();
  plan.segments.front().carriers.front().farthest = Metres::of(2'000);
  const auto in_free_space = at_antenna(plan);
  CHECK(near(in_free_space.strongest->dbm(), eirp - free_space(10, 600), 0.01));
  CHECK(near(in_free_space.weakest->dbm(), eirp - free_space(2'000, 600), 0.01));
  CHECK(has(explained(plan).assumed, "free space (ITU-R P.525)"));

  plan.propagation = rf::TwoRay{Metres::of(6), Metres::of(2), 1.0};
  const auto over_deck = at_antenna(plan);
  CHECK(near((*over_deck.strongest - *in_free_space.strongest).value(), 6.0206, 1e-4));
  // 40·lg d − 20·lg(h1·h2) far out, 16 dB less than free space there.
  CHECK(
      near(over_deck.weakest->dbm(), eirp - (40 * std::log10(2'000) - 20 * std::log10(12)), 0.01));
  CHECK(has(explained(plan).assumed, "6.0 dB over free space"));
  CHECK(has(explained(plan).assumed, "4·h1·h2/λ, 96 m here"));
}

TEST_CASE("the heights of an antenna and of a carrier win over those of the rack") {
  auto plan = test::air_rack();
  plan.segments.front().carriers.front().farthest = Metres::of(2'000);
  plan.propagation = rf::TwoRay{Metres::of(6), Metres::of(2), 1.0};
  const auto usual = *at_antenna(plan).weakest;
  plan.nodes.front().height = Metres::of(12);
  CHECK(near((*at_antenna(plan).weakest - usual).value(), 6.02, 0.05));
  plan.segments.front().carriers.front().height = Metres::of(0.5);
  CHECK(near((*at_antenna(plan).weakest - usual).value(), 6.02 - 12.04, 0.05));
  CHECK(has(explained(plan).assumed, "4·h1·h2/λ, 48 m here"));
}

TEST_CASE(
    "indoors the weakest falls by its own slope, and nothing need stand before the strongest") {
  auto plan = test::air_rack();
  plan.segments.front().carriers.front().extra_loss = Decibel::of(3);
  plan.propagation = rf::Indoor{Decibel::of(33)};
  const auto indoors = at_antenna(plan);
  CHECK(near(indoors.strongest->dbm(), eirp - free_space(10, 600), 0.01));
  CHECK(near(indoors.weakest->dbm(), eirp - free_space(1, 600) - 33 * std::log10(50) - 3, 0.01));
  CHECK(has(explained(plan).assumed, "33.0 dB for each tenfold distance"));
}

TEST_CASE(
    "nearer than its model holds a carrier counts as at the edge, and explain tells the cost") {
  auto plan = test::air_rack();
  const auto sentence_at = [&](double metres) {
    auto& guest = plan.segments.front().carriers.front();
    guest.nearest = guest.farthest = std::nullopt;
    guest.place = plan::Place{metres, 0, 0};
    plan.nodes.front().place = plan::Place{0, 0, 0};
    for (const auto& sentence : explained(plan).assumed)
      if (sentence.find("uest-1 come") != std::string::npos) return sentence;
    return std::string{};
  };
  // Inside λ/2π, 80 mm at 600 MHz, free space counts as there: 6.02 dB of loss, whatever is
  // between.
  const auto edge =
      "guest-1 comes nearer to mast than λ/2π, where the far field begins, and counts "
      "as if it were there. A dipole with its e.r.p. sends no more than 3.9 dB over "
      "that; what couples so near only a measured isolation says.";
  CHECK(sentence_at(0.0) == edge);
  CHECK(near(at_antenna(plan).strongest->dbm(), eirp - 6.02, 0.01));
  CHECK(sentence_at(0.2).empty());
  plan.propagation = rf::Indoor{Decibel::of(33)};
  CHECK(sentence_at(0.0) == edge);
  CHECK(near(at_antenna(plan).strongest->dbm(), eirp - 6.02, 0.01));
  CHECK(near(at_antenna(plan).weakest->dbm(), eirp - 6.02, 0.01));
  // From there to 1 m ITU-R P.1238 says nothing.
  CHECK(
      sentence_at(0.5) ==
      "guest-1 comes nearer to mast than the 1 m from which on ITU-R P.1238 holds, and counts as "
      "in free space. A dipole with its e.r.p. sends no more than 19.8 dB over that; what couples "
      "so near only a measured isolation says.");
  CHECK(near(at_antenna(plan).strongest->dbm(), eirp - free_space(0.5, 600), 0.01));
  CHECK(sentence_at(1.5).empty());
}

TEST_CASE("a measured isolation is what it is, over whatever it was measured") {
  auto plan = test::air_rack();
  plan.segments.front().carriers.front().isolations = {{{"mast"}, Decibel::of(55)}};
  plan.propagation = rf::TwoRay{Metres::of(6), Metres::of(2), 1.0};
  CHECK(near(at_antenna(plan).strongest->dbm(), -45, 1e-9));
  CHECK(near(at_antenna(plan).weakest->dbm(), -45, 1e-9));
  CHECK_FALSE(has(explained(plan).assumed, "Levels by distance"));
}

TEST_CASE("99 % of the time take 20 dB at one antenna, and two make do with the usual 10 dB") {
  auto plan = test::air_rack();
  leave_margin(plan, 15);
  CHECK_FALSE(on_link(plan));  // 10 dB are wanted, as always
  plan.limits.link_availability = 0.99;
  const auto finding = on_link(plan);
  REQUIRE(finding);
  CHECK(finding->severity == Severity::caution);
  CHECK(near(number(*finding, "margin"), 15, 1e-6));
  CHECK(near(number(*finding, "margin wanted"), 19.978, 5e-4));
  CHECK(finding->sentence.ends_with(
      "is needed; 20.0 dB over that are wanted, for 99 % of the time by one antenna."));
  CHECK(
      has(explained(plan).assumed, "20.0 dB at a receiver with one antenna and 10.0 dB with two"));
  CHECK(near(explained(plan).chains.front().margin_wanted.value(), 19.978, 5e-4));

  add_second_branch(plan);  // 9.8 dB for that: the limit of 10 dB is the stricter
  CHECK_FALSE(on_link(plan));
  CHECK(explained(plan).chains.front().margin_wanted == Decibel::of(10));
  plan.limits.link_availability = 0.999;
  leave_margin(plan, 14);
  REQUIRE(on_link(plan));
  CHECK(near(number(*on_link(plan), "margin wanted"), 14.930, 5e-4));
  CHECK(on_link(plan)->sentence.ends_with(
      "14.9 dB over that are wanted, for 99.9 % of the time by two."));
}

// The first branch has 14.9 dB of margin wanted for 99.9 % by two, 30.0 by one.
TEST_CASE("a fading margin credits another antenna only where it hears the carrier at all") {
  auto plan = test::air_rack();
  add_second_branch(plan);
  plan.limits.link_availability = 0.999;
  leave_margin(plan, 16);
  const auto wanted = [&](const plan::Settings& of_other) {
    const auto chains =
        explain(plan, plan.segments.front(), plan.nodes.front(), test::unpowered(),
                [&](const plan::NodeName&) { return std::optional{of_other}; }, {"guest-1"});
    return chains.chains.front().margin_wanted.value();
  };
  // Without power both are plain antennas on the same cable, and hear as much.
  CHECK(near(wanted(test::unpowered()), 14.930, 5e-4));
  CHECK_FALSE(on_link(plan));
  // With 20 dB more of cable the other hears nothing any more while it is passive …
  auto& feed = *plan.nodes.back().feed;
  feed.push_back(plan::FixedLoss{"long cable", Decibel::of(20)});
  CHECK(near(wanted(test::unpowered()), 29.998, 1e-3));
  REQUIRE(on_link(plan));
  CHECK(on_link(plan)->sentence.ends_with(
      "30.0 dB over that are wanted, for 99.9 % of the time by one antenna."));
  // … and does with its amplifier, if the window lets the carrier in.
  const auto powered = [](double centre) {
    return plan::Settings{rf::Gain::decibels(20), 0, rf::Frequency::megahertz(centre), true, ""};
  };
  CHECK(near(wanted(powered(600)), 14.930, 5e-4));
  CHECK(near(wanted(powered(450)), 29.998, 1e-3));
  // To an antenna without a level nothing is credited.
  plan.nodes.back().feed = plan.nodes.front().feed;
  auto& guest = plan.segments.front().carriers.front();
  guest.isolations = {{{"mast"}, *guest.erp - *budget(plan).weakest}};
  guest.nearest = guest.farthest = std::nullopt;
  CHECK(near(wanted(test::unpowered()), 29.998, 1e-3));
}

TEST_CASE("of a link margin and a share of the time the stricter holds") {
  auto plan = test::air_rack();
  leave_margin(plan, 15);
  plan.limits.link_margin = Decibel::of(16);
  plan.limits.link_availability = 0.9;  // 9.8 dB
  REQUIRE(on_link(plan));
  CHECK(number(*on_link(plan), "margin wanted") == 16);
  CHECK(on_link(plan)->sentence.ends_with("is needed."));
}

TEST_CASE("without a wanted share of the time explain says what the margin is good for") {
  const auto assumed = explained(test::air_rack()).assumed;
  CHECK(has(assumed, "10.0 dB hold for 90.484 % of the time by one antenna"));
  CHECK(has(assumed, "99.094 % of the time by two"));
}

TEST_CASE("in a city noise comes in by the antenna, and takes as much off the margin") {
  auto plan = test::air_rack();
  const auto quiet = budget(plan);
  CHECK(quiet.external_noise == Decibel{});
  CHECK(has(explained(plan).assumed, "No man-made noise is counted"));
  // 19 dB of noise figure, 79.4 over kT0; in a city 10.13 dB at 600 MHz, 10.3: 88.7 together.
  CHECK(near(quiet.noise_figure.value(), 19, 1e-9));
  CHECK(has(explained(plan).assumed, "raise the noise by 0.5 dB here"));
  plan.man_made_noise = rf::NoisePlace::city;
  const auto noisy = budget(plan);
  CHECK(near(noisy.external_noise.value(), 10.129, 5e-4));
  CHECK(near((noisy.noise - quiet.noise).value(), 10 * std::log10(88.73 / 79.43), 5e-3));
  CHECK(
      near((*quiet.margin() - *noisy.margin()).value(), (noisy.noise - quiet.noise).value(), 1e-6));
  CHECK(noisy.noise_figure == quiet.noise_figure);  // that of the chain alone
  const auto stages = explained(plan).chains.front().stages;
  CHECK(near((stages.front().noise - at_antenna(test::air_rack()).noise).value(), 10.129, 5e-4));
  CHECK(near((stages.back().noise - stages.back().gain_so_far).dbm(), noisy.noise.dbm(), 1e-9));
  CHECK(has(explained(plan).assumed, "above 129 MHz P.372-8): 10.1 dB over kT0B here"));
}

TEST_CASE("measured noise is what it is, and less than kT0B adds nothing") {
  auto plan = test::air_rack();
  const auto quiet = budget(plan);
  plan.man_made_noise = Decibel::of(19);
  CHECK(near((budget(plan).noise - quiet.noise).value(), 10 * std::log10(157.87 / 79.43), 5e-3));
  CHECK(has(explained(plan).assumed, "Noise of 19.0 dB over kT0B comes in by the antenna"));
  plan.man_made_noise = rf::NoisePlace::residential;
  CHECK(near(budget(plan).noise.dbm(), quiet.noise.dbm(), 1e-9));
  CHECK(has(explained(plan).assumed, "Above 250.000 MHz it is extrapolated."));
}

namespace {

// An in-ear transmitter 8 m from the mast, 17 dBm e.r.p.
plan::Carrier ears(double megahertz) {
  auto carrier = test::guest("ears-1", megahertz);
  carrier.use = plan::CarrierUse::transmit;
  carrier.erp = rf::PowerLevel::dbm(17);
  carrier.nearest = carrier.farthest = Metres::of(8);
  carrier.receivers.clear();
  return carrier;
}

void hear_also(plan::RackPlan& plan, const std::string& name, double offset, double rejection) {
  plan.receivers.front().input->spurious_responses.push_back(
      {name, rf::Frequency::megahertz(offset), Decibel::of(rejection)});
}

}  // namespace

TEST_CASE("the image lies two intermediate frequencies away, on the oscillator's side") {
  // Of published examples: heard at 431.975 MHz with 21.4 MHz, the oscillator above: 474.775 MHz
  // (a scanner's manual); 145.5 MHz with 10.7 MHz below: 124.1 MHz (an examination question).
  struct {
    double wanted, offset, image;
  } const rows[] = {{431.975, 2 * 21.4, 474.775}, {145.5, -2 * 10.7, 124.1}};
  for (const auto& row : rows) {
    CAPTURE(row.image);
    auto plan = test::air_rack();
    plan.segments.front().carriers = {test::guest("guest-1", row.wanted), ears(row.image)};
    hear_also(plan, "image", row.offset, 60);
    const auto heard = budget(plan).spurious_response;
    CHECK(near(heard.dbm(), 17 + 2.15 - free_space(8, row.image) - 60, 0.01));
    plan.segments.front().carriers[1].frequency = rf::Frequency::megahertz(row.image + 0.2);
    CHECK(budget(plan).spurious_response == rf::no_power());
    plan.segments.front().carriers[1].frequency =
        rf::Frequency::megahertz(2 * row.wanted - row.image);  // the other side
    CHECK(budget(plan).spurious_response == rf::no_power());
  }
}

TEST_CASE("a carrier at the image counts like one in the channel, less what is rejected there") {
  auto plan = test::air_rack();
  plan.segments.front().carriers.push_back(ears(557.2));
  leave_margin(plan, 20);
  const auto before = budget(plan);
  hear_also(plan, "half-IF", 10.7, 40);  // nobody there
  CHECK(near(budget(plan).margin()->value(), before.margin()->value(), 1e-9));
  hear_also(plan, "image", -42.8, 50);
  const auto after = budget(plan);
  // 19.15 dBm e.i.r.p., 45.4 dB of way, 50 dB rejected, 26 dB over the noise: 12 dB of protection.
  const double level = 17 + 2.15 - free_space(8, 557.2) - 50;
  CHECK(near(after.spurious_response.dbm(), level, 0.01));
  CHECK(after.most_of_interference() == Interference::spurious_response);
  CHECK(near(after.needed->dbm(),
             std::max(level + 12, before.noise.dbm() + 17.965 + after.desensitisation.value()),
             0.02));
  const auto stray = explained(plan).chains.front().strays;
  REQUIRE(stray.size() == 1);
  CHECK(stray[0].response == "image");
  CHECK(stray[0].carrier == "ears-1");
  CHECK(stray[0].level == after.spurious_response);
  const auto finding = on_link(plan);
  REQUIRE(finding);
  CHECK(finding->sentence.find("; most of the interference is ears-1, which receiver talk hears at "
                               "its image (-42.800 MHz)") != std::string::npos);
  CHECK(number(*finding, "spurious response") == after.spurious_response.dbm());
  CHECK(std::ranges::count(finding->concerns, "ears-1") == 1);
}

TEST_CASE("half a carrier at a response counts by half, and two of them add") {
  auto plan = test::air_rack();
  plan.segments.front().carriers.push_back(ears(557.2));
  hear_also(plan, "image", -42.8, 50);
  const auto whole = budget(plan).spurious_response;
  plan.segments.front().carriers[1].frequency = rf::Frequency::megahertz(557.3);
  const auto half = budget(plan).spurious_response;
  CHECK(near((whole - half).value(), 3.0103 + 20 * std::log10(557.3 / 557.2), 1e-4));
  hear_also(plan, "", -42.7, 50);
  const auto both = budget(plan).spurious_response;
  CHECK(near((both - half).value(), 10 * std::log10(1.0 + 2.0), 1e-4));
  CHECK(explained(plan).chains.front().strays.size() == 2);
  CHECK(explained(plan).chains.front().strays[0].offset == rf::Frequency::kilohertz(-42'700));
}

TEST_CASE("who stands at an image is told to move off it") {
  auto plan = test::air_rack();
  plan.segments.front().carriers.front().frequency = rf::Frequency::megahertz(520);
  plan.segments.front().carriers.push_back(ears(562.85));
  hear_also(plan, "image", 42.8, 20);
  plan.segments.front().carriers.front().extra_loss = Decibel::of(25);
  const auto answered = [&] {
    return recommend({plan, plan.segments.front(),
                      [](const plan::NodeName&) { return PossibleSettings{}; }, false},
                     plan.nodes.front(),
                     {rf::Gain::decibels(11), 0, rf::Frequency::megahertz(520), true, ""},
                     [] { return true; });
  };
  const auto answer = answered();
  CHECK_FALSE(answer.clean);
  CHECK(answer.limited_by == LimitedBy::spurious_response);
  CHECK(has(answer.advice,
            "Move ears-1 up by at least 0.150 MHz, to 563.000 MHz, off the image "
            "(+42.800 MHz) of receiver talk for guest-1"));
  // Somebody stands there: then to the other side.
  plan.segments.front().carriers.push_back(ears(563.1));
  plan.segments.front().carriers.back().name = {"ears-2"};
  plan.segments.front().carriers.back().erp.reset();
  CHECK(has(answered().advice, "Move ears-1 down by at least 0.250 MHz, to 562.600 MHz, off"));
}

TEST_CASE("without spurious responses of a receiver explain says that they are not counted") {
  auto plan = test::air_rack();
  CHECK(has(explained(plan).unknown, "no spurious responses of receiver talk"));
  hear_also(plan, "image", -42.8, 50);
  CHECK_FALSE(has(explained(plan).unknown, "no spurious responses"));
}
