// SPDX-License-Identifier: Apache-2.0
// Computes what the air does between antennas as its input asks, so that other programs can
// compare. One line of numbers out for one line in:
//   two-ray FREQUENCY_HZ METRES ANTENNA_M CARRIER_M REFLECTION
//       → dB of the two rays, least and usual loss, metres to the breakpoint
//   indoor FREQUENCY_HZ METRES DB_PER_DECADE  → dB as indoors, least and usual loss
//   fading AVAILABILITY ANTENNAS  → dB of margin
//   man-made PLACE FREQUENCY_HZ  → dB over kT0B; PLACE: city, residential, rural, quiet-rural
//   rack EXTERNAL_DB ANTENNAS (FEED_DB …) RECEIVER_DB RESPONSES (OFFSET_HZ REJECTION_DB …)
//       CARRIERS (FREQUENCY_HZ BANDWIDTH_HZ …)
//       A rack of unpowered nodes of 1 dB on one branch (tests/support/air_rack.hpp), the first of
//       its carriers at the first of its antennas:
//       → noise figure without EXTERNAL_DB, dBm of noise, of spurious responses (-999: none) and of
//       co-channel carriers (likewise), dB of margin
#include <algorithm>
#include <cstdio>
#include <initializer_list>
#include <istream>
#include <string>

#include "daemon/rack/levels/tuned_node.hpp"
#include "daemon/rf/external_noise.hpp"
#include "daemon/rf/fading.hpp"
#include "daemon/rf/propagation.hpp"
#include "tests/reference/probe.hpp"
#include "tests/support/air_rack.hpp"

namespace {

using namespace catwalk;
using namespace catwalk::rf;
using catwalk::test::read;
using catwalk::test::read_frequency;
using catwalk::test::require;

Metres read_metres(std::istream& in) { return Metres::of(read<double>(in)); }

void print(std::initializer_list<double> numbers) {
  for (const double number : numbers) std::printf("%.9f ", number);
}

void two_ray(std::istream& in) {
  const auto at = read_frequency(in);
  const auto distance = read_metres(in);
  TwoRay over;
  over.antenna_height = read_metres(in);
  over.carrier_height = read_metres(in);
  over.reflection = read<double>(in);
  const auto range = require(loss_range(at, distance, over));
  print({require(two_ray_loss(at, distance, over)).value(), range.least.value(),
         range.usual.value(), breakpoint(at, over).value()});
}

void indoor(std::istream& in) {
  const auto at = read_frequency(in);
  const auto distance = read_metres(in);
  const Indoor among{Decibel::of(read<double>(in))};
  const auto range = require(loss_range(at, distance, among));
  print({require(indoor_loss(at, distance, among)).value(), range.least.value(),
         range.usual.value()});
}

void fading(std::istream& in) {
  const auto availability = read<double>(in);
  print({require(fading_margin(availability, read<int>(in))).value()});
}

void man_made(std::istream& in) {
  auto word = read<std::string>(in);
  if (word == "quiet-rural") word = "quiet rural";
  const auto place = named<NoisePlace>(word);
  if (!place) std::exit(2);
  print({require(man_made_noise(*place, read_frequency(in))).value()});
}

void read_antennas(std::istream& in, plan::RackPlan& plan) {
  const auto antennas = read<std::size_t>(in);
  for (std::size_t i = 0; i < antennas; ++i) {
    if (i > 0) {
      plan.nodes.push_back(plan.nodes.front());
      plan.nodes.back().name = {"mast-" + std::to_string(i)};
      plan.receivers.front().branches.front().nodes.push_back(plan.nodes.back().name);
    }
    plan.nodes.back().feed = plan::Chain{plan::FixedLoss{"feed", Decibel::of(read<double>(in))}};
  }
}

void read_carriers(std::istream& in, std::vector<plan::Carrier>& carriers) {
  carriers.clear();
  for (auto count = read<std::size_t>(in); count > 0; --count) {
    carriers.push_back(test::guest("guest-" + std::to_string(count), 500));
    carriers.back().frequency = read_frequency(in);
    carriers.back().bandwidth = read_frequency(in);
  }
}

void rack_of(std::istream& in) {
  auto plan = test::air_rack();
  plan.man_made_noise = Decibel::of(read<double>(in));
  read_antennas(in, plan);
  plan.receivers.front().input->noise_figure = Decibel::of(read<double>(in));
  for (auto count = read<std::size_t>(in); count > 0; --count) {
    const auto offset = read_frequency(in);
    plan.receivers.front().input->spurious_responses.push_back(
        {"", offset, Decibel::of(read<double>(in))});
  }
  read_carriers(in, plan.segments.front().carriers);
  const auto nobody = [](const plan::NodeName&) { return std::nullopt; };
  const rack::NodePhysics physics{plan, plan.segments.front(), plan.nodes.front(), nobody};
  const auto budget = rack::budget_of(physics, test::unpowered());
  const auto& served = budget.carriers.front();
  const auto finite = [](PowerLevel level) { return std::max(level.dbm(), -999.0); };
  print({served.noise_figure.value(), served.noise.dbm(), finite(served.spurious_response),
         finite(served.co_channel), served.margin().value().value()});
}

}  // namespace

int main() {
  return catwalk::test::answer_lines({{"two-ray", two_ray},
                                      {"indoor", indoor},
                                      {"fading", fading},
                                      {"man-made", man_made},
                                      {"rack", rack_of}});
}
