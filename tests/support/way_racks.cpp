// SPDX-License-Identifier: Apache-2.0
#include "tests/support/way_racks.hpp"

#include <algorithm>
#include <random>
#include <string>

#include "tests/support/measured_window.hpp"
#include "tests/support/physics_rack.hpp"

namespace catwalk::test {

using rf::Decibel;
using rf::Frequency;
using rf::Gain;
using rf::PowerLevel;

namespace {

class Random {
 public:
  explicit Random(unsigned seed) : engine_{seed} {}
  int any(int low, int high) { return std::uniform_int_distribution{low, high}(engine_); }
  double between(double low, double high) {
    return std::uniform_real_distribution{low, high}(engine_);
  }
  bool one_in(int count) { return any(1, count) == 1; }
  template <class Items>
  const auto& of(const Items& items) {
    return items[static_cast<std::size_t>(any(0, static_cast<int>(items.size()) - 1))];
  }

 private:
  std::mt19937 engine_;
};

std::shared_ptr<const plan::Datasheet> measured_sheet() {
  auto sheet = *sliding_sheet();
  sheet.filters = {measured_window("narrow", 20, 700), measured_window("wide", 60, 700)};
  return std::make_shared<const plan::Datasheet>(std::move(sheet));
}

plan::Settings random_settings(Random& random) {
  return {Gain::decibels(random.any(-12, 27)), static_cast<std::uint8_t>(random.one_in(3) ? 1 : 0),
          Frequency::megahertz(480 + 10 * random.any(0, 9)), !random.one_in(25), ""};
}

plan::Carrier carrier(const std::string& name, plan::CarrierUse use, double megahertz) {
  plan::Carrier one;
  one.name = {name};
  one.use = use;
  one.frequency = Frequency::megahertz(megahertz);
  one.bandwidth = Frequency::kilohertz(200);
  return one;
}

void add_receivers(Random& random, plan::RackPlan& plan) {
  const int count = random.any(1, static_cast<int>(plan.nodes.size()));
  for (int r = 0; r < count; ++r) {
    plan::Receiver receiver;
    receiver.name = {"r" + std::to_string(r)};
    std::vector<plan::NodeName> free;
    for (const auto& node : plan.nodes) free.push_back(node.name);
    const int branches = random.any(1, 2);
    for (int b = 0; b < branches && !free.empty(); ++b) {
      plan::Branch branch;
      for (int left = random.one_in(3) ? random.any(2, 3) : 1; left > 0 && !free.empty(); --left) {
        const auto at = random.any(0, static_cast<int>(free.size()) - 1);
        branch.nodes.push_back(free[static_cast<std::size_t>(at)]);
        free.erase(free.begin() + at);
      }
      if (branch.nodes.size() > 1 && !random.one_in(4))
        branch.chain = {plan::RackAmplifier{
            receiver.name.text + "-" + std::to_string(b), Decibel::of(10), Decibel::of(4),
            PowerLevel::dbm(random.any(5, 30)), PowerLevel::dbm(40)}};
      receiver.branches.push_back(std::move(branch));
    }
    plan.receivers.push_back(std::move(receiver));
  }
}

// A frequency in the window of somebody before or after.
double heard_by_somebody(Random& random, const std::vector<rack::NodeEnds>& nodes,
                         const plan::Receiver& receiver) {
  const auto& branch = random.of(receiver.branches);
  const auto& name = random.of(branch.nodes);
  const auto ends = std::ranges::find(nodes, name, &rack::NodeEnds::node);
  const auto& settings =
      *(ends->target && random.one_in(2) ? ends->target : ends->present)->amplifier();
  return settings.centre.megahertz() + random.any(-8, 8);
}

// Two antennas of one receiver change places, each with a carrier that stays: no order helps.
void swap_two(Random& random, Crossing& crossing) {
  const auto& receiver = random.of(crossing.plan.receivers);
  if (receiver.branches.size() < 2) return;
  const auto ends_of = [&](const plan::Branch& branch) {
    return std::ranges::find(crossing.nodes, branch.nodes.front(), &rack::NodeEnds::node);
  };
  const auto one = ends_of(receiver.branches[0]);
  const auto other = ends_of(receiver.branches[1]);
  one->target = one->present;
  one->target->amplifier()->centre = other->present->amplifier()->centre;
  other->target = other->present;
  other->target->amplifier()->centre = one->present->amplifier()->centre;
  for (const auto centre :
       {one->present->amplifier()->centre, other->present->amplifier()->centre}) {
    auto both = carrier("swap" + std::to_string(centre.hertz()), plan::CarrierUse::receive,
                        centre.megahertz() + random.any(-5, 5));
    both.receivers = {receiver.name};
    for (auto& segment : crossing.plan.segments) segment.carriers.push_back(both);
  }
}

void add_carriers(Random& random, Crossing& crossing) {
  auto& before = crossing.plan.segments.front().carriers;
  auto& after = crossing.plan.segments.back().carriers;
  int number = 0;
  for (const auto& receiver : crossing.plan.receivers) {
    for (int left = random.any(1, 3); left > 0; --left) {
      auto one = carrier("m" + std::to_string(number++), plan::CarrierUse::receive,
                         heard_by_somebody(random, crossing.nodes, receiver));
      one.erp = PowerLevel::dbm(10);
      one.nearest = rf::Metres::of(random.between(3, 40));
      one.receivers = {receiver.name};
      if (random.one_in(3) && crossing.plan.receivers.size() > 1)
        one.receivers.push_back(
            crossing.plan.receivers[(number % 2 == 0) ? 0 : crossing.plan.receivers.size() - 1]
                .name);
      if (one.receivers.back() == one.receivers.front()) one.receivers.resize(1);
      before.push_back(one);
      if (random.one_in(8)) continue;
      if (random.one_in(8)) one.frequency = one.frequency + Frequency::megahertz(3);
      if (random.one_in(10)) one.receivers.resize(1);
      after.push_back(one);
    }
  }
  for (int left = random.any(0, 3); left > 0; --left) {
    auto one = carrier("t" + std::to_string(number++), plan::CarrierUse::transmit,
                       475 + random.any(0, 110) + 0.1);
    if (!random.one_in(6)) {
      one.erp = PowerLevel::dbm(17);
      for (const auto& node : crossing.plan.nodes)
        one.isolations.emplace(node.name, Decibel::of(random.between(5, 50)));
    }
    const int when = random.any(1, 12);
    one.late = when == 1;
    one.early = when == 2;
    if (when != 2 && when != 3) before.push_back(one);
    if (when != 1 && when != 4) after.push_back(one);
  }
}

}  // namespace

Crossing random_crossing(int most, unsigned seed) {
  Random random{seed};
  Crossing crossing;
  auto& plan = crossing.plan;
  plan.name = "random";
  plan.lines = {{"grid"}};
  const auto sheet = measured_sheet();
  const int count = random.any(2, most);
  for (int i = 0; i < count; ++i) {
    plan::Node node;
    node.name = {"n" + std::to_string(i)};
    node.uid = NodeUid::from_bits(static_cast<std::uint64_t>(i) + 1);
    node.line = {"grid"};
    node.datasheet = sheet;
    node.feed = plan::Chain{plan::FixedLoss{"cable", Decibel::of(random.any(2, 8))}};
    plan.nodes.push_back(std::move(node));
  }
  add_receivers(random, plan);
  plan.segments.resize(2);
  plan.segments[0].name = {"before"};
  plan.segments[1].name = {"after"};
  int both = 0;  // nodes whose gain and window change: nine steps each for the exhaustive search
  for (const auto& node : plan.nodes) {
    const auto now = random_settings(random);
    auto then = random_settings(random);
    if (random.one_in(6)) then.gain = now.gain;
    if (random.one_in(8)) {
      then = now;
      then.gain = Gain::decibels(random.any(-12, 27));
    }
    if (now.gain != then.gain && ++both > 3 && count > 5) then.gain = now.gain;
    rack::NodeEnds ends{node.name, now, then};
    if (random.one_in(10)) ends.target.reset();
    crossing.nodes.push_back(std::move(ends));
  }
  add_carriers(random, crossing);
  if (random.one_in(6)) swap_two(random, crossing);
  for (auto& node : plan.nodes)
    if (random.one_in(8))  // one at the antenna, before every filter
      node.lead = {plan::RackAmplifier{"mast-" + node.name.text, Decibel::of(6), Decibel::of(3),
                                       PowerLevel::dbm(random.any(-10, 20)), PowerLevel::dbm(40)},
                   plan::FixedLoss{"cable", Decibel::of(6)}};
  return crossing;
}

Crossing long_crossing(int nodes, unsigned seed) {
  Random random{seed};
  Crossing crossing;
  auto& plan = crossing.plan;
  plan = physics_rack(nodes, 120, seed);
  // Receiver k hears through nodes k and k + 1, with a carrier of its own that one of them passes
  // before and the other after; and every fourth through a third one.
  plan.receivers.clear();
  const auto input = plan::ReceiverInput{Decibel::of(8), PowerLevel::dbm(-95), PowerLevel::dbm(-10),
                                         PowerLevel::dbm(10), Decibel::of(12)};
  const auto name = [&](int i) { return plan.nodes[static_cast<std::size_t>(i % nodes)].name; };
  for (int i = 0; i + 1 < nodes; ++i) {
    plan::Receiver receiver{{"r" + std::to_string(i)}, {{{name(i)}}, {{name(i + 1)}}}, input};
    if (i % 4 == 0) receiver.branches[1].nodes.push_back(name(i + 2));
    plan.receivers.push_back(std::move(receiver));
  }
  auto& before = plan.segments.front();
  before.name = {"before"};
  // Node i has its window at low[i] before and at high[i] after. A carrier stands in the old window
  // of one neighbour and the new window of the other.
  std::vector<int> centre(static_cast<std::size_t>(nodes) + 1);
  for (auto& one : centre) one = 480 + 5 * random.any(0, 30);
  for (int i = 0; i < nodes; ++i) {
    const auto at = static_cast<std::size_t>(i);
    plan::Settings now{Gain::decibels(random.any(0, 12)), 0, Frequency::megahertz(centre[at]), true,
                       ""};
    auto then = now;
    then.centre = Frequency::megahertz(centre[at + 1]);
    then.gain = Gain::decibels(random.any(0, 12));
    crossing.nodes.push_back({name(i), now, then});
  }
  for (auto& one : before.carriers) {
    one.receivers.clear();
    if (one.use == plan::CarrierUse::transmit) continue;
    const int i = random.any(0, nodes - 2);
    one.frequency =
        Frequency::megahertz(centre[static_cast<std::size_t>(i) + 1] + random.any(-17, 17));
    one.receivers = {plan.receivers[static_cast<std::size_t>(i)].name};
  }
  auto after = before;
  after.name = {"after"};
  plan.segments.push_back(std::move(after));
  return crossing;
}

}  // namespace catwalk::test
