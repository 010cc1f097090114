// SPDX-License-Identifier: Apache-2.0
// Two matrices in a row: what comes to a receiver by both, where it is summed, and what the rules
// say of either. What it comes to in levels is reference.rack_live's business.
#include <doctest/doctest.h>

#include <algorithm>

#include "daemon/plan/routed.hpp"
#include "daemon/rack/rules/matrix_rules.hpp"
#include "daemon/rack/values/plan_differences.hpp"
#include "tests/support/matrix_rack.hpp"

using namespace catwalk;
using namespace catwalk::test;
using rf::Decibel;

namespace {

// All three outputs of shore end at the first three inputs of foh, which the receiver hears.
plan::RackPlan row() {
  auto rack = matrix_rack();
  plan::Matrix foh;
  foh.name = {"foh"};
  foh.sheet = std::make_shared<const plan::MatrixSheet>(shore_sheet());
  foh.settings = foh.sheet->nothing_set();
  foh.on_line = plan::OnLine{NodeUid::from_bits(10), {"bus"}};
  rack.matrices.push_back(foh);
  for (std::size_t output = 1; output <= 3; ++output)
    rack.matrices[0].onward.emplace(
        output, plan::Onward{{{"foh"}, output}, {plan::FixedLoss{"between", Decibel::of(2)}}});
  for (auto& node : rack.nodes) node.feed = plan::Chain{};
  auto& branches = rack.receivers[0].branches;
  branches.resize(1);
  branches[0].from = plan::OutputOf{{"foh"}, 1};
  branches[0].chain = {plan::FixedLoss{"patch", Decibel::of(1)}};
  return rack;
}

plan::MatrixSettings taking(std::vector<plan::Inputs> outputs) {
  auto settings = shore_set(std::move(outputs));
  settings.inputs[0].trim = rf::Gain::decibels(-3);
  return settings;
}

std::shared_ptr<const plan::RackPlan> set_so(std::vector<plan::Inputs> shore,
                                             std::vector<plan::Inputs> foh) {
  return plan::routed(row(), {{{"shore"}, {shore_set(std::move(shore)), true}},
                              {{"foh"}, {taking(std::move(foh)), true}}});
}

std::vector<std::string> parts_of(const plan::Chain& chain) {
  std::vector<std::string> names;
  for (const auto& part : chain) names.push_back(plan::name_of(part));
  return names;
}

using Names = std::vector<std::string>;
using Nodes = std::vector<plan::NodeName>;
const plan::OutputOf shore_1{{"shore"}, 1};
const plan::OutputOf foh_1{{"foh"}, 1};

rack::Verdict verdict(const plan::RackPlan& plan, const std::string& matrix,
                      std::vector<plan::Inputs> outputs) {
  const rack::Surroundings around{plan, plan.segments[0], [](const plan::NodeName&) {
                                    return rack::PossibleSettings{slide_at(0, 518)};
                                  }};
  auto settings = plan.find_matrix({matrix})->settings;
  settings.outputs = std::move(outputs);
  return rack::check(around, *plan.find_matrix({matrix}), settings);
}

Names sentences(const rack::Verdict& verdict, rack::Rule rule) {
  Names all;
  for (const auto& finding : verdict.findings)
    if (finding.rule == rule)
      all.push_back(std::string{rack::name_of(finding.severity)} + ": " + finding.sentence);
  return all;
}

}  // namespace

TEST_CASE("where the second takes nothing else, the first one's sum is the branch's combiner") {
  const auto plan = set_so({{1, 2}, {}, {}}, {{1}, {}, {}});
  const auto& branch = plan->receivers[0].branches[0];
  CHECK(branch.nodes == Nodes{{"left"}, {"right"}});
  CHECK(parts_of(branch.chain) ==
        Names{"shore, output 1", "between", "trim of foh, input 1", "foh, output 1", "patch"});
  CHECK(branch.combiner_excess_loss.value() == doctest::Approx(3.5 - 3.0103).epsilon(1e-4));
  CHECK(plan::summed_at(branch) == shore_1);
  CHECK(plan::input_at(*plan, *plan->find(plan::NodeName{"right"}), branch) == 2);
}

TEST_CASE("where the second sums, each antenna has the first one for itself") {
  const auto plan = set_so({{1}, {2}, {}}, {{1, 2, 4}, {}, {}});
  const auto& branch = plan->receivers[0].branches[0];
  CHECK(branch.nodes == Nodes{{"left"}, {"right"}});
  CHECK(parts_of(branch.chain) == Names{"foh, output 1", "patch"});
  CHECK(parts_of(branch.arm_of({"left"}).chain) ==
        Names{"shore, output 1", "between", "trim of foh, input 1"});
  CHECK(parts_of(branch.arm_of({"right"}).chain) == Names{"shore, output 2", "between"});
  CHECK(plan::summed_at(branch) == foh_1);
  CHECK(plan::input_at(*plan, *plan->find(plan::NodeName{"right"}), branch) == 2);
}

TEST_CASE("an open input of the first costs what comes by it, in the second's sum too") {
  const auto plan = set_so({{1, 4}, {2}, {}}, {{1, 2}, {}, {}});
  const auto& arm = plan->receivers[0].branches[0].arm_of({"left"});
  CHECK(parts_of(arm.chain) == Names{"shore, output 1, other inputs", "shore, output 1", "between",
                                     "trim of foh, input 1"});
  CHECK(std::get<plan::FixedLoss>(arm.chain[0]).loss == Decibel::of(3.5));
}

TEST_CASE("what the first or the second does not take is not heard") {
  CHECK(set_so({{}, {2}, {}}, {{1}, {}, {}})->receivers[0].branches[0].nodes.empty());
  CHECK(set_so({{1}, {2}, {}}, {{}, {1}, {}})->receivers[0].branches[0].nodes.empty());
  auto passive = row();
  passive.matrices[0].supplied = false;
  const auto plan = plan::routed(passive, {{{"foh"}, {taking({{1}, {}, {}}), true}}});
  CHECK(plan->receivers[0].branches[0].nodes.empty());
}

TEST_CASE("a sum of sums is refused, whichever of the two is asked") {
  const auto shore_sums = set_so({{1, 2}, {3}, {}}, {{1}, {}, {}});
  const Names told{
      "refuse: Output 1 of foh sums several inputs for vocals, and what comes there by output 1 of "
      "shore is a sum already, of 2 antennas: one of the two may sum."};
  CHECK(sentences(verdict(*shore_sums, "foh", {{1, 2}, {}, {}}), rack::Rule::sum_of_sums) == told);
  const auto foh_sums = set_so({{1}, {3}, {}}, {{1, 2}, {}, {}});
  CHECK(sentences(verdict(*foh_sums, "shore", {{1, 2}, {3}, {}}), rack::Rule::sum_of_sums) == told);
  CHECK(sentences(verdict(*foh_sums, "shore", {{2}, {3}, {}}), rack::Rule::sum_of_sums).empty());
}

TEST_CASE("routes of the first that leave a receiver of the second without an antenna are told") {
  const auto plan = set_so({{1}, {}, {}}, {{1}, {}, {}});
  CHECK(sentences(verdict(*plan, "shore", {{}, {1}, {}}), rack::Rule::receiver_without_antenna) ==
        Names{"refuse: Receiver vocals has no antenna by these routes, and is to hear voice-1 and "
              "voice-2."});
}

TEST_CASE("an input that another matrix ends at is not open") {
  const auto plan = set_so({{1}, {2}, {}}, {{1}, {}, {}});
  const auto open = [&](std::vector<plan::Inputs> outputs) {
    return sentences(verdict(*plan, "foh", std::move(outputs)), rack::Rule::sum_open_input);
  };
  CHECK(open({{1, 2}, {}, {}}).empty());
  CHECK(open({{1, 4}, {}, {}}) ==
        Names{"caution: Output 1 sums 1+4, and nothing ends at 4: an open input costs the others "
              "3.5 dB."});
}

TEST_CASE("an output of another matrix is fed nothing") {
  const auto plan = set_so({{1}, {2}, {}}, {{1}, {}, {}});
  CHECK(sentences(verdict(*plan, "foh", {{1}, {}, {}}), rack::Rule::supply_voltage) ==
        Names{"refuse: Input 1 of foh feeds 12 V into output 1 of shore, which takes none.",
              "refuse: Input 2 of foh feeds 12 V into output 2 of shore, which takes none.",
              "refuse: Input 3 of foh feeds 12 V into output 3 of shore, which takes none."});
}

TEST_CASE("a reload says that outputs end elsewhere") {
  const auto before = set_so({{1}, {2}, {}}, {{1}, {}, {}});
  auto other = row();
  other.matrices[0].onward.at(2).to.input = 4;
  const auto after = plan::routed(other, {{{"shore"}, {shore_set({{1}, {2}, {}}), true}},
                                          {{"foh"}, {taking({{1}, {}, {}}), true}}});
  const auto told = rack::differences_of(*before, *after);
  CHECK(std::ranges::count(told, "shore: outputs of it end at another matrix otherwise") == 1);
}

// In decibels: −43 at the antenna, 2 of the passive node, +1 of shore, 2 between, 3 of foh's trim,
// +1 of foh and 1 of the patch: −49 by its route, and 15 of isolation less past it.
TEST_CASE("what comes past the routes of the first comes to the receivers of the second") {
  auto plan = row();
  auto sheet = shore_sheet();
  sheet.isolation_of_inputs = Decibel::of(15);
  plan.matrices[0].sheet = std::make_shared<const plan::MatrixSheet>(sheet);
  auto amplifier = *plan.nodes[0].datasheet;
  amplifier.passive_loss_db = 2;
  for (auto& node : plan.nodes) node.datasheet = std::make_shared<const plan::Datasheet>(amplifier);
  auto& receiver = plan.receivers[0];
  receiver.input = plan::ReceiverInput{};
  receiver.input->overload = rf::PowerLevel::dbm(-20);
  receiver.input->protection_ratio = Decibel::of(12);
  receiver.input->blocking = {{rf::Frequency::megahertz(1), Decibel::of(30)}};
  auto voice = microphone("voice-1", 510, "vocals");
  voice.isolations = {{{"left"}, Decibel::of(90)}};
  auto ears = transmitter("ears-1", 570);
  ears.isolations = {{{"right"}, Decibel::of(60)}};
  plan.segments[0].carriers = {voice, ears};
  const auto routed = plan::routed(plan, {{{"shore"}, {shore_set({{1}, {}, {}}), true}},
                                          {{"foh"}, {taking({{1}, {}, {}}), true}}});
  const auto told = [&](const std::string& matrix, const std::vector<plan::Inputs>& outputs) {
    const rack::Surroundings around{*routed, routed->segments[0], [](const plan::NodeName&) {
                                      return rack::PossibleSettings{plan::Settings{}};
                                    }};
    auto settings = routed->find_matrix({matrix})->settings;
    settings.outputs = outputs;
    return sentences(rack::check(around, *routed->find_matrix({matrix}), settings),
                     rack::Rule::past_the_routes);
  };
  const Names past{
      "caution: ears-1 comes to vocals past the routes, from input 2 of shore (right) over 15.0 dB "
      "of isolation: at -64.0 dBm, which no antenna of output 1 brings. voice-1 at its weakest is "
      "then 8.0 dB over it, and has to be 12.0 dB over."};
  CHECK(told("shore", {{1}, {}, {}}) == past);
  CHECK(told("foh", {{}, {1}, {}}).empty());
}
