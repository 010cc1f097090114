// SPDX-License-Identifier: Apache-2.0
#include "tests/support/routed_racks.hpp"

#include <algorithm>
#include <random>
#include <string>

#include "daemon/plan/routed.hpp"
#include "tests/support/measured_window.hpp"
#include "tests/support/physics_rack.hpp"

namespace catwalk::test {

using rf::Decibel;
using rf::Frequency;
using rf::Gain;
using rf::PowerLevel;

namespace {

constexpr std::uint16_t fed_mv = 12'000;

class RackMaker {
 public:
  RackMaker(int most, unsigned seed) : engine_{seed} {
    const int units = one_in(3) ? 2 : 1;
    add_sheets();
    for (int i = 0; i < units; ++i) add_matrix(i);
    const int antennas = any(2, most - units);
    if (units == 2 && one_in(2)) put_in_a_row();
    for (int i = 0; i < antennas; ++i) add_antenna(i);
    for (auto& matrix : plan_.matrices) set_before(matrix);
    add_receivers();
    plan_.segments.resize(2);
    plan_.segments[0].name = {"before"};
    plan_.segments[1].name = {"after"};
    auto before = plan::routed(plan_, plan::MatricesNow{});
    for (const auto& matrix : plan_.matrices) add_ends(matrix);
    auto after = plan::routed(plan_, after_);
    for (std::size_t i = 0; i < plan_.nodes.size(); ++i) add_ends(i);
    add_carriers(*before, *after);
    crossing_.plan = *plan::routed(plan_, plan::MatricesNow{});
  }
  Crossing take() { return std::move(crossing_); }

 private:
  int any(int low, int high) { return std::uniform_int_distribution{low, high}(engine_); }
  bool one_in(int count) { return any(1, count) == 1; }
  double between(double low, double high) {
    return std::uniform_real_distribution{low, high}(engine_);
  }
  template <class Items>
  auto& of(Items& items) {
    return items[static_cast<std::size_t>(any(0, static_cast<int>(items.size()) - 1))];
  }

  void add_sheets() {
    plan_.name = "random";
    plan_.lines = {{"grid"}};
    auto sheet = *sliding_sheet();
    sheet.filters = {measured_window("narrow", 20, 700), measured_window("wide", 60, 700)};
    own_power_ = std::make_shared<const plan::Datasheet>(sheet);
    sheet.supply = plan::TakenSupply{9'000, 15'000, 90};
    by_cable_ = std::make_shared<const plan::Datasheet>(sheet);
  }

  void add_matrix(int number) {
    plan::MatrixSheet sheet;
    sheet.type = sheet.title = "summer";
    sheet.inputs = 4;
    sheet.outputs = 3;
    sheet.combining_losses = {Decibel{}, Decibel::of(3.5), Decibel::of(5.5)};
    sheet.gain = Decibel::of(any(-3, 6));
    sheet.noise_figure = Decibel::of(6);
    sheet.output_p1db = PowerLevel::dbm(any(-5, 25));
    sheet.output_ip3 = PowerLevel::dbm(40);
    sheet.trims = plan::Steps<Gain>{Gain::decibels(-20), {}, Gain::decibels(1)};
    sheet.supply = plan::InputSupply{{fed_mv}, 300, 1'200};
    if (one_in(2)) sheet.applies = plan::Applies::at_once;
    plan::Matrix matrix;
    matrix.name = {"x" + std::to_string(number)};
    matrix.settings = sheet.nothing_set();
    matrix.sheet = std::make_shared<const plan::MatrixSheet>(std::move(sheet));
    matrix.on_line =
        plan::OnLine{NodeUid::from_bits(900U + static_cast<unsigned>(number)), {"grid"}};
    plan_.matrices.push_back(std::move(matrix));
  }

  // The last output of the first ends at an input of the second.
  void put_in_a_row() {
    auto& first = plan_.matrices[0];
    plan::Onward onward{{plan_.matrices[1].name, plan_.matrices[1].sheet->inputs}};
    onward.chain = {plan::FixedLoss{"between the units", Decibel::of(any(0, 3))}};
    first.onward.emplace(first.sheet->outputs, std::move(onward));
  }

  void add_antenna(int number) {
    plan::Node node;
    node.name = {"n" + std::to_string(number)};
    node.uid = NodeUid::from_bits(static_cast<std::uint64_t>(number) + 1);
    node.line = {"grid"};
    node.datasheet = own_power_;
    node.feed = plan::Chain{plan::FixedLoss{"cable", Decibel::of(any(2, 8))}};
    auto& matrix = of(plan_.matrices);
    std::vector<std::size_t> free;
    for (std::size_t input = 1; input <= matrix.sheet->inputs; ++input)
      if (!plan::is_plugged(plan_, {matrix.name, input})) free.push_back(input);
    if (!free.empty() && (number == 0 || !one_in(5))) {
      node.ends_at = plan::InputOf{matrix.name, of(free)};
      if (!one_in(3)) node.datasheet = by_cable_;
    }
    plan_.nodes.push_back(std::move(node));
  }

  plan::Inputs some_inputs(const plan::Matrix& matrix) {
    plan::Inputs taken;
    if (one_in(12)) return taken;
    for (int left = one_in(3) ? any(2, 3) : 1; left > 0; --left) {
      // Mostly such as have an antenna.
      std::size_t input = 0;
      for (int tries = 0; tries < 4; ++tries) {
        input = static_cast<std::size_t>(any(1, static_cast<int>(matrix.sheet->inputs)));
        if (plan::is_plugged(plan_, {matrix.name, input})) break;
      }
      if (std::ranges::count(taken, input) == 0) taken.push_back(input);
    }
    std::ranges::sort(taken);
    return taken;
  }

  void set_before(plan::Matrix& matrix) {
    for (auto& output : matrix.settings.outputs) output = some_inputs(matrix);
    for (auto& input : matrix.settings.inputs) {
      input.trim = Gain::decibels(one_in(3) ? -any(1, 15) : 0);
      input.supply_mv = one_in(4) ? std::uint16_t{0} : fed_mv;
    }
  }

  void add_ends(const plan::Matrix& matrix) {
    auto then = matrix.settings;
    for (auto& output : then.outputs)
      if (!one_in(3)) output = some_inputs(matrix);
    if (one_in(4) && then.outputs.size() > 1) {  // two outputs change places
      then.outputs[0] = matrix.settings.outputs[1];
      then.outputs[1] = matrix.settings.outputs[0];
    }
    for (auto& input : then.inputs) {
      if (one_in(3)) input.trim = Gain::decibels(one_in(2) ? -any(1, 15) : 0);
      if (one_in(4)) input.supply_mv = input.supply_mv == 0 ? fed_mv : std::uint16_t{0};
    }
    rack::NodeEnds ends{matrix.name, matrix.settings, then};
    if (one_in(8)) ends.target.reset();
    if (ends.target) after_.emplace(matrix.name, plan::MatrixNow{then, true});
    crossing_.nodes.push_back(std::move(ends));
  }

  bool is_fed(const plan::Node& node, const plan::MatrixSettings& settings) const {
    return !node.ends_at || !node.datasheet->supply ||
           settings.inputs[node.ends_at->input - 1].supply_mv != 0;
  }

  // As a reading of it would say: without its supply an antenna has no power.
  void add_ends(std::size_t place) {
    const auto& node = plan_.nodes[place];
    const auto some = [this] {
      return plan::Settings{Gain::decibels(any(-12, 27)),
                            static_cast<std::uint8_t>(one_in(3) ? 1 : 0),
                            Frequency::megahertz(480 + 10 * any(0, 6)), !one_in(25), ""};
    };
    auto now = some();
    auto then = some();
    if (one_in(4)) then.centre = now.centre;
    if (one_in(4)) then = now;
    if (now.gain != then.gain && ++two_ways_ > 2) then.gain = now.gain;
    if (node.ends_at) {
      const auto& before = plan_.find_matrix(node.ends_at->matrix)->settings;
      const auto moved = after_.find(node.ends_at->matrix);
      const auto& after = moved == after_.end() ? before : moved->second.settings;
      if (!is_fed(node, before)) now.power = false;
      if (!is_fed(node, after)) then.power = false;
      // Nobody feeds an antenna in order to leave it off.
      if (!is_fed(node, before) && is_fed(node, after)) then.power = true;
    }
    rack::NodeEnds ends{node.name, now, then};
    if (one_in(4)) ends.target.reset();
    crossing_.nodes.push_back(std::move(ends));
  }

  void add_receivers() {
    std::vector<plan::NodeName> direct;
    for (const auto& node : plan_.nodes)
      if (!node.ends_at) direct.push_back(node.name);
    const int count = any(1, 3);
    for (int r = 0; r < count; ++r) {
      plan::Receiver receiver;
      receiver.name = {"r" + std::to_string(r)};
      for (int b = any(1, 2); b > 0; --b) {
        plan::Branch branch;
        if (!direct.empty() && one_in(4)) {
          branch.nodes = {of(direct)};
        } else {
          const auto& matrix = of(plan_.matrices);
          branch.from = plan::OutputOf{
              matrix.name,
              static_cast<std::size_t>(any(1, static_cast<int>(matrix.sheet->outputs)))};
          if (matrix.onward.contains(branch.from->output)) continue;
          const bool twice = std::ranges::any_of(receiver.branches, [&](const plan::Branch& other) {
            return other.from == branch.from;
          });
          if (twice) continue;
        }
        if (one_in(2))
          branch.chain = {plan::FixedLoss{"cable", Decibel::of(2)},
                          plan::RackAmplifier{receiver.name.text + "-" + std::to_string(b),
                                              Decibel::of(10), Decibel::of(4),
                                              PowerLevel::dbm(any(0, 28)), PowerLevel::dbm(40)}};
        receiver.branches.push_back(std::move(branch));
      }
      plan_.receivers.push_back(std::move(receiver));
    }
  }

  static plan::Carrier carrier(const std::string& name, plan::CarrierUse use, double megahertz) {
    plan::Carrier one;
    one.name = {name};
    one.use = use;
    one.frequency = Frequency::megahertz(megahertz);
    one.bandwidth = Frequency::kilohertz(200);
    return one;
  }

  // A frequency in the window of somebody before or after.
  std::optional<double> heard_by_somebody(const plan::Receiver& before,
                                          const plan::Receiver& after) {
    const bool then = one_in(2);
    std::vector<plan::NodeName> all;
    for (const auto& branch : (then ? after : before).branches)
      all.insert(all.end(), branch.nodes.begin(), branch.nodes.end());
    if (all.empty()) return std::nullopt;
    const auto& ends = *std::ranges::find(crossing_.nodes, of(all), &rack::NodeEnds::node);
    const auto& settings = then && ends.target ? *ends.target : *ends.present;
    return settings.amplifier()->centre.megahertz() + any(-8, 8);
  }

  void add_carriers(const plan::RackPlan& before, const plan::RackPlan& after) {
    auto& first = plan_.segments.front().carriers;
    auto& second = plan_.segments.back().carriers;
    int number = 0;
    for (std::size_t r = 0; r < plan_.receivers.size(); ++r)
      for (int left = any(1, 3); left > 0; --left) {
        const auto at = heard_by_somebody(before.receivers[r], after.receivers[r]);
        if (!at) continue;
        auto one = carrier("m" + std::to_string(number++), plan::CarrierUse::receive, *at);
        one.erp = PowerLevel::dbm(10);
        one.nearest = rf::Metres::of(between(3, 40));
        one.receivers = {plan_.receivers[r].name};
        first.push_back(one);
        if (!one_in(10)) second.push_back(one);
      }
    for (int left = any(0, 2); left > 0; --left) {
      auto one = carrier("t" + std::to_string(number++), plan::CarrierUse::transmit,
                         475 + any(0, 110) + 0.1);
      one.erp = PowerLevel::dbm(17);
      for (const auto& node : plan_.nodes)
        one.isolations.emplace(node.name, Decibel::of(between(10, 60)));
      const int when = any(1, 10);
      one.late = when == 1;
      one.early = when == 2;
      if (when != 2) first.push_back(one);
      if (when != 1) second.push_back(one);
    }
  }

  std::mt19937 engine_;
  plan::RackPlan plan_;  // described
  Crossing crossing_;
  plan::MatricesNow after_;
  std::shared_ptr<const plan::Datasheet> own_power_;
  std::shared_ptr<const plan::Datasheet> by_cable_;
  int two_ways_ = 0;  // nodes whose gain changes
};

}  // namespace

Crossing routed_crossing(int most, unsigned seed) { return RackMaker{most, seed}.take(); }

}  // namespace catwalk::test
