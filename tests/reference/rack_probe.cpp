// SPDX-License-Identifier: Apache-2.0
// Reads a rack with its show and datasheets as the daemon does, and prints what becomes of every
// carrier that is to be heard, so that other programs can compare. Lines in:
//   RACK_FILE SEGMENT NODE    every node is where the segment has it, passive if it says nothing
// Lines out, dB and dBm, -999 for no power, "-" for what is not known:
//   carrier NAME RECEIVER chain-gain noise-figure external-noise noise intermodulation
//       transmitter-noise blocking co-channel spurious-response transmitter-products
//       desensitisation weakest needed protection-decides interference-costs margin
//   amplifier NAME input output output-p1db STRONGEST
//   receiver NAME level STRONGEST
//   end
#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <initializer_list>
#include <iostream>
#include <optional>
#include <sstream>
#include <string>

#include "config/load.hpp"
#include "daemon/plan/routed.hpp"
#include "daemon/rack/levels/tuned_node.hpp"
#include "daemon/rack/rules/rules.hpp"

namespace {

using namespace catwalk;

[[noreturn]] void give_up(const std::string& why) {
  std::fprintf(stderr, "%s\n", why.c_str());
  std::exit(2);
}

plan::RackPlan read_plan(const std::string& path) {
  auto loaded = config::load(path);
  for (const auto& problem : loaded.problems)
    std::fprintf(stderr, "%s\n", config::to_text(problem).c_str());
  if (!loaded.rack) give_up("no rack: " + path);
  return plan::routed(std::move(loaded.rack->plan));
}

std::optional<plan::Settings> settings_in(const plan::RackPlan& plan, const plan::Segment& segment,
                                          const plan::NodeName& name) {
  const auto asked = segment.settings.find(name);
  if (asked == segment.settings.end()) return std::nullopt;
  const auto proposal = rack::propose(*plan.find(name), {}, asked->second);
  for (const auto& finding : proposal.findings) give_up(finding.sentence);
  return proposal.settings;
}

void print(std::initializer_list<double> numbers) {
  for (const double number : numbers) std::printf(" %.7f", std::max(number, -999.0));
}

template <class Value, class Number>
void print(const std::optional<Value>& value, Number number) {
  if (value)
    print({number(*value)});
  else
    std::printf(" -");
}

void print(const rack::CarrierBudget& one) {
  const auto dbm = [](rf::PowerLevel level) { return level.dbm(); };
  const auto decibels = [](rf::Decibel ratio) { return ratio.value(); };
  std::printf("carrier %s %s", one.carrier->name.text.c_str(),
              one.receiver == nullptr ? "-" : one.receiver->name.text.c_str());
  print({one.chain_gain.value(), one.noise_figure.value(), one.external_noise.value(),
         one.noise.dbm(), one.intermodulation.dbm(), one.transmitter_noise.dbm(),
         one.blocking.dbm(), one.co_channel.dbm(), one.spurious_response.dbm(),
         one.transmitter_products.dbm(), one.brought_products.dbm(), one.desensitisation.value()});
  print(one.weakest, dbm);
  print(one.needed, dbm);
  print({one.protection_decides ? 1.0 : 0.0, one.interference_costs.value()});
  print(one.margin(), decibels);
  std::printf("\n");
}

// One word.
std::string without_blanks(std::string name) {
  std::ranges::replace(name, ' ', '_');
  return name;
}

void print(const rack::Budget& budget) {
  for (const auto& one : budget.carriers) print(one);
  for (const auto& one : budget.amplifiers) {
    std::printf("amplifier %s", without_blanks(one.amplifier).c_str());
    print({one.input.dbm(), one.output.dbm(), one.output_p1db.dbm()});
    std::printf(" %s\n", one.strongest->name.text.c_str());
  }
  for (const auto& one : budget.receivers) {
    std::printf("receiver %s", one.receiver->name.text.c_str());
    print({one.level.dbm()});
    std::printf(" %s\n", one.strongest->name.text.c_str());
  }
  std::printf("end\n");
}

void answer(const std::string& line) {
  std::istringstream in{line};
  std::string file;
  std::string segment_name;
  std::string node_name;
  if (!(in >> file >> segment_name >> node_name)) give_up("what is '" + line + "'?");
  const auto plan = read_plan(file);
  const auto* segment = plan.find(plan::SegmentName{segment_name});
  const auto* node = plan.find(plan::NodeName{node_name});
  if (segment == nullptr || node == nullptr) give_up("nothing is called so: " + line);
  const auto others = [&](const plan::NodeName& name) { return settings_in(plan, *segment, name); };
  const auto settings = others(node->name);
  if (!settings) give_up("no settings: " + line);
  const rack::NodePhysics physics{plan, *segment, *node, others};
  print(rack::budget_of(physics, *settings));
}

}  // namespace

int main() {
  for (std::string line; std::getline(std::cin, line);) answer(line);
  return 0;
}
