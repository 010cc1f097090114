// SPDX-License-Identifier: Apache-2.0
// What transmitters make in each other, worked out by hand: the other's carrier arrives, is mixed
// with twice the own, and goes out weaker by the conversion loss. The form and the usual losses are
// of Report ITU-R SM.2021 (from memory); nothing of levels.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "daemon/rack/outlook/advice.hpp"
#include "daemon/rack/outlook/explain.hpp"
#include "daemon/rack/rules/rules.hpp"
#include "tests/support/air_rack.hpp"
#include "tests/support/near.hpp"

using namespace catwalk;
using namespace catwalk::rack;
using rf::Decibel;
using rf::Frequency;
using test::near;

namespace {

const SettingsOf nobody = [](const plan::NodeName&) { return std::nullopt; };

plan::Carrier in_ear(const std::string& name, double megahertz, plan::Place place) {
  plan::Carrier carrier;
  carrier.name = {name};
  carrier.use = plan::CarrierUse::transmit;
  carrier.frequency = Frequency::megahertz(megahertz);
  carrier.bandwidth = Frequency::kilohertz(1);  // as good as without modulation
  carrier.erp = rf::PowerLevel::dbm(17);
  carrier.place = place;
  return carrier;
}

// Two in-ear transmitters 2 m from each other and 20 m from the mast: 2·606 − 612 = 600 MHz, where
// guest-1 is.
plan::RackPlan side_stage() {
  auto plan = test::air_rack();
  plan.nodes.front().place = plan::Place{0, 0, 0};
  auto& carriers = plan.segments.front().carriers;
  carriers.push_back(in_ear("ear-1", 606, {20, 0, 0}));
  carriers.push_back(in_ear("ear-2", 612, {20, 2, 0}));
  return plan;
}

Explanation explained(const plan::RackPlan& plan, std::size_t node = 0) {
  const auto all = explain(plan, plan.segments.front(), plan.nodes[node], test::unpowered(), nobody,
                           {"guest-1"});
  REQUIRE(all.chains.size() == 1);
  return all.chains.front();
}

bool assumes(const plan::RackPlan& plan, const std::string& text) {
  const auto all = explain(plan, plan.segments.front(), plan.nodes.front(), test::unpowered(),
                           nobody, {"guest-1"});
  return std::ranges::any_of(all.assumed, [&](const std::string& sentence) {
    return sentence.find(text) != std::string::npos;
  });
}

double free_space(double metres, double megahertz) {
  return 20.0 * std::log10(metres) + 20.0 * std::log10(megahertz) - 27.55;
}

}  // namespace

TEST_CASE("what arrives at a transmitter goes out with twice its own carrier, weaker") {
  const auto plan = side_stage();
  const auto chain = explained(plan);
  // 17 dBm over a dipole, 2 m to another dipole, 10 dB of conversion loss; out again, 20 m to an
  // antenna of 0 dBi, as its own carrier goes.
  const double taken_in = 17 + 2.15 - free_space(2, 612) + 2.15;
  const double level = taken_in - 10 + 2.15 - free_space(20, 606);
  REQUIRE(chain.transmitter_products.size() == 1);
  const auto& product = chain.transmitter_products.front();
  CHECK(product.own == "ear-1");
  CHECK(product.other == "ear-2");
  CHECK(product.at == Frequency::megahertz(600));
  CHECK(near(product.level.dbm(), level, 0.01));
  CHECK(near(product.share, 1.0, 1e-9));
  CHECK(near(chain.budget.transmitter_products.dbm(), level, 0.01));
  CHECK(chain.budget.most_of_interference() == Interference::transmitter_products);
  CHECK(chain.budget.interference() >= chain.budget.transmitter_products);
  CHECK(assumes(plan, "taken to be 10.0 dB, 5 to 20 dB without an isolator"));
}

TEST_CASE("a conversion loss that is known counts, and an isolation wins over places") {
  auto plan = side_stage();
  auto& first = plan.segments.front().carriers[1];
  const auto usual = explained(plan).budget.transmitter_products;
  first.conversion_loss = Decibel::of(25);  // with an isolator
  CHECK(near((usual - explained(plan).budget.transmitter_products).value(), 15, 1e-9));
  first.isolations_from = {{{"ear-2"}, Decibel::of(40)}};
  const double level = 17 - 40 - 25 + 2.15 - free_space(20, 606);
  CHECK(near(explained(plan).budget.transmitter_products.dbm(), level, 0.01));
  // The isolation alone says enough.
  first.place.reset();
  first.nearest = first.farthest = rf::Metres::of(20);
  CHECK(near(explained(plan).budget.transmitter_products.dbm(), level, 0.01));
}

TEST_CASE("without places nothing is counted, and it is said") {
  auto plan = side_stage();
  for (auto& carrier : plan.segments.front().carriers) {
    carrier.place.reset();
    carrier.nearest = carrier.farthest = rf::Metres::of(20);
  }
  CHECK(explained(plan).transmitter_products.empty());
  CHECK(explained(plan).budget.transmitter_products == rf::no_power());
  CHECK(assumes(plan, "make in each other is not counted"));
}

TEST_CASE("modulated, what lies in the channel counts") {
  auto plan = side_stage();
  const auto narrow = explained(plan).budget.transmitter_products;
  for (auto& carrier : plan.segments.front().carriers)
    carrier.bandwidth = Frequency::kilohertz(200);
  const auto chain = explained(plan);
  CHECK(chain.transmitter_products.front().share < 0.8);
  CHECK(near((narrow - chain.budget.transmitter_products).value(),
             -10 * std::log10(chain.transmitter_products.front().share), 1e-6));
}

TEST_CASE("an antenna beside the transmitters brings it to the combiner of another") {
  auto plan = side_stage();
  const auto alone = explained(plan).budget.transmitter_products;
  auto beside = plan.nodes.front();
  beside.name = {"stern"};
  beside.uid = NodeUid::from_bits(2);
  beside.place = plan::Place{20, 4, 0};
  plan.nodes.push_back(beside);
  plan.receivers.front().branches.front().nodes.push_back(beside.name);
  // By the stern antenna it comes in from 4 m instead of 20; both pass alike, as plain losses do.
  const auto level = [](double metres) {
    return std::pow(
        10.0, (17 + 2.15 - free_space(2, 612) + 2.15 - 10 + 2.15 - free_space(metres, 606)) / 10.0);
  };
  const auto both = explained(plan).budget.transmitter_products;
  CHECK(near(alone.dbm(), 10 * std::log10(level(20)), 0.01));
  CHECK(near(both.dbm(), 10 * std::log10(level(20) + level(4)), 0.01));
}

TEST_CASE("where it costs the link, the finding and the advice name both transmitters") {
  const auto plan = side_stage();
  const Surroundings around{plan, plan.segments.front(),
                            [](const plan::NodeName&) { return PossibleSettings{}; }, false};
  const auto verdict = check(around, plan.nodes.front(), test::unpowered());
  const auto found = std::ranges::find(verdict.findings, Rule::link_margin, &Finding::rule);
  REQUIRE(found != verdict.findings.end());
  CHECK(found->sentence.find("most of the interference is made in the transmitter of ear-1, twice "
                             "its carrier minus ear-2") != std::string::npos);
  CHECK(found->concerns == std::vector<std::string>{"guest-1", "talk", "ear-1", "ear-2"});
  const auto advice = advise(around, plan.nodes.front(), test::unpowered(), verdict);
  CHECK(std::ranges::any_of(advice, [](const std::string& sentence) {
    return sentence.find(
               "ear-1 makes twice its own carrier minus ear-2 at 600.000 MHz, into "
               "guest-1") != std::string::npos;
  }));
}
