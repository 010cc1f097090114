// SPDX-License-Identifier: Apache-2.0
// One or two matrices put into a show that was made without: between the antennas of some of its
// groups and their receivers. They draw from a stream of luck of their own.
#include <algorithm>
#include <map>
#include <set>

#include "tests/simulation/random.hpp"
#include "tests/simulation/show.hpp"

namespace catwalk::simulation {

using rf::Decibel;
using rf::Gain;
using rf::PowerLevel;

namespace {

constexpr std::uint16_t usual_mv = 12'000;

class MatrixMaker {
 public:
  MatrixMaker(std::uint64_t seed, plan::RackPlan& plan)
      : random_{seed, "matrices of the show"}, plan_{plan} {}

  void make() {
    find_groups();
    const std::size_t units = groups_.size() > 1 && random_.one_in(3) ? 2 : 1;
    units_.resize(units);
    for (std::size_t i = 0; i < groups_.size(); ++i)
      if (i == 0 || !random_.one_in(5)) put_behind(groups_[i], i % units);
    for (std::size_t i = 0; i < units; ++i) plan_.matrices.push_back(made(i));
    for (std::size_t s = 0; s < plan_.segments.size(); ++s)
      for (std::size_t i = 0; i < units; ++i) add_settings(s, i);
  }

 private:
  // Antennas that hear the same, and the receivers behind them.
  struct Group {
    std::vector<std::size_t> nodes;
    std::vector<std::size_t> receivers;
  };
  struct Unit {
    std::vector<std::size_t> nodes;    // at input 1, 2 …
    std::vector<plan::Inputs> usual;   // of output 1, 2 …: what was on the branch before
    std::vector<plan::Inputs> choice;  // the inputs at which its group ends
    std::vector<std::size_t> free;     // inputs at which nothing ends
    bool selects = false;              // one input for each output
  };

  static plan::NodeName name_of(std::size_t unit) { return {"x" + std::to_string(unit)}; }

  void find_groups() {
    for (std::size_t r = 0; r < plan_.receivers.size(); ++r) {
      std::set<std::size_t> own;
      for (const auto& branch : plan_.receivers[r].branches)
        for (const auto& node : branch.nodes)
          own.insert(static_cast<std::size_t>(plan_.find(node) - plan_.nodes.data()));
      const std::vector<std::size_t> nodes{own.begin(), own.end()};
      const auto known = std::ranges::find(groups_, nodes, &Group::nodes);
      if (known != groups_.end())
        known->receivers.push_back(r);
      else
        groups_.push_back({nodes, {r}});
    }
  }

  void put_behind(const Group& group, std::size_t number) {
    auto& unit = units_[number];
    plan::Inputs choice;
    for (const auto place : group.nodes) {
      unit.nodes.push_back(place);
      choice.push_back(unit.nodes.size());
      auto& node = plan_.nodes[place];
      node.ends_at = plan::InputOf{name_of(number), unit.nodes.size()};
      if (!random_.one_in(3)) lives_on_its_cable(node);
    }
    for (const auto receiver : group.receivers)
      for (auto& branch : plan_.receivers[receiver].branches) {
        plan::Inputs usual;
        for (const auto& name : branch.nodes) usual.push_back(plan_.find(name)->ends_at->input);
        std::ranges::sort(usual);
        unit.usual.push_back(std::move(usual));
        unit.choice.push_back(choice);
        branch.nodes.clear();
        branch.from = plan::OutputOf{name_of(number), unit.usual.size()};
      }
  }

  void lives_on_its_cable(plan::Node& node) {
    auto& sheet = fed_[node.datasheet];
    if (!sheet) {
      auto copy = *node.datasheet;
      copy.type += "-fed";
      copy.supply = plan::TakenSupply{9'000, 15'000, 90};
      sheet = std::make_shared<const plan::Datasheet>(std::move(copy));
    }
    node.datasheet = sheet;
  }

  plan::Matrix made(std::size_t number) {
    auto& unit = units_[number];
    plan::MatrixSheet sheet;
    const auto used = unit.nodes.size();
    sheet.inputs = std::max<std::size_t>(used + random_.below(3), 1);
    sheet.outputs = std::max<std::size_t>(unit.usual.size() + random_.below(2), 1);
    for (auto input = used + 1; input <= sheet.inputs; ++input) unit.free.push_back(input);
    unit.selects = random_.one_in(4);
    sheet.type = (unit.selects ? "select-" : "sum-") + std::to_string(sheet.inputs) + "-on-" +
                 std::to_string(sheet.outputs);
    sheet.title = sheet.type;
    sheet.combining_losses = {Decibel{}};
    if (!unit.selects)
      for (const double loss : {3.3, 5.2, 6.5}) sheet.combining_losses.push_back(Decibel::of(loss));
    sheet.gain = Decibel::of(random_.any(0, 3));
    sheet.noise_figure = Decibel::of(6);
    sheet.output_p1db = PowerLevel::dbm(random_.any(14, 24));
    sheet.output_ip3 = PowerLevel::dbm(40);
    if (!random_.one_in(4))
      sheet.trims = plan::Steps<Gain>{Gain::decibels(-20), Gain{}, Gain::decibels(1)};
    sheet.supply = plan::InputSupply{{usual_mv}, 300, 4'000};
    if (random_.one_in(2)) sheet.supply->millivolts = {9'000, usual_mv, 18'000};
    sheet.measures_current = !random_.one_in(4);
    sheet.measures_level = random_.one_in(2);
    if (random_.one_in(3)) sheet.unsupplied = passive_routes(sheet);
    plan::Matrix matrix;
    matrix.name = name_of(number);
    matrix.stands = "rack " + std::to_string(number + 1);
    matrix.settings = sheet.nothing_set();
    matrix.sheet = std::make_shared<const plan::MatrixSheet>(std::move(sheet));
    matrix.on_line =
        plan::OnLine{{0x7a10, static_cast<std::uint32_t>(0x906 + number)},
                     random_.of(plan_.lines),
                     random_.one_in(2) ? plan::OnReturn::reapply : plan::OnReturn::hold};
    return matrix;
  }

  plan::PassiveRoutes passive_routes(const plan::MatrixSheet& sheet) {
    plan::PassiveRoutes passive{std::vector<plan::Inputs>(sheet.outputs), Decibel::of(4)};
    for (std::size_t i = 0; i < sheet.outputs; ++i)
      if (!random_.one_in(3)) passive.outputs[i] = {1 + random_.below(sheet.inputs)};
    return passive;
  }

  // Mostly what was on the branch before; else other antennas of its group, on one input each
  // where the unit selects.
  plan::Inputs route(const Unit& unit, std::size_t output) {
    if (output >= unit.usual.size()) return {};
    auto taken = unit.usual[output];
    if (random_.one_in(3)) {
      taken.clear();
      for (const auto input : unit.choice[output])
        if (random_.one_in(2)) taken.push_back(input);
      if (taken.empty()) taken = {random_.of(unit.choice[output])};
    }
    if (unit.selects) taken = {random_.of(taken)};
    if (!unit.selects && !unit.free.empty() && taken.size() < 3 && random_.one_in(20))
      taken.push_back(unit.free.front());
    return taken;
  }

  // Who is heard is fed; whoever is not mostly is not fed either. Not every segment says
  // everything.
  void add_settings(std::size_t number, std::size_t which) {
    const auto& unit = units_[which];
    const auto& sheet = *plan_.matrices[which].sheet;
    plan::MatrixPatch patch;
    std::set<std::size_t> heard;
    for (std::size_t output = 0; output < unit.usual.size(); ++output) {
      const auto taken = route(unit, output);
      heard.insert(taken.begin(), taken.end());
      if (number == 0 || !random_.one_in(8)) patch.routes[output + 1] = taken;
    }
    for (std::size_t i = 0; i < unit.nodes.size(); ++i) {
      const bool fed = heard.contains(i + 1) ? !random_.one_in(25) : random_.one_in(3);
      if (plan_.nodes[unit.nodes[i]].datasheet->supply)
        patch.supplies_mv[i + 1] = fed ? usual_mv : std::uint16_t{0};
      if (sheet.trims && random_.one_in(4)) patch.trims[i + 1] = Gain::decibels(-random_.any(0, 6));
    }
    if (number > 0 && random_.one_in(12)) return;
    plan_.segments[number].matrices.emplace(name_of(which), std::move(patch));
  }

  Random random_;
  plan::RackPlan& plan_;
  std::vector<Group> groups_;
  std::vector<Unit> units_;
  std::map<std::shared_ptr<const plan::Datasheet>, std::shared_ptr<const plan::Datasheet>> fed_;
};

}  // namespace

Show routed_show(std::uint64_t seed) {
  auto show = random_show(seed);
  auto plan = *show.plan;
  MatrixMaker{seed, plan}.make();
  show.plan = std::make_shared<const plan::RackPlan>(std::move(plan));
  show.routed = true;
  return show;
}

}  // namespace catwalk::simulation
