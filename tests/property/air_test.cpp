// SPDX-License-Identifier: Apache-2.0
// What the air does between antennas, on random ways and random racks.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <random>

#include "daemon/rack/rules/physics_rules.hpp"
#include "daemon/rf/fading.hpp"
#include "daemon/rf/propagation.hpp"
#include "tests/support/physics_rack.hpp"
#include "tests/support/share.hpp"

using namespace catwalk;
using namespace catwalk::rack;
using rf::Decibel;
using rf::Frequency;
using rf::Metres;

namespace {

const SettingsOf nobody = [](const plan::NodeName&) { return std::nullopt; };

class Draw {
 public:
  explicit Draw(unsigned seed) : random_{seed} {}
  double between(double low, double high) {
    return std::uniform_real_distribution{low, high}(random_);
  }
  rf::Propagation way() {
    if (between(0, 1) < 0.3) return rf::Indoor{Decibel::of(between(10, 60))};
    return rf::TwoRay{Metres::of(between(0.5, 15)), Metres::of(between(0.5, 15)),
                      between(0, 1) < 0.3 ? 1.0 : between(0, 1)};
  }

 private:
  std::mt19937 random_;
};

Budget budget_over(plan::RackPlan& plan, const rf::Propagation& way) {
  plan.propagation = way;
  const NodePhysics physics{plan, plan.segments.front(), plan.nodes.front(), nobody};
  return TunedNode{physics, 0, Frequency::megahertz(490)}.carriers_without_products_at(
      rf::Gain::decibels(6));
}

}  // namespace

TEST_CASE("more distance is never stronger, neither at the strongest nor at the weakest") {
  for (unsigned seed = 1; seed <= test::share_of(200U); ++seed) {
    CAPTURE(seed);
    Draw draw{seed};
    const auto way = draw.way();
    const auto at = Frequency::megahertz(draw.between(400, 2'500));
    auto before = rf::loss_range(at, Metres::of(0.2), way).value();
    double metres = 0.2;
    while ((metres *= 1.0 + draw.between(1e-5, 0.03)) < 2'000) {
      CAPTURE(metres);
      const auto now = rf::loss_range(at, Metres::of(metres), way).value();
      REQUIRE(now.least >= before.least);
      REQUIRE(now.usual >= before.usual);
      REQUIRE(now.least <= now.usual);
      if (const auto* over = std::get_if<rf::TwoRay>(&way))
        REQUIRE(rf::two_ray_loss(at, Metres::of(metres), *over).value() >=
                now.least - Decibel::of(1e-9));
      before = now;
    }
  }
}

TEST_CASE("more of the time is never a smaller margin, and another antenna never a greater one") {
  for (unsigned seed = 1; seed <= test::share_of(100U); ++seed) {
    CAPTURE(seed);
    Draw draw{seed};
    const auto margin = [](double share, int antennas) {
      return rf::fading_margin(share, antennas).value();
    };
    double before = 0.5;
    double missed = 0.5;
    while ((missed *= draw.between(0.5, 0.99)) > 1e-5) {
      const double share = 1.0 - missed;
      CAPTURE(share);
      for (int antennas = 1; antennas <= 8; ++antennas) {
        CHECK(margin(share, antennas) >= margin(before, antennas));
        if (antennas > 1) CHECK(margin(share, antennas) < margin(share, antennas - 1));
        // And back again.
        CHECK(rf::availability(margin(share, antennas), antennas).value() ==
              doctest::Approx(share).epsilon(1e-9));
      }
      before = share;
    }
  }
}

TEST_CASE("a wanted share of the time never makes a verdict kinder") {
  for (unsigned seed = 1; seed <= test::share_of(40U); ++seed) {
    CAPTURE(seed);
    Draw draw{seed};
    auto plan = test::physics_rack(2, 30, seed);
    const auto budget = budget_over(plan, rf::FreeSpace{});
    plan::Limits limits;
    limits.link_margin = Decibel::of(draw.between(0, 40));
    auto asked = limits;
    asked.link_availability = draw.between(0.5, 0.9999);
    for (const auto& served : budget.carriers)
      CHECK(served.margin_wanted(asked) >= served.margin_wanted(limits));
    CHECK(count(breaches(asked, budget)).cautions >= count(breaches(limits, budget)).cautions);
    // At one antenna more is wanted than at two.
    CHECK(asked.link_margin_at(1) >= asked.link_margin_at(2));
  }
}

TEST_CASE("noise that comes in by the antenna never makes a margin greater") {
  for (unsigned seed = 1; seed <= test::share_of(40U); ++seed) {
    CAPTURE(seed);
    auto plan = test::physics_rack(2, 30, seed);
    if (seed % 2 == 0)  // both antennas on one branch
      plan.receivers.front().branches = {{{plan.nodes[0].name, plan.nodes[1].name}}};
    auto before = budget_over(plan, rf::FreeSpace{});
    double external = 0.0;
    while ((external += Draw{seed}.between(0.5, 4)) < 40) {
      plan.man_made_noise = Decibel::of(external);
      const auto now = budget_over(plan, rf::FreeSpace{});
      REQUIRE(now.carriers.size() == before.carriers.size());
      for (std::size_t i = 0; i < now.carriers.size(); ++i) {
        CHECK(now.carriers[i].noise > before.carriers[i].noise);
        CHECK(*now.carriers[i].margin() <= *before.carriers[i].margin());
      }
      before = now;
    }
    // A place where less than kT0B comes in is none at all.
    plan.man_made_noise = rf::NoisePlace::quiet_rural;
    const auto quiet = budget_over(plan, rf::FreeSpace{});
    plan.man_made_noise.reset();
    const auto none = budget_over(plan, rf::FreeSpace{});
    for (std::size_t i = 0; i < none.carriers.size(); ++i)
      CHECK(quiet.carriers[i].margin()->value() ==
            doctest::Approx(none.carriers[i].margin()->value()).epsilon(1e-12));
  }
}

TEST_CASE("a spurious response never makes anything better") {
  std::size_t heard = 0;
  for (unsigned seed = 1; seed <= test::share_of(60U); ++seed) {
    CAPTURE(seed);
    Draw draw{seed};
    auto plan = test::physics_rack(2, 30, seed);
    const auto& carriers = plan.segments.front().carriers;
    auto before = budget_over(plan, rf::FreeSpace{});
    for (int more = 0; more < 12; ++more) {
      // Where somebody stands, more or less, or nobody.
      const auto any = [&] {
        return carriers[static_cast<std::size_t>(draw.between(0, 29.99))].frequency;
      };
      const auto heard_at = any();
      const auto beside = Frequency::hertz(std::llround(draw.between(-3e5, 3e5)));
      const auto offset = heard_at - any() + beside;
      if (offset == Frequency{}) continue;
      plan.receivers.front().input->spurious_responses.push_back(
          {"", offset, Decibel::of(draw.between(0, 100))});
      const auto now = budget_over(plan, rf::FreeSpace{});
      for (std::size_t i = 0; i < now.carriers.size(); ++i) {
        CHECK(now.carriers[i].spurious_response >= before.carriers[i].spurious_response);
        CHECK(*now.carriers[i].margin() <= *before.carriers[i].margin());
        CHECK(now.carriers[i].interference_costs >= before.carriers[i].interference_costs);
        heard += now.carriers[i].spurious_response > before.carriers[i].spurious_response ? 1 : 0;
      }
      before = now;
    }
  }
  CHECK(heard > test::share_of(20U));
}

TEST_CASE("what stands at a response is told one by one, and adds up to what the budget has") {
  for (unsigned seed = 1; seed <= test::share_of(40U); ++seed) {
    CAPTURE(seed);
    Draw draw{seed};
    auto plan = test::physics_rack(2, 30, seed);
    for (std::int64_t k = 1; k <= 40; ++k)
      plan.receivers.front().input->spurious_responses.push_back(
          {"", Frequency::kilohertz(k * 500), Decibel::of(draw.between(0, 100))});
    const NodePhysics physics{plan, plan.segments.front(), plan.nodes.front(), nobody};
    const TunedNode tuned{physics, 0, Frequency::megahertz(490)};
    const auto gain = rf::Gain::decibels(6);
    for (const auto& served : tuned.carriers_without_products_at(gain).carriers) {
      std::vector<rf::PowerLevel> levels;
      for (const auto& stray : tuned.strays(served, gain)) levels.push_back(stray.level);
      CHECK(std::ranges::is_sorted(levels, std::greater{}));
      const auto sum = rf::power_sum(levels);
      CHECK((sum == served.spurious_response ||
             std::abs((sum - served.spurious_response).value()) < 1e-9));
    }
  }
}

TEST_CASE("a surface or walls never make anything kinder than free space does") {
  for (unsigned seed = 1; seed <= test::share_of(40U); ++seed) {
    CAPTURE(seed);
    auto plan = test::physics_rack(2, 30, seed);
    auto way = Draw{seed}.way();
    if (auto* walls = std::get_if<rf::Indoor>(&way))
      walls->loss_per_decade = std::max(walls->loss_per_decade, Decibel::of(20));
    const auto free = budget_over(plan, rf::FreeSpace{});
    const auto now = budget_over(plan, way);
    REQUIRE_FALSE(now.carriers.empty());
    constexpr auto digits = Decibel::of(1e-9);
    for (std::size_t i = 0; i < now.carriers.size(); ++i)
      CHECK(*now.carriers[i].margin() <= *free.carriers[i].margin() + digits);
    for (std::size_t i = 0; i < now.receivers.size(); ++i)
      CHECK(now.receivers[i].margin() <= free.receivers[i].margin() + digits);
    for (std::size_t i = 0; i < now.amplifiers.size(); ++i)
      CHECK(now.amplifiers[i].margin() <= free.amplifiers[i].margin() + digits);
  }
}

namespace {

// A show with transmitters that stand together, at a receiver of one or of two combined antennas.
plan::RackPlan crowded(unsigned seed) {
  Draw draw{seed};
  auto plan = test::physics_rack(2, 30, seed);
  if (seed % 2 == 0) plan.receivers.front().branches = {{{plan.nodes[0].name, plan.nodes[1].name}}};
  plan.receivers.front().input->blocking = {{Frequency::kilohertz(500), Decibel::of(60)}};
  plan.receivers.front().input->spurious_responses.push_back(
      {"image", Frequency::kilohertz(static_cast<std::int64_t>(draw.between(-20'000, 20'000))),
       Decibel::of(70)});
  for (auto& carrier : plan.segments.front().carriers) {
    if (draw.between(0, 1) < 0.5)
      carrier.place = plan::Place{draw.between(0, 8), draw.between(0, 8), 1};
    carrier.modulation = draw.between(0, 1) < 0.5 ? rf::Modulation::fm : rf::Modulation::psk;
    if (carrier.use == plan::CarrierUse::transmit) carrier.noise_density = Decibel::of(-140);
  }
  return plan;
}

Budget budget_of(const plan::RackPlan& plan) {
  const NodePhysics physics{plan, plan.segments.front(), plan.nodes.front(), nobody};
  return TunedNode{physics, 0, Frequency::megahertz(490)}.at(rf::Gain::decibels(6));
}

// Each carrier of `after` hears at least as well as it did before. How many had products made in
// transmitters before.
int check_none_worse(const Budget& before, const Budget& after) {
  int mixed = 0;
  for (const auto& now : after.carriers) {
    const auto then = std::ranges::find_if(before.carriers, [&](const CarrierBudget& served) {
      return served.carrier->name == now.carrier->name &&
             served.receiver->name == now.receiver->name;
    });
    REQUIRE(then != before.carriers.end());
    CAPTURE(now.carrier->name.text);
    for (const auto& [name, kind] : words_of(Interference{})) {
      CAPTURE(std::string{name});
      // Sums of many parts differ in the last digits.
      CHECK((now.of(kind) == rf::no_power() || now.of(kind) <= then->of(kind) + Decibel::of(1e-6)));
    }
    mixed += then->transmitter_products > rf::no_power() ? 1 : 0;
  }
  return mixed;
}

}  // namespace

TEST_CASE("a carrier that is switched off makes no other worse") {
  int mixed = 0;
  for (unsigned seed = 1; seed <= test::share_of(40U); ++seed) {
    CAPTURE(seed);
    auto plan = crowded(seed);
    const auto before = plan;
    const auto on = budget_of(before);
    auto& carriers = plan.segments.front().carriers;
    carriers.erase(carriers.begin() + static_cast<std::ptrdiff_t>(seed % carriers.size()));
    mixed += check_none_worse(on, budget_of(plan));
  }
  CHECK(mixed > 0);
}

TEST_CASE("more isolation of a transmitter makes no carrier worse") {
  for (unsigned seed = 1; seed <= test::share_of(40U); ++seed) {
    CAPTURE(seed);
    const auto before = crowded(seed);
    const auto near = budget_of(before);
    auto plan = before;
    for (auto& carrier : plan.segments.front().carriers) {
      if (carrier.use != plan::CarrierUse::transmit) continue;
      for (const auto& node : plan.nodes) {
        const auto heard = carriers_at(before, before.segments.front(), node);
        const auto found = std::ranges::find_if(
            heard, [&](const auto& each) { return each.carrier->name == carrier.name; });
        if (found->strongest)
          carrier.isolations[node.name] = *carrier.erp - *found->strongest + Decibel::of(6);
      }
    }
    check_none_worse(near, budget_of(plan));
  }
}

TEST_CASE(
    "an antenna on the other branch makes nothing worse at the first, where a receiver chooses") {
  for (unsigned seed = 1; seed <= test::share_of(40U); ++seed) {
    CAPTURE(seed);
    auto plan = crowded(seed);
    REQUIRE(plan.nodes.size() >= 2);
    for (auto& receiver : plan.receivers) {
      receiver.branches.assign(1, {});
      receiver.branches.front().nodes = {plan.nodes[0].name};
    }
    const auto alone = plan;
    for (auto& receiver : plan.receivers) {
      receiver.branches.push_back({});
      receiver.branches.back().nodes = {plan.nodes[1].name};
    }
    const auto one = budget_of(alone);
    const auto two = budget_of(plan);
    REQUIRE_FALSE(two.carriers.empty());
    REQUIRE(one.carriers.size() == two.carriers.size());
    check_none_worse(one, two);
    plan::Limits limits;
    limits.link_availability = 0.99;
    for (std::size_t i = 0; i < two.carriers.size(); ++i) {
      CHECK(two.carriers[i].margin() == one.carriers[i].margin());
      CHECK(two.carriers[i].margin_wanted(limits) <= one.carriers[i].margin_wanted(limits));
    }
  }
}
