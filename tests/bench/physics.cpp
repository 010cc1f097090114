// SPDX-License-Identifier: Apache-2.0
// How long the physics takes: the full check of one change, alone, behind an eight-way combiner and
// behind a matrix of 12 inputs on 6 outputs, for the first time and again with the window
// elsewhere, as the daemon does while nobody else's settings move; an explanation, settings
// recommended for one node, for a whole segment on two threads, and for one where nothing is clean.
// The check stands beside a naive triple loop over the same carriers in the same run, that behind
// the matrix beside the same combiners and amplifiers without one.
#include <algorithm>
#include <atomic>
#include <cstdio>
#include <functional>
#include <stdexcept>
#include <thread>

#include "daemon/plan/routed.hpp"
#include "daemon/rack/outlook/explain.hpp"
#include "daemon/rack/outlook/recommend.hpp"
#include "daemon/rack/outlook/spectrum.hpp"
#include "daemon/rack/rules/matrix_rules.hpp"
#include "daemon/rf/intermodulation.hpp"
#include "tests/bench/bench.hpp"
#include "tests/support/physics_rack.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

rack::Surroundings around(const plan::RackPlan& plan) {
  return {plan, plan.segments.front(),
          [](const plan::NodeName&) { return rack::PossibleSettings{}; }, false};
}

plan::Settings settings_for(const plan::RackPlan& plan, const plan::Node& node) {
  return rack::recommend(around(plan), node, {}).settings;
}

struct Checked {
  double first = 0.0;  // microseconds, median
  double again = 0.0;
  double naive = 0.0;
};

// The window one step to the side, so that nothing can be as it was at the last check.
plan::Settings moved(const rack::Surroundings& around, const plan::Node& node,
                     const plan::Settings& settings) {
  for (const int step : {1, -1}) {
    auto other = settings;
    other.centre = other.centre + step * rf::Frequency::megahertz(1);
    if (!rack::check(around, node, other).refuses()) return other;
  }
  throw std::runtime_error{"refused to both sides"};
}

double microseconds_of_check(const rack::Surroundings& around, const plan::Node& node,
                             const plan::Settings& settings) {
  return 1e6 * time_of([&] {
                 if (rack::check(around, node, settings).refuses())
                   throw std::runtime_error{"refused"};
               }).count();
}

Checked check_of(int carriers, int rounds) {
  const auto plan = physics_rack(2, carriers, 1);
  const auto& node = plan.nodes.front();
  const auto settings = settings_for(plan, node);
  std::vector<rf::Tone> tones;
  for (const auto& one : rack::carriers_at(plan, plan.segments.front(), node))
    tones.push_back({one.carrier->frequency, *one.strongest});
  const auto kept = around(plan);
  const plan::Settings both[] = {settings, moved(kept, node, settings)};
  std::vector<double> first;
  std::vector<double> again;
  std::vector<double> others;
  for (int round = 0; round < rounds; ++round) {
    first.push_back(microseconds_of_check(around(plan), node, both[round % 2]));
    again.push_back(microseconds_of_check(kept, node, both[round % 2]));
    if (round % 8 == 0)
      others.push_back(1e6 * time_of([&] {
                               if (rf::products_naive(tones, rf::PowerLevel::dbm(10)).empty())
                                 throw std::runtime_error{"no products"};
                             }).count());
  }
  return {median(first), median(again), median(others)};
}

int judge_combiner(const BenchOptions& options) {
  auto plan = physics_rack(8, 120, 1);
  std::vector<plan::NodeName> all;
  for (const auto& node : plan.nodes) all.push_back(node.name);
  plan.receivers.front().branches = {{all, rf::Decibel::of(0.7)}};
  const auto& node = plan.nodes.front();
  const plan::Settings settings{rf::Gain::decibels(6), 0, rf::Frequency::megahertz(490), true, ""};
  const auto surroundings = [&] {
    return rack::Surroundings{
        plan, plan.segments.front(),
        [&](const plan::NodeName&) { return rack::PossibleSettings{settings}; }, false};
  };
  const auto kept = surroundings();
  const plan::Settings both[] = {settings, moved(kept, node, settings)};
  std::vector<double> first;
  std::vector<double> again;
  std::vector<double> explained;
  for (int round = 0; round < options.rounds(100, 2); ++round) {
    first.push_back(microseconds_of_check(surroundings(), node, both[round % 2]));
    again.push_back(microseconds_of_check(kept, node, both[round % 2]));
    explained.push_back(1e3 * time_of([&] {
                                const auto chains =
                                    rack::explain(plan, plan.segments.front(), node, settings,
                                                  rack::settings_of(kept), {});
                                if (chains.chains.empty())
                                  throw std::runtime_error{"nothing explained"};
                              }).count());
  }
  std::printf("behind an eight-way combiner, 120 carriers, for the first time: %8.1f us\n",
              median(first));
  return judge("full check behind an eight-way combiner, again", median(again), 1'000.0, "us",
               options) |
         judge("explanation there", median(explained), 5.0, "ms", options);
}

plan::Matrix shore() {
  plan::MatrixSheet sheet;
  sheet.type = sheet.title = "summer";
  sheet.inputs = 12;
  sheet.outputs = 6;
  sheet.combining_losses = {rf::Decibel{}, rf::Decibel::of(3.4), rf::Decibel::of(5.3),
                            rf::Decibel::of(6.8)};
  sheet.gain = rf::Decibel::of(7);
  sheet.noise_figure = rf::Decibel::of(7);
  sheet.output_p1db = rf::PowerLevel::dbm(18);
  sheet.output_ip3 = rf::PowerLevel::dbm(34);
  plan::Matrix matrix;
  matrix.name = {"shore"};
  matrix.settings = sheet.nothing_set();
  matrix.sheet = std::make_shared<const plan::MatrixSheet>(std::move(sheet));
  return matrix;
}

// Twelve antennas, each output the sum of four of them; the carriers of the first receiver are to
// be heard by three, with two branches each.
plan::RackPlan behind_matrix() {
  auto plan = physics_rack(12, 120, 1);
  auto matrix = shore();
  for (std::size_t i = 0; i < plan.nodes.size(); ++i)
    plan.nodes[i].ends_at = plan::InputOf{matrix.name, i + 1};
  plan.receivers.resize(3);
  for (std::size_t output = 0; output < 6; ++output) {
    auto& branch = plan.receivers[output / 2].branches[output % 2];
    branch = {};
    branch.from = plan::OutputOf{matrix.name, output + 1};
    const auto first = output * 4 % 12;
    matrix.settings.outputs[output] = {first + 1, first + 2, first + 3, first + 4};
  }
  for (auto& carrier : plan.segments.front().carriers) {
    const bool first = carrier.receivers == std::vector{plan.receivers[0].name};
    carrier.receivers.clear();
    if (first)
      for (const auto& receiver : plan.receivers) carrier.receivers.push_back(receiver.name);
  }
  plan.matrices = {matrix};
  return *plan::routed(plan, plan::MatricesNow{});
}

// What it comes to, and no matrix.
plan::RackPlan without_matrix(plan::RackPlan plan) {
  plan.matrices.clear();
  plan.described.reset();
  for (auto& node : plan.nodes) node.ends_at.reset();
  for (auto& receiver : plan.receivers)
    for (auto& branch : receiver.branches) branch.from.reset();
  return plan;
}

int judge_matrix(const BenchOptions& options) {
  const auto plan = behind_matrix();
  const auto plain = without_matrix(plan);
  const plan::Settings settings{rf::Gain::decibels(6), 0, rf::Frequency::megahertz(490), true, ""};
  const auto surroundings = [&](const plan::RackPlan& of) {
    return rack::Surroundings{
        of, of.segments.front(),
        [&](const plan::NodeName&) { return rack::PossibleSettings{settings}; }, false};
  };
  const auto kept = surroundings(plan);
  const auto kept_plain = surroundings(plain);
  const auto& node = plan.nodes.front();
  const plan::Settings both[] = {settings, moved(kept, node, settings)};
  // One antenna less on the first output, and back.
  auto routes = plan.matrices.front().settings;
  routes.outputs[0].pop_back();
  const plan::MatrixSettings ways[] = {routes, plan.matrices.front().settings};
  std::vector<double> first;
  std::vector<double> again;
  std::vector<double> others;
  std::vector<double> ratios;
  std::vector<double> of_routes;
  for (int round = 0; round < options.rounds(100, 2); ++round) {
    first.push_back(microseconds_of_check(surroundings(plan), node, both[round % 2]));
    again.push_back(microseconds_of_check(kept, node, both[round % 2]));
    others.push_back(microseconds_of_check(kept_plain, plain.nodes.front(), both[round % 2]));
    ratios.push_back(again.back() / others.back());
    of_routes.push_back(1e6 *
                        time_of([&] {
                          if (rack::check(kept, plan.matrices.front(), ways[round % 2]).refuses())
                            throw std::runtime_error{"routes are refused"};
                        }).count());
  }
  std::printf("behind a 12 on 6, 120 carriers, for the first time: %8.1f us\n", median(first));
  // Of every antenna at the receivers that hear otherwise then, as it was and as it would be.
  std::printf("other routes of it, one output with an antenna less: %8.1f us\n", median(of_routes));
  return judge("full check behind a 12 on 6, again", median(again), 1'000.0, "us", options) |
         judge({.name = "full check behind a 12 on 6 against combiners and amplifiers alone",
                .ours = "behind the matrix",
                .other = "without one",
                .unit = "us",
                .our_figure = median(again),
                .other_figure = median(others),
                .ratio = median(ratios),
                .at_most = true,
                .reach = 1.25},
               options);
}

void on_two_threads(std::size_t count, const std::function<void(std::size_t)>& work) {
  std::atomic<std::size_t> next{0};
  const auto run = [&] {
    for (auto i = next++; i < count; i = next++) work(i);
  };
  std::thread second{run};
  run();
  second.join();
}

// Where nothing is clean the search cannot end at the first settings that are; every centre of a
// filter that tunes in steps of 25 kHz is a candidate.
int recommend_theatre(const BenchOptions& options) {
  const auto theatre =
      theatre_rack(options.smoke ? rf::Frequency::megahertz(2) : rf::Frequency::kilohertz(25));
  std::vector<rack::Recommendation> all;
  const auto seconds = time_of([&] {
    all = rack::recommend_segment(theatre, theatre.segments.front(),
                                  [](const plan::NodeName&) { return std::nullopt; });
  });
  const auto unclean = std::ranges::count_if(all, std::not_fn(&rack::Recommendation::clean));
  std::printf("of 14 nodes of a theatre %d have nothing clean\n", static_cast<int>(unclean));
  if (unclean < 8) throw std::runtime_error{"clean behind the combiners"};
  return judge("recommend for a theatre on one thread, where nothing is clean", seconds.count(),
               5.0, "s", options);
}

int measure(const BenchOptions& options) {
  int status = 0;
  const int rounds = options.rounds(200, 2);
  double at_40 = 0.0, at_120 = 0.0, at_240 = 0.0;
  for (const int carriers : {40, 80, 120, 240}) {
    const auto figures = check_of(carriers, rounds);
    std::printf(
        "full check, %3d carriers: %8.1f us, for the first time %8.1f us, naive loop over all "
        "products %10.1f us (1/%.0f)\n",
        carriers, figures.again, figures.first, figures.naive, figures.naive / figures.again);
    if (carriers == 40) at_40 = figures.again;
    if (carriers == 120) at_120 = figures.again;
    if (carriers == 240) at_240 = figures.again;
  }
  status |= judge("full check of one change, 120 carriers", at_120, 500.0, "us", options);
  status |=
      judge("from 40 to 240 carriers, at most as the square", at_240 / at_40, 36.0, "x", options);
  status |=
      judge("from 120 to 240 carriers, at most as the square", at_240 / at_120, 4.0, "x", options);

  status |= judge_combiner(options);
  status |= judge_matrix(options);

  const auto one = physics_rack(2, 60, 2);
  std::vector<double> times;
  for (int round = 0; round < options.rounds(11, 1); ++round)
    times.push_back(
        1e3 * time_of([&] { static_cast<void>(settings_for(one, one.nodes.front())); }).count());
  status |= judge("recommend for a node: 40 gains, 351 centres, 60 carriers", median(times), 100.0,
                  "ms", options);

  // The camera link of a show stands far above its microphones, and amplifiers come with the filter
  // behind them, too.
  auto wide = physics_rack(2, 60, 4);
  plan::Carrier link;
  link.name = {"link"};
  link.use = plan::CarrierUse::transmit;
  link.frequency = rf::Frequency::megahertz(2'210);
  link.bandwidth = rf::Frequency::megahertz(10);
  link.erp = rf::PowerLevel::dbm(20);
  link.nearest = link.farthest = rf::Metres::of(25);
  wide.segments.front().carriers.push_back(link);
  auto behind = wide;
  auto sheet = *sliding_sheet();
  sheet.filter_position = plan::FilterPosition::after_amplifier;
  for (auto& node : behind.nodes) node.datasheet = std::make_shared<const plan::Datasheet>(sheet);
  // Both antennas of the receiver on one combiner.
  auto combined = wide;
  combined.receivers.front().branches = {
      {{combined.nodes[0].name, combined.nodes[1].name}, rf::Decibel::of(0.7)}};
  struct Case {
    const plan::RackPlan& plan;
    const char* what;
  };
  for (const auto& tried : {Case{wide, "60 carriers and a link at 2.2 GHz, filter before"},
                            Case{behind, "the same, filter behind"},
                            Case{combined, "the same, two antennas on a combiner"}}) {
    std::vector<double> each;
    for (int round = 0; round < options.rounds(7, 1); ++round)
      each.push_back(1e3 * time_of([&] {
                             static_cast<void>(settings_for(tried.plan, tried.plan.nodes.front()));
                           }).count());
    std::printf("recommend for a node: %s\n", tried.what);
    status |= judge("recommend for a node", median(each), 50.0, "ms", options);
  }
  const auto rack = physics_rack(24, 60, 5);
  const auto whole_rack = time_of([&] {
    const auto all = rack::recommend_segment(
        rack, rack.segments.front(), [](const plan::NodeName&) { return std::nullopt; },
        on_two_threads);
    if (all.size() != 24) throw std::runtime_error{"not all nodes"};
  });
  status |= judge("recommend for a segment of 24 nodes on two threads", whole_rack.count(), 1.0,
                  "s", options);

  const auto many = physics_rack(64, 120, 3);
  const auto span = rack::span_of_show(many);
  const auto settings = [&](const plan::NodeName& name) -> std::optional<plan::Settings> {
    // In the window of what it hears, with more gain than it needs: products come up.
    const auto number = static_cast<int>(many.find(name)->uid.bits() & 0xFFU);
    return plan::Settings{rf::Gain::decibels(12), 0,
                          rf::Frequency::megahertz(490 + 27 * (number / 2 % 6)), true, ""};
  };
  std::vector<double> spectra;
  std::size_t points = 0;
  std::size_t products = 0;
  for (int round = 0; round < options.rounds(11, 1); ++round)
    spectra.push_back(1e3 * time_of([&] {
                              points = products = 0;
                              for (const auto& node :
                                   rack::spectrum_of(many, many.segments.front(), settings, span,
                                                     on_two_threads)) {
                                points += node.picture->response.points.size();
                                products += node.products.size();
                              }
                            }).count());
  std::printf("spectrum of 64 nodes: %zu points, %zu products\n", points, products);
  status |= judge("spectrum of 64 nodes and 120 carriers on two threads", median(spectra), 100.0,
                  "ms", options);

  const auto seconds = time_of([&] {
    const auto all = rack::recommend_segment(
        many, many.segments.front(), [](const plan::NodeName&) { return std::nullopt; },
        on_two_threads);
    if (all.size() != 64) throw std::runtime_error{"not all nodes"};
    const auto clean = std::ranges::count_if(all, &rack::Recommendation::clean);
    std::printf("of 64 nodes %d have clean settings\n", static_cast<int>(clean));
  });
  status |= judge("recommend for a segment of 64 nodes on two threads", seconds.count(), 5.0, "s",
                  options);
  return status | recommend_theatre(options);
}

}  // namespace

int main(int argc, char** argv) { return run_bench(argc, argv, measure); }
