// SPDX-License-Identifier: Apache-2.0
#include "tests/support/routed_oracle.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <stdexcept>

#include "daemon/rack/levels/carrier_levels.hpp"

namespace catwalk::test {

namespace {

constexpr unsigned all_new = 3;

// Louder by less than the smallest unit that is set is not worse: 0.01 dB.
const double no_worse = std::pow(10.0, 0.001);

double ratio(double decibel) { return std::pow(10.0, decibel / 10.0); }

bool is_on(const plan::Segment& segment, const plan::Carrier& carrier) {
  return std::ranges::any_of(segment.carriers, [&](const plan::Carrier& other) {
    return other.name == carrier.name && other.use == carrier.use &&
           other.frequency == carrier.frequency;
  });
}

// Carriers that both have are told alike in both, but for who must hear them.
plan::Segment on_meanwhile(const rack::SwitchTask& task) {
  const auto& first = task.back ? task.entered : task.left;
  const auto& second = task.back ? task.left : task.entered;
  plan::Segment between;
  for (auto carrier : first.carriers) {
    const bool stays = is_on(second, carrier);
    if (!stays && !carrier.late) continue;
    std::erase_if(carrier.receivers, [&](const plan::ReceiverName& name) {
      return std::ranges::none_of(second.carriers, [&](const plan::Carrier& other) {
        return other.name == carrier.name && stays && std::ranges::count(other.receivers, name) > 0;
      });
    });
    between.carriers.push_back(std::move(carrier));
  }
  for (auto carrier : second.carriers) {
    if (!carrier.early || is_on(first, carrier)) continue;
    carrier.receivers.clear();
    between.carriers.push_back(std::move(carrier));
  }
  return between;
}

// dB of what stands before part `end`.
double gain_of(const plan::Chain& chain, std::size_t end) {
  double gain = 0.0;
  for (std::size_t i = 0; i < end; ++i) {
    if (const auto* loss = std::get_if<plan::FixedLoss>(&chain[i]))
      gain -= loss->loss.value();
    else if (const auto* amplifier = std::get_if<plan::RackAmplifier>(&chain[i]))
      gain += amplifier->gain.value();
    else
      throw std::logic_error{"a part that the oracle does not know"};
  }
  return gain;
}

bool same_window(const plan::Settings& a, const plan::Settings& b) {
  return a.filter == b.filter && a.centre == b.centre && a.power == b.power;
}

}  // namespace

RoutedOracle::RoutedOracle(const rack::SwitchTask& task)
    : task_{task}, plan_{task.plan.described ? *task.plan.described : task.plan} {
  between_ = air_of(on_meanwhile(task));
  left_ = air_of(task.left);
  entered_ = air_of(task.entered);
  list_movers();
  add_receivers();
  add_amplifiers();
  add_windows();
}

RoutedOracle::Air RoutedOracle::air_of(plan::Segment segment) const {
  Air air{std::move(segment), {}};
  for (const auto& node : plan_.nodes) {
    auto& levels = air.levels.emplace_back();
    for (const auto& carrier : rack::carriers_at(plan_, air.segment, node))
      levels.push_back(carrier.strongest ? ratio(carrier.strongest->dbm()) : 0.0);
  }
  return air;
}

void RoutedOracle::list_movers() {
  Switches next = 1;
  const auto one_more = [&next] { return std::exchange(next, next << 1U); };
  const auto ends_of = [&](const plan::NodeName& name) {
    return std::ranges::find(task_.nodes, name, &rack::NodeEnds::node);
  };
  for (const auto& node : plan_.nodes) {
    const auto ends = ends_of(node.name);
    if (ends == task_.nodes.end() || !ends->present)
      throw std::logic_error{"the oracle has to know how every antenna is set"};
    const auto now = *ends->present->amplifier();
    Antenna antenna{&node, now, ends->target ? *ends->target->amplifier() : now};
    if (antenna.target != now) {
      const bool window = !same_window(now, antenna.target);
      const bool gain = now.gain != antenna.target.gain;
      if (gain) antenna.gain = one_more();
      if (window) antenna.window = one_more();
      movers_.push_back(
          {node.name, now, antenna.target, gain && window, antenna.gain, antenna.window});
    }
    antennas_.push_back(antenna);
  }
  for (std::size_t place = 0; place < plan_.matrices.size(); ++place) {
    const auto& matrix = plan_.matrices[place];
    const auto& now = task_.plan.matrices[place].settings;
    Unit unit{&matrix, now, now, {}, {}};
    const auto ends = ends_of(matrix.name);
    const bool moves = ends != task_.nodes.end() && ends->target && ends->target != ends->present;
    if (moves) unit.target = *ends->target->matrix();
    Switches own = 0;
    Switches together = 0;  // of one that applies all its outputs at once
    for (std::size_t i = 0; i < now.outputs.size(); ++i) {
      Switches own_switch = 0;
      if (now.outputs[i] != unit.target.outputs[i]) {
        own_switch = together != 0 ? together : one_more();
        if (matrix.sheet->applies == plan::Applies::at_once) together = own_switch;
      }
      unit.outputs.push_back(own_switch);
      own |= own_switch;
    }
    for (std::size_t i = 0; i < now.inputs.size(); ++i) {
      const bool same = now.inputs[i].trim == unit.target.inputs[i].trim &&
                        now.inputs[i].supply_mv == unit.target.inputs[i].supply_mv;
      unit.inputs.push_back(same ? 0 : one_more());
      own |= unit.inputs.back();
    }
    if (moves) movers_.push_back({matrix.name, now, unit.target, false, 0, own});
    units_.push_back(std::move(unit));
  }
  if (next == 0) throw std::logic_error{"too many switches for the oracle"};
  all_ = next - 1;
}

const RoutedOracle::Unit& RoutedOracle::unit(const plan::NodeName& name) const {
  return *std::ranges::find(units_, name, [](const Unit& one) { return one.matrix->name; });
}

const plan::Inputs& RoutedOracle::taken(const plan::OutputOf& from, Switches thrown) const {
  const auto& one = unit(from.matrix);
  const auto at = from.output - 1;
  return ((thrown & one.outputs[at]) != 0 ? one.target : one.present).outputs[at];
}

const plan::InputSettings& RoutedOracle::input(const plan::InputOf& at, Switches thrown) const {
  const auto& one = unit(at.matrix);
  return ((thrown & one.inputs[at.input - 1]) != 0 ? one.target : one.present).inputs[at.input - 1];
}

bool RoutedOracle::is_fed(const Antenna& antenna, Switches thrown) const {
  const auto& node = *antenna.node;
  if (!node.ends_at || !node.datasheet->supply) return true;
  const auto fed = input(*node.ends_at, thrown).supply_mv;
  return node.datasheet->supply->lowest_mv <= fed && fed <= node.datasheet->supply->highest_mv;
}

// One that gets its supply back runs; one that has none is passive.
plan::Settings RoutedOracle::settings(const Antenna& antenna, Switches thrown) const {
  const bool moved = (thrown & antenna.window) != 0;
  auto now = moved ? antenna.target : antenna.present;
  now.gain = (thrown & antenna.gain) != 0 ? antenna.target.gain : antenna.present.gain;
  const bool first = is_fed(antenna, 0);
  const bool last = is_fed(antenna, all_);
  if (first == last) return now;
  const bool is = is_fed(antenna, thrown);
  if (!moved && !first && is) now.power = true;
  now.power = now.power && is;
  return now;
}

std::vector<std::size_t> RoutedOracle::antennas_on(const plan::Branch& branch,
                                                   Switches thrown) const {
  if (branch.from) return antennas_at(*branch.from, thrown);
  std::vector<std::size_t> on;
  for (std::size_t i = 0; i < antennas_.size(); ++i)
    if (std::ranges::count(branch.nodes, antennas_[i].node->name) > 0) on.push_back(i);
  return on;
}

std::optional<RoutedOracle::Onward> RoutedOracle::before(const plan::InputOf& input) const {
  for (const auto& one : units_)
    for (const auto& [output, way] : one.matrix->onward)
      if (way.to == input) return Onward{one.matrix, output, &way};
  return std::nullopt;
}

std::vector<std::size_t> RoutedOracle::antennas_by(const plan::InputOf& input,
                                                   Switches thrown) const {
  if (const auto by = before(input)) return antennas_at({by->matrix->name, by->output}, thrown);
  std::vector<std::size_t> on;
  for (std::size_t i = 0; i < antennas_.size(); ++i)
    if (antennas_[i].node->ends_at == input) on.push_back(i);
  return on;
}

std::vector<std::size_t> RoutedOracle::antennas_at(const plan::OutputOf& output,
                                                   Switches thrown) const {
  std::vector<std::size_t> on;
  for (const auto input : taken(output, thrown))
    std::ranges::copy(antennas_by({output.matrix, input}, thrown), std::back_inserter(on));
  return on;
}

RoutedOracle::Switches RoutedOracle::asked_by(const Antenna& antenna) const {
  auto asks = antenna.gain | antenna.window;
  if (antenna.node->ends_at)
    asks |= unit(antenna.node->ends_at->matrix).inputs[antenna.node->ends_at->input - 1];
  return asks;
}

RoutedOracle::Switches RoutedOracle::asked_by(const plan::Branch& branch) const {
  if (!branch.from) {
    Switches asks = 0;
    for (const auto antenna : antennas_on(branch, 0)) asks |= asked_by(antennas_[antenna]);
    return asks;
  }
  const auto& own = unit(branch.from->matrix);
  Switches routes = own.outputs[branch.from->output - 1];
  Switches asks = 0;
  for (std::size_t input = 1; input <= own.inputs.size(); ++input)
    if (const auto by = before({branch.from->matrix, input})) {
      asks |= own.inputs[input - 1];
      routes |= unit(by->matrix->name).outputs[by->output - 1];
    }
  // An antenna may be heard by old routes of one unit and new ones of another alone.
  for (auto some = routes;; some = (some - 1) & routes) {
    for (const auto antenna : antennas_on(branch, some)) asks |= asked_by(antennas_[antenna]);
    if (some == 0) break;
  }
  return asks | routes;
}

bool RoutedOracle::passes(const Antenna& antenna, const plan::Carrier& carrier,
                          Switches thrown) const {
  const auto now = settings(antenna, thrown);
  return !now.power || antenna.node->datasheet->filters[now.filter]
                           .surely_passed(now.centre)
                           .contains(carrier.band());
}

bool RoutedOracle::hears(const plan::Receiver& receiver, const plan::Carrier& carrier,
                         Switches thrown) const {
  return std::ranges::any_of(receiver.branches, [&](const plan::Branch& branch) {
    return std::ranges::any_of(antennas_on(branch, thrown), [&](std::size_t antenna) {
      return passes(antennas_[antenna], carrier, thrown);
    });
  });
}

void RoutedOracle::add_receivers() {
  for (const auto& receiver : plan_.receivers)
    for (const auto& carrier : between_.segment.carriers) {
      if (carrier.use != plan::CarrierUse::receive ||
          std::ranges::count(carrier.receivers, receiver.name) == 0)
        continue;
      if (!hears(receiver, carrier, 0) || !hears(receiver, carrier, all_)) continue;
      Switches asks = 0;
      for (const auto& branch : receiver.branches) asks |= asked_by(branch);
      for (const auto& antenna : antennas_) asks &= ~antenna.gain;
      constraints_.push_back({receiver.name.text + " hears " + carrier.name.text, asks,
                              [this, &receiver, &carrier](Switches thrown) {
                                return hears(receiver, carrier, thrown) ? Broken::no
                                                                        : Broken::caution;
                              }});
    }
}

// At the output of its amplifier; without power it has none.
double RoutedOracle::own_power(const Air& air, std::size_t antenna, Switches thrown) const {
  const auto& one = antennas_[antenna];
  const auto now = settings(one, thrown);
  if (!now.power) return 0.0;
  const auto& node = *one.node;
  const auto filter = node.datasheet->tuned(now.filter, now.centre);
  double power = 0.0;
  for (std::size_t i = 0; i < air.segment.carriers.size(); ++i)
    power += air.levels[antenna][i] *
             ratio(-filter->attenuation(air.segment.carriers[i].frequency).value());
  return power * ratio(gain_of(node.lead, node.lead.size()) + now.gain.decibels());
}

double RoutedOracle::at_cable_end(const Air& air, std::size_t antenna, Switches thrown) const {
  const auto& node = *antennas_[antenna].node;
  double gain = gain_of(*node.feed, node.feed->size());
  if (node.ends_at) gain += input(*node.ends_at, thrown).trim.decibels();
  if (settings(antennas_[antenna], thrown).power)
    return own_power(air, antenna, thrown) * ratio(gain);
  double power = 0.0;
  for (const auto level : air.levels[antenna]) power += level;
  return power *
         ratio(gain + gain_of(node.lead, node.lead.size()) - node.datasheet->passive_loss_db);
}

double RoutedOracle::branch_power(const Air& air, const Stand& stand, Switches thrown) const {
  const auto& branch = *stand.branch;
  double power = 0.0;
  if (branch.from) {
    if (stand.before) {
      const plan::InputOf at{branch.from->matrix, *stand.before};
      return std::ranges::count(taken(*branch.from, thrown), *stand.before) == 0
                 ? 0.0
                 : before_power(air, *before(at), thrown);
    }
    for (const auto number : taken(*branch.from, thrown)) {
      const plan::InputOf at{branch.from->matrix, number};
      if (const auto by = before(at))
        power +=
            before_power(air, *by, thrown) *
            ratio(by->matrix->sheet->gain.value() + gain_of(by->way->chain, by->way->chain.size()) +
                  input(at, thrown).trim.decibels());
      else
        for (const auto antenna : antennas_by(at, thrown))
          power += at_cable_end(air, antenna, thrown);
    }
    power *= through_unit(*branch.from, thrown);
    if (stand.of_unit) return power;
    power *= ratio(unit(branch.from->matrix).matrix->sheet->gain.value());
  } else {
    const auto on = antennas_on(branch, thrown);
    for (const auto antenna : on) power += at_cable_end(air, antenna, thrown);
    if (on.size() > 1)
      power *= ratio(-10.0 * std::log10(static_cast<double>(on.size())) -
                     branch.combiner_excess_loss.value());
  }
  return power * ratio(gain_of(branch.chain, stand.parts));
}

// From its inputs to where they are together.
double RoutedOracle::through_unit(const plan::OutputOf& output, Switches thrown) const {
  const auto inputs = taken(output, thrown).size();
  const auto& losses = unit(output.matrix).matrix->sheet->combining_losses;
  return inputs == 0 ? 1.0 : ratio(-losses[inputs - 1].value());
}

// At the amplifier of an output that ends at another unit.
double RoutedOracle::before_power(const Air& air, const Onward& onward, Switches thrown) const {
  const plan::OutputOf by{onward.matrix->name, onward.output};
  double power = 0.0;
  for (const auto antenna : antennas_at(by, thrown)) power += at_cable_end(air, antenna, thrown);
  return power * through_unit(by, thrown);
}

void RoutedOracle::add_amplifier(std::string name, double p1db, Switches asks,
                                 const std::function<double(const Air&, Switches)>& power) {
  const double limit = p1db * ratio(-plan_.limits.compression_margin.value());
  double caution = std::max({limit, power(left_, 0), power(entered_, all_)}) * no_worse;
  if (const double most = std::max(power(between_, 0), power(between_, all_)); most > caution) {
    unavoidable_ = true;
    caution = most * no_worse;
  }
  const double refuse = std::max(p1db, caution);
  constraints_.push_back(
      {"amplifier " + name, asks, [this, power, caution, refuse](Switches thrown) {
         const double now = power(between_, thrown);
         return now > refuse ? Broken::refuse : now > caution ? Broken::caution : Broken::no;
       }});
}

void RoutedOracle::add_branch_amplifiers(const plan::Receiver& receiver,
                                         const plan::Branch& branch) {
  const auto add = [&](const std::string& name, double p1db, Stand stand) {
    add_amplifier(name + " to " + receiver.name.text, p1db, asked_by(branch),
                  [this, stand](const Air& air, Switches thrown) {
                    return branch_power(air, stand, thrown);
                  });
  };
  if (branch.from) {
    const auto& sheet = *unit(branch.from->matrix).matrix->sheet;
    add(branch.from->matrix.text + "/" + std::to_string(branch.from->output),
        ratio(sheet.output_p1db.dbm() - sheet.gain.value()), {&branch, true, 0});
    for (std::size_t input = 1; input <= sheet.inputs; ++input)
      if (const auto by = before({branch.from->matrix, input})) {
        const auto& first = *by->matrix->sheet;
        add(by->matrix->name.text + "/" + std::to_string(by->output),
            ratio(first.output_p1db.dbm() - first.gain.value()), {&branch, true, 0, input});
      }
  }
  for (std::size_t i = 0; i < branch.chain.size(); ++i)
    if (const auto* amplifier = std::get_if<plan::RackAmplifier>(&branch.chain[i]))
      add(amplifier->name, ratio(amplifier->output_p1db.dbm() - amplifier->gain.value()),
          {&branch, false, i});
}

void RoutedOracle::add_amplifiers() {
  for (std::size_t i = 0; i < antennas_.size(); ++i) {
    const auto& node = *antennas_[i].node;
    for (const auto& part : node.lead)
      if (std::holds_alternative<plan::RackAmplifier>(part))
        throw std::logic_error{"an amplifier in a lead, which no route changes"};
    add_amplifier(node.name.text, ratio(node.datasheet->output_p1db_dbm), asked_by(antennas_[i]),
                  [this, i](const Air& air, Switches thrown) { return own_power(air, i, thrown); });
  }
  for (const auto& receiver : plan_.receivers)
    for (const auto& branch : receiver.branches) add_branch_amplifiers(receiver, branch);
}

void RoutedOracle::add_windows() {
  for (const auto& antenna : antennas_)
    for (const auto& carrier : between_.segment.carriers) {
      if (carrier.use != plan::CarrierUse::transmit) continue;
      const auto let_in = [&](Switches thrown) {
        const auto now = settings(antenna, thrown);
        return !now.power || antenna.node->datasheet->filters[now.filter]
                                 .perhaps_passed(now.centre)
                                 .overlaps(carrier.band());
      };
      const bool before = let_in(0);
      const bool after = let_in(all_);
      if ((before || after) && !(before && is_on(task_.left, carrier)) &&
          !(after && is_on(task_.entered, carrier)))
        unavoidable_ = true;
    }
}

// All combinations of what is in flight, one by one.
Broken RoutedOracle::worst(const Constraint& constraint, Switches thrown, Switches flying) const {
  thrown &= constraint.asks;
  flying &= constraint.asks;
  const auto key = static_cast<std::uint64_t>(thrown) << 32U | flying;
  const auto found = constraint.seen.find(key);
  if (found != constraint.seen.end()) return found->second;
  auto worst_yet = Broken::no;
  for (auto some = flying;; some = (some - 1) & flying) {
    // At rest it is one combination, known once.
    worst_yet = std::max(
        worst_yet, flying == 0 ? constraint.look(thrown) : worst(constraint, thrown | some, 0));
    if (some == 0) break;
  }
  constraint.seen.emplace(key, worst_yet);
  return worst_yet;
}

WayCost RoutedOracle::step_cost(Switches thrown, Switches flying) const {
  WayCost cost{0, 0, 1};
  for (const auto& constraint : constraints_) {
    const auto broken = worst(constraint, thrown, flying);
    cost.refusals += broken == Broken::refuse ? 1 : 0;
    cost.cautions += broken == Broken::caution ? 1 : 0;
  }
  return cost;
}

WayCost RoutedOracle::best() const {
  std::size_t states = 1;
  std::vector<std::size_t> places;
  for (const auto& mover : movers_) {
    places.push_back(states);
    states *= mover.two_ways ? 4 : 2;
  }
  std::vector<std::optional<WayCost>> reached(states);
  reached[0] = WayCost{};
  for (std::size_t state = 0; state < states; ++state) {
    if (!reached[state]) continue;
    const auto here = *reached[state];
    Switches thrown = 0;
    std::vector<unsigned> positions;
    for (std::size_t i = 0; i < movers_.size(); ++i) {
      const bool two = movers_[i].two_ways;
      const auto digit = static_cast<unsigned>(state / places[i] % (two ? 4 : 2));
      positions.push_back(two ? digit : digit * all_new);
      thrown |= movers_[i].thrown_at(positions.back());
    }
    const std::function<void(std::size_t, std::size_t, Switches)> go =
        [&](std::size_t next, std::size_t target, Switches then) {
          if (next == movers_.size()) {
            if (target == state) return;
            const auto step = step_cost(thrown, then & ~thrown);
            const WayCost cost{here.refusals + step.refusals, here.cautions + step.cautions,
                               here.steps + 1};
            if (!reached[target] || cost < *reached[target]) reached[target] = cost;
            return;
          }
          const auto& mover = movers_[next];
          const auto from = positions[next];
          for (unsigned to = from; to <= all_new; ++to) {
            if ((to & from) != from || (!mover.two_ways && to != 0 && to != all_new)) continue;
            go(next + 1, target + places[next] * (mover.two_ways ? to : to / all_new),
               then | mover.thrown_at(to));
          }
        };
    go(0, 0, thrown);
  }
  return *reached[states - 1];
}

std::vector<RoutedOracle::Flight> RoutedOracle::flights_of(const rack::Way& way,
                                                           std::vector<std::string>* wrong) const {
  const auto tell = [wrong](const plan::NodeName& name, const char* what) {
    if (wrong != nullptr) wrong->push_back(name.text + what);
  };
  std::vector<Flight> flights;
  std::vector<plan::NodeSettings> now;
  for (const auto& mover : movers_) now.push_back(mover.present);
  Switches thrown = 0;
  for (const auto& step : way.steps) {
    Flight flight{thrown, 0};
    for (const auto& move : step.moves) {
      const auto found = std::ranges::find(movers_, move.node, &Mover::name);
      if (found == movers_.end()) {
        tell(move.node, " is not to move");
        continue;
      }
      auto& own = now[static_cast<std::size_t>(found - movers_.begin())];
      if (move.from != own) tell(move.node, " is not where it starts from");
      own = move.to;
      unsigned position = own == found->target ? all_new : 0;
      if (const auto* to = own.amplifier(); to != nullptr && position == 0) {
        const auto& target = *found->target.amplifier();
        position = (same_window(*to, target) ? 2U : 0U) | (to->gain == target.gain ? 1U : 0U);
      }
      if (position == 0) tell(move.node, " moves to somewhere else");
      flight.flying |= found->thrown_at(position) & ~thrown;
    }
    thrown |= flight.flying;
    flights.push_back(flight);
  }
  for (std::size_t i = 0; i < movers_.size(); ++i)
    if (now[i] != movers_[i].target) tell(movers_[i].name, " does not arrive");
  return flights;
}

WayCost RoutedOracle::cost_of(const rack::Way& way) const {
  WayCost cost;
  for (const auto& [thrown, flying] : flights_of(way, nullptr)) {
    const auto step = step_cost(thrown, flying);
    cost = {cost.refusals + step.refusals, cost.cautions + step.cautions, cost.steps + 1};
  }
  return cost;
}

std::vector<std::string> RoutedOracle::violations(const rack::Way& way) const {
  std::vector<std::string> all;
  int number = 0;
  for (const auto& [thrown, flying] : flights_of(way, &all)) {
    ++number;
    for (const auto& constraint : constraints_)
      if (worst(constraint, thrown, flying) != Broken::no)
        all.push_back("step " + std::to_string(number) + ": " + constraint.name);
  }
  return all;
}

}  // namespace catwalk::test
