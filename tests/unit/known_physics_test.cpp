// SPDX-License-Identifier: Apache-2.0
// What is kept of nodes' physics from one check to the next: it never says anything else than what
// was worked out anew, and is worked out anew when it has to be.
#include <doctest/doctest.h>

#include <map>
#include <random>
#include <vector>

#include "daemon/rack/levels/other_node.hpp"
#include "daemon/rack/rules/rules.hpp"
#include "tests/support/physics_rack.hpp"

using namespace catwalk;
using namespace catwalk::rack;

namespace {

using States = std::map<plan::NodeName, plan::Settings>;

plan::Settings settings_at(double gain, double centre, bool power = true) {
  return {rf::Gain::decibels(gain), 0, rf::Frequency::megahertz(centre), power, ""};
}

// Six antennas: the first three on a combiner, two a receiver hears one by one, one for nobody. Two
// segments, in the second of which some of our own transmitters are stronger.
plan::RackPlan rack_of_six(unsigned seed) {
  auto plan = test::physics_rack(6, 30, seed);
  plan.receivers.resize(2);
  plan.receivers[0].branches = {
      {{plan.nodes[0].name, plan.nodes[1].name, plan.nodes[2].name}, rf::Decibel::of(0.7)}};
  plan.receivers[1].branches = {{{plan.nodes[3].name}}, {{plan.nodes[4].name}}};
  // In every other rack what else its receivers hear by counts, too.
  if (seed % 2 == 0) plan.limits.link_availability = 0.999;
  auto second = plan.segments.front();
  second.name = {"second"};
  for (auto& carrier : second.carriers)
    if (carrier.use == plan::CarrierUse::transmit) carrier.erp = rf::PowerLevel::dbm(27);
  plan.segments.push_back(std::move(second));
  return plan;
}

Surroundings around(const plan::RackPlan& plan, const plan::Segment& segment, const States& states,
                    std::shared_ptr<KnownPhysics> physics = std::make_shared<KnownPhysics>()) {
  return {plan, segment,
          [&states](const plan::NodeName& name) {
            const auto found = states.find(name);
            return found == states.end() ? PossibleSettings{} : PossibleSettings{found->second};
          },
          false, std::move(physics)};
}

States middle_of(const plan::RackPlan& plan) {
  States states;
  for (const auto& node : plan.nodes) states[node.name] = settings_at(6, 500);
  return states;
}

}  // namespace

TEST_CASE("whatever changes in between, what is kept says what is worked out anew") {
  int findings = 0;
  for (unsigned seed = 1; seed <= 4; ++seed) {
    CAPTURE(seed);
    std::mt19937 random{seed};
    const auto any = [&](std::size_t count) { return random() % count; };
    const auto plan = rack_of_six(seed);
    const auto kept = std::make_shared<KnownPhysics>();
    States states;
    const auto anything = [&] {
      return settings_at(static_cast<double>(any(39)) - 12, 480 + static_cast<double>(any(120)),
                         any(5) != 0);
    };
    for (int step = 0; step < 60; ++step) {
      const auto& moved = plan.nodes[any(plan.nodes.size())].name;
      if (any(6) == 0)
        states.erase(moved);
      else
        states[moved] = anything();
      const auto& segment = plan.segments[any(2)];
      const auto& node = plan.nodes[any(plan.nodes.size())];
      const auto settings = anything();
      const auto anew = check(around(plan, segment, states), node, settings);
      CHECK(check(around(plan, segment, states, kept), node, settings) == anew);
      findings += static_cast<int>(anew.findings.size());
    }
  }
  CHECK(findings > 200);
}

TEST_CASE("a node is worked out anew when another on its combiner moves, and only then") {
  const auto plan = rack_of_six(7);
  const auto& segment = plan.segments.front();
  auto states = middle_of(plan);
  const auto surroundings = around(plan, segment, states);
  const auto known = [&](std::size_t node) { return physics_of(surroundings, plan.nodes[node]); };
  const auto first = known(0);
  const auto second = known(1);
  const auto alone = known(3);
  CHECK(first->physics().others().size() == 2);
  // Of three antennas each is worked out once, whoever stands beside it.
  CHECK(first->physics().others()[1] == second->physics().others()[1]);

  states[plan.nodes[0].name] = settings_at(7, 510);
  CHECK(known(0) == first);  // its own settings are not in it
  CHECK(known(1) != second);
  CHECK(known(3) == alone);
  states[plan.nodes[4].name] = settings_at(7, 510);  // no combiner: nobody's business
  CHECK(known(3) == alone);
  states.erase(plan.nodes[2].name);
  CHECK(known(0) != first);

  auto second_segment = around(plan, plan.segments[1], states, surroundings.physics);
  CHECK(physics_of(second_segment, plan.nodes[3]) != alone);
  CHECK(known(3) == alone);
}

TEST_CASE("of more nodes than it keeps, those asked for last stay") {
  const auto plan = test::physics_rack(40, 10, 3);
  const States states;
  const auto surroundings = around(plan, plan.segments.front(), states);
  std::vector<std::shared_ptr<const KnownPhysics::Node>> alive;
  for (const auto& node : plan.nodes) alive.push_back(physics_of(surroundings, node));
  for (std::size_t i = 0; i < plan.nodes.size(); ++i) {
    const auto place = plan.nodes.size() - 1 - i;  // the last ones first
    const bool same = physics_of(surroundings, plan.nodes[place]) == alive[place];
    CHECK(same == (i < 8));
  }
}
