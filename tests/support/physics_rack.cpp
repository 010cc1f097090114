// SPDX-License-Identifier: Apache-2.0
#include "tests/support/physics_rack.hpp"

#include <algorithm>
#include <random>
#include <set>
#include <string>

#include "tests/support/sheets.hpp"

namespace catwalk::test {

using rf::Decibel;
using rf::Frequency;
using rf::Gain;
using rf::PowerLevel;

std::shared_ptr<const plan::Datasheet> sliding_sheet() {
  auto sheet = amplifier_sheet("slider");
  sheet.title = "Sliding window";
  set_figures(sheet, {.noise_figure_db = 3.5,
                      .output_p1db_dbm = 20,
                      .output_ip3_dbm = 38,
                      .passive_loss_db = 1.0});
  auto filter = sliding_filter(
      "slide-40", {Frequency::megahertz(410), Frequency::megahertz(760), Frequency::megahertz(1)});
  filter.model = std::make_shared<const plan::FilterModel>(
      rf::TunableFilter::make(rf::FilterShape::chebyshev, 4, Decibel::of(0.2),
                              {{Frequency::megahertz(410), filter.width, Decibel::of(1.6)},
                               {Frequency::megahertz(760), filter.width, Decibel::of(2.2)}})
          .value());
  sheet.filters.push_back(std::move(filter));
  return std::make_shared<const plan::Datasheet>(std::move(sheet));
}

namespace {

plan::Node node_no(int number, const std::shared_ptr<const plan::Datasheet>& sheet,
                   const std::shared_ptr<const rf::CableType>& cable) {
  plan::Node node;
  node.name = {"n" + std::to_string(number)};
  node.uid = {0x7a10, static_cast<std::uint32_t>(number) + 1};
  node.line = {"grid"};
  node.datasheet = sheet;
  node.antenna_gain = Decibel::of(4.0);
  node.feed = plan::Chain{plan::CablePiece{cable, rf::Metres::of(40.0 + number % 7)},
                          plan::Splitter{"4-way splitter", 4, Decibel::of(0.6)}};
  return node;
}

plan::Carrier carrier_at(const std::string& name, Frequency frequency) {
  plan::Carrier carrier;
  carrier.name = {name};
  carrier.frequency = frequency;
  carrier.bandwidth = Frequency::kilohertz(200);
  return carrier;
}

}  // namespace

plan::RackPlan physics_rack(int nodes, int carriers, unsigned seed) {
  std::mt19937 random{seed};
  const auto any = [&](double from, double to) {
    return std::uniform_real_distribution{from, to}(random);
  };
  plan::RackPlan plan;
  plan.name = "figures";
  plan.lines = {{"grid"}};
  const auto sheet = sliding_sheet();
  const auto cable = std::make_shared<const rf::CableType>(rf::CableType{
      "cable", 0.65, 0.003, {Frequency::megahertz(1), Frequency::megahertz(1'000)}, "invented"});
  for (int i = 0; i < nodes; ++i) plan.nodes.push_back(node_no(i, sheet, cable));
  for (std::size_t i = 0; i + 1 < plan.nodes.size(); i += 2) {
    plan::Receiver receiver;
    receiver.name = {"r" + std::to_string(i / 2)};
    receiver.branches = {{{plan.nodes[i].name}}, {{plan.nodes[i + 1].name}}};
    receiver.input = plan::ReceiverInput{Decibel::of(8), PowerLevel::dbm(-95), PowerLevel::dbm(-10),
                                         PowerLevel::dbm(10), Decibel::of(12)};
    plan.receivers.push_back(std::move(receiver));
  }

  plan::Segment segment;
  segment.name = {"all"};
  segment.title = "All";
  const int receivers = std::max(1, nodes / 2);
  const int transmitters = carriers / 8;
  std::set<Frequency> taken;
  const auto free_frequency = [&](double low, double high) {
    for (;;) {
      const auto steps = static_cast<std::int64_t>(any(low, high) * 40.0);
      const auto at = steps * Frequency::kilohertz(25);
      // No two closer than their bandwidth.
      const auto near = taken.lower_bound(at - Frequency::kilohertz(200));
      if (near != taken.end() && *near <= at + Frequency::kilohertz(200)) continue;
      taken.insert(at);
      return at;
    }
  };
  constexpr int most_of_one = 60;  // that fit into a stretch
  for (int i = 0; i < carriers - transmitters; ++i) {
    const int receiver = i % receivers;
    const bool served = i / receivers < most_of_one;
    // Stretches of 27 MHz between 475 and 640 MHz, several receivers to each where there are many.
    const double low = served ? 475.0 + 27.5 * (receiver % 6) : 640.0;
    auto carrier =
        carrier_at("m" + std::to_string(i), free_frequency(low, served ? low + 27.0 : 685.0));
    carrier.use = plan::CarrierUse::receive;
    carrier.erp = PowerLevel::dbm(any(7, 17));
    carrier.nearest = rf::Metres::of(any(30, 60));
    carrier.farthest = rf::Metres::of(any(70, 100));
    carrier.extra_loss = Decibel::of(10);
    if (served) carrier.receivers = {{"r" + std::to_string(receiver)}};
    segment.carriers.push_back(std::move(carrier));
  }
  for (int i = 0; i < transmitters; ++i) {
    auto carrier = carrier_at("t" + std::to_string(i), free_frequency(690, 730));
    carrier.use = plan::CarrierUse::transmit;
    carrier.erp = PowerLevel::dbm(17);
    carrier.nearest = carrier.farthest = rf::Metres::of(any(15, 30));
    carrier.noise_density = Decibel::of(-150);
    segment.carriers.push_back(std::move(carrier));
  }
  plan.segments.push_back(std::move(segment));
  return plan;
}

namespace {

plan::Receiver theatre_receiver(const std::string& name, std::vector<plan::Branch> branches) {
  plan::Receiver receiver;
  receiver.name = {name};
  receiver.branches = std::move(branches);
  receiver.input = plan::ReceiverInput{
      Decibel::of(8),
      PowerLevel::dbm(-95),
      PowerLevel::dbm(-15),
      PowerLevel::dbm(12),
      Decibel::of(14),
      {{Frequency::kilohertz(400), Decibel::of(80)}, {Frequency::megahertz(6), Decibel::of(100)}}};
  return receiver;
}

// An amplifier behind three resonators, and one of less gain.
std::vector<std::shared_ptr<const plan::Datasheet>> theatre_sheets(Frequency step) {
  auto wide = *sliding_sheet();
  auto& filter = wide.filters.front();
  filter.tuning = plan::Tuning{Frequency::megahertz(430), Frequency::megahertz(740), step};
  filter.model = std::make_shared<const plan::FilterModel>(
      rf::TunableFilter::make(rf::FilterShape::chebyshev, 3, Decibel::of(0.5),
                              {{Frequency::megahertz(430), filter.width, Decibel::of(1.1)},
                               {Frequency::megahertz(740), filter.width, Decibel::of(1.7)}})
          .value());
  auto less = wide;
  less.gains.lowest = Gain::decibels(-6);
  less.gains.highest = Gain::decibels(15);
  less.noise_figures = {{Gain::decibels(-6), 8.4}, {Gain{}, 4.6}, {Gain::decibels(15), 2.6}};
  return {std::make_shared<const plan::Datasheet>(std::move(wide)),
          std::make_shared<const plan::Datasheet>(std::move(less))};
}

// Ten of each receiver, not evenly spaced, and eight in-ears.
plan::Segment theatre_segment(const std::vector<plan::Receiver>& receivers) {
  constexpr int steps[]{0, 16, 37, 61, 92, 118, 153, 185, 226, 262};
  plan::Segment segment;
  segment.name = {"act"};
  segment.title = "Act";
  for (std::size_t r = 0; r < receivers.size(); ++r)
    for (int i = 0; i < 10; ++i) {
      auto carrier = carrier_at(receivers[r].name.text + std::to_string(i),
                                Frequency::megahertz(500.0 + 30.0 * static_cast<double>(r)) +
                                    steps[i] * Frequency::kilohertz(25));
      carrier.use = plan::CarrierUse::receive;
      carrier.erp = PowerLevel::dbm(10);
      carrier.nearest = rf::Metres::of(i % 4 == 0 ? 8 : 12);
      carrier.farthest = rf::Metres::of(35);
      carrier.extra_loss = Decibel::of(8);
      carrier.receivers = {receivers[r].name};
      segment.carriers.push_back(std::move(carrier));
    }
  for (int i = 0; i < 8; ++i) {
    auto carrier =
        carrier_at("ears" + std::to_string(i), Frequency::kilohertz(640'000 + 1'900 * i));
    carrier.use = plan::CarrierUse::transmit;
    carrier.erp = PowerLevel::dbm(15);
    carrier.nearest = carrier.farthest = rf::Metres::of(8);
    carrier.noise_density = Decibel::of(-150);
    segment.carriers.push_back(std::move(carrier));
  }
  return segment;
}

}  // namespace

plan::RackPlan theatre_rack(Frequency step) {
  plan::RackPlan plan;
  plan.name = "theatre";
  plan.lines = {{"grid"}};
  const auto sheets = theatre_sheets(step);
  const auto cable = std::make_shared<const rf::CableType>(rf::CableType{
      "cable", 0.2, 0.001, {Frequency::megahertz(1), Frequency::megahertz(1'000)}, "invented"});
  for (int i = 0; i < 14; ++i)
    plan.nodes.push_back(node_no(i, sheets[static_cast<std::size_t>(i % 2)], cable));
  const auto alone = [&](std::size_t node) { return plan::Branch{{plan.nodes[node].name}}; };
  const auto together = [&](std::size_t first) {
    plan::Branch branch{{}, Decibel::of(0.6), {}};
    for (auto node = first; node < first + 8; node += 2)
      branch.nodes.push_back(plan.nodes[node].name);
    branch.chain = {plan::RackAmplifier{"rack amplifier", Decibel::of(12), Decibel::of(5),
                                        PowerLevel::dbm(14), PowerLevel::dbm(28)}};
    return branch;
  };
  plan.receivers = {theatre_receiver("leads", {alone(0), alone(1)}),
                    theatre_receiver("ensemble", {alone(2), alone(3)}),
                    theatre_receiver("musicians", {together(4), together(5)}),
                    theatre_receiver("hosts", {alone(12), alone(13)})};
  plan.segments = {theatre_segment(plan.receivers)};
  return plan;
}

}  // namespace catwalk::test
