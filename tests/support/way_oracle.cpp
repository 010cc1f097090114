// SPDX-License-Identifier: Apache-2.0
#include "tests/support/way_oracle.hpp"

#include <algorithm>
#include <bit>
#include <limits>
#include <optional>
#include <set>
#include <stdexcept>

#include "daemon/rack/levels/tuned_node.hpp"

namespace catwalk::test {

using rack::SwitchTask;

namespace {

constexpr unsigned all_new = 3;

// Louder by less than the smallest unit that is set is not worse, dB.
constexpr double no_worse = 0.01;

bool lets_in(const plan::Node& node, const plan::Settings& settings, const plan::Carrier& carrier) {
  return node.datasheet->filters[settings.filter]
      .perhaps_passed(settings.centre)
      .overlaps(carrier.band());
}

const plan::Carrier* counterpart(const plan::Segment& segment, const plan::Carrier& carrier) {
  for (const auto& other : segment.carriers)
    if (other.name == carrier.name && other.use == carrier.use &&
        other.frequency == carrier.frequency)
      return &other;
  return nullptr;
}

bool has(const plan::Segment& segment, const plan::Carrier& carrier) {
  return counterpart(segment, carrier) != nullptr;
}

// Carriers that both segments have are the same in both, but for who must hear them.
plan::Segment carriers_between(const SwitchTask& task) {
  const auto& first = task.back ? task.entered : task.left;
  const auto& second = task.back ? task.left : task.entered;
  plan::Segment between;
  for (const auto& carrier : first.carriers) {
    const auto* other = counterpart(second, carrier);
    if (other == nullptr && !carrier.late) continue;
    auto one = carrier;
    std::erase_if(one.receivers, [&](const plan::ReceiverName& name) {
      return other == nullptr || std::ranges::count(other->receivers, name) == 0;
    });
    between.carriers.push_back(std::move(one));
  }
  for (const auto& carrier : second.carriers)
    if (carrier.early && !has(first, carrier)) {
      between.carriers.push_back(carrier);
      between.carriers.back().receivers.clear();
    }
  return between;
}

}  // namespace

plan::Settings WayOracle::Mover::at(unsigned position) const {
  auto settings = (position & 2U) != 0 ? target : present;
  settings.gain = (position & 1U) != 0 ? target.gain : present.gain;
  return settings;
}

WayOracle::WayOracle(const SwitchTask& task) : task_{task}, between_{carriers_between(task)} {
  for (const auto& node : task.plan.nodes)
    for (const auto& ends : task.nodes) {
      if (ends.node != node.name || !ends.present) continue;
      const auto& now = *ends.present->amplifier();
      if (!ends.target || *ends.target->amplifier() == now) {
        resting_.emplace(node.name, now);
        continue;
      }
      const auto& then = *ends.target->amplifier();
      const bool window =
          now.filter != then.filter || now.centre != then.centre || now.power != then.power;
      movers_.push_back({&node, now, then, window && now.gain != then.gain});
    }
  add_receivers();
  add_unknown_levels();
  add_amplifiers();
  add_windows();
}

plan::Settings WayOracle::settings_of(const plan::Node& node, const Positions& positions) const {
  for (std::size_t i = 0; i < movers_.size(); ++i)
    if (movers_[i].node == &node) return movers_[i].at(positions[i]);
  return resting_.at(node.name);
}

bool WayOracle::covers(const plan::Receiver& receiver, const plan::Carrier& carrier,
                       const Positions& positions) const {
  for (const auto& branch : receiver.branches)
    for (const auto& name : branch.nodes) {
      const auto& node = *task_.plan.find(name);
      const auto settings = settings_of(node, positions);
      if (!settings.power || node.datasheet->filters[settings.filter]
                                 .surely_passed(settings.centre)
                                 .contains(carrier.band()))
        return true;
    }
  return false;
}

void WayOracle::add_receivers() {
  const Positions start(movers_.size(), 0);
  const Positions end(movers_.size(), all_new);
  for (const auto& receiver : task_.plan.receivers)
    for (const auto& carrier : between_.carriers) {
      if (carrier.use != plan::CarrierUse::receive ||
          std::ranges::count(carrier.receivers, receiver.name) == 0)
        continue;
      if (!covers(receiver, carrier, start) || !covers(receiver, carrier, end)) continue;
      Constraint one{receiver.name.text + " hears " + carrier.name.text, {}, {}};
      for (std::size_t i = 0; i < movers_.size(); ++i)
        if (plan::RackPlan::serves(receiver, movers_[i].node->name)) one.movers.push_back(i);
      one.look = [this, &receiver, &carrier](const Positions& positions) {
        return covers(receiver, carrier, positions) ? Broken::no : Broken::caution;
      };
      constraints_.push_back(std::move(one));
    }
}

// A transmitter of unknown level is let in at no higher gain than where an end lets it in.
void WayOracle::add_unknown_levels() {
  for (std::size_t i = 0; i < movers_.size(); ++i) {
    const auto& mover = movers_[i];
    const auto levels = rack::carriers_at(task_.plan, between_, *mover.node);
    for (std::size_t k = 0; k < levels.size(); ++k) {
      const auto& carrier = between_.carriers[k];
      if (carrier.use != plan::CarrierUse::transmit || levels[k].strongest) continue;
      auto highest = rf::Gain::centidecibels(std::numeric_limits<std::int32_t>::min());
      for (const auto& settings : {mover.present, mover.target})
        if (settings.power && lets_in(*mover.node, settings, carrier))
          highest = std::max(highest, settings.gain);
      constraints_.push_back({mover.node->name.text + " pads " + carrier.name.text,
                              {i},
                              [this, i, &carrier, highest](const Positions& positions) {
                                const auto now = movers_[i].at(positions[i]);
                                const bool loud = now.power && now.gain > highest &&
                                                  lets_in(*movers_[i].node, now, carrier);
                                return loud ? Broken::caution : Broken::no;
                              }});
    }
  }
}

// In dB over its P1dB, by way of the whole budget of one node; very little if nothing is there.
double WayOracle::power(const plan::Segment& segment, const plan::Node& node,
                        const std::string& amplifier, const Positions& positions) const {
  const rack::SettingsOf others = [&](const plan::NodeName& name) {
    return std::optional{settings_of(*task_.plan.find(name), positions)};
  };
  const rack::NodePhysics physics{task_.plan, segment, node, others};
  const auto settings = settings_of(node, positions);
  const auto tuned = settings.power ? rack::TunedNode{physics, settings.filter, settings.centre}
                                    : rack::TunedNode::passive(physics);
  for (const auto& load : tuned.amplifiers_at(settings.gain))
    if (load.amplifier == amplifier) return -load.margin().value();
  return -1e6;
}

void WayOracle::add_amplifier(const std::string& name, const plan::Node& through,
                              std::vector<std::size_t> movers) {
  const Positions start(movers_.size(), 0);
  const Positions end(movers_.size(), all_new);
  double caution = std::max({-task_.plan.limits.compression_margin.value(),
                             power(task_.left, through, name, start),
                             power(task_.entered, through, name, end)}) +
                   no_worse;
  const double most =
      std::max(power(between_, through, name, start), power(between_, through, name, end));
  if (most > caution) {
    unavoidable_ = true;
    caution = most + no_worse;
  }
  const double refuse = std::max(0.0, caution);
  constraints_.push_back(
      {"amplifier " + name, std::move(movers),
       [this, &through, name, caution, refuse](const Positions& positions) {
         const double now = power(between_, through, name, positions);
         return now > refuse ? Broken::refuse : now > caution ? Broken::caution : Broken::no;
       }});
}

void WayOracle::add_amplifiers() {
  for (const auto& node : task_.plan.nodes) {
    std::vector<std::size_t> movers;
    for (std::size_t i = 0; i < movers_.size(); ++i)
      if (movers_[i].node == &node) movers.push_back(i);
    for (const auto& part : node.lead)
      if (const auto* amplifier = std::get_if<plan::RackAmplifier>(&part))
        add_amplifier(amplifier->name, node, movers);
    add_amplifier(node.name.text, node, std::move(movers));
  }
  std::set<std::string> done;
  for (const auto& receiver : task_.plan.receivers)
    for (const auto& branch : receiver.branches) {
      std::vector<std::size_t> movers;
      for (std::size_t i = 0; i < movers_.size(); ++i)
        if (std::ranges::count(branch.nodes, movers_[i].node->name) > 0) movers.push_back(i);
      for (const auto& part : branch.chain)
        if (const auto* amplifier = std::get_if<plan::RackAmplifier>(&part))
          if (done.insert(amplifier->name).second)
            add_amplifier(amplifier->name, *task_.plan.find(branch.nodes.front()), movers);
    }
}

void WayOracle::add_windows() {
  for (const auto& node : task_.plan.nodes)
    for (const auto& carrier : between_.carriers) {
      if (carrier.use != plan::CarrierUse::transmit) continue;
      const auto passes = [&](unsigned position) {
        const auto settings = settings_of(node, Positions(movers_.size(), position));
        return !settings.power || lets_in(node, settings, carrier);
      };
      const bool before = passes(0);
      const bool after = passes(all_new);
      if ((before || after) && !(before && has(task_.left, carrier)) &&
          !(after && has(task_.entered, carrier)))
        unavoidable_ = true;
    }
}

Broken WayOracle::at(const Constraint& constraint, const Positions& positions) const {
  Positions own;
  for (const auto mover : constraint.movers) own.push_back(positions[mover]);
  const auto found = constraint.seen.find(own);
  if (found != constraint.seen.end()) return found->second;
  return constraint.seen.emplace(own, constraint.look(positions)).first->second;
}

// All combinations of what the nodes in flight may be in.
Broken WayOracle::worst(const Constraint& constraint, const std::vector<Flight>& flights) const {
  Positions positions;
  for (const auto& flight : flights) positions.push_back(flight.from);
  auto worst_yet = Broken::no;
  const std::function<void(std::size_t)> choose = [&](std::size_t next) {
    if (next == constraint.movers.size()) {
      worst_yet = std::max(worst_yet, at(constraint, positions));
      return;
    }
    const auto mover = constraint.movers[next];
    const auto [from, to] = flights[mover];
    for (unsigned position = 0; position <= all_new; ++position) {
      const bool between = (position & from) == from && (position | to) == to;
      if (!between) continue;
      positions[mover] = position;
      choose(next + 1);
    }
  };
  choose(0);
  return worst_yet;
}

WayCost WayOracle::best() const {
  // Those that anything at all can break.
  std::vector<const Constraint*> alive;
  for (const auto& constraint : constraints_)
    if (worst(constraint, std::vector<Flight>(movers_.size(), {0, all_new})) != Broken::no)
      alive.push_back(&constraint);
  const auto count = alive.size();
  if (2 * count > 64) throw std::logic_error{"too many constraints for the oracle"};
  // A box is a flight of every mover, written with one digit each; what may happen in it is what
  // may happen in its two halves, down to single combinations.
  static constexpr Flight flights[] = {{0, 0}, {3, 3}, {0, 3}, {1, 1}, {2, 2},
                                       {0, 1}, {0, 2}, {1, 3}, {2, 3}};
  // Which two flights a flight consists of; for {0, 3} two of {0, 1}, {2, 3}.
  static constexpr std::pair<int, int> halves[] = {{-1, -1}, {-1, -1}, {5, 8}, {-1, -1}, {-1, -1},
                                                   {0, 3},   {0, 4},   {3, 1}, {4, 1}};
  std::vector<std::size_t> place(movers_.size());
  std::size_t boxes = 1;
  for (std::size_t i = 0; i < movers_.size(); ++i) {
    place[i] = boxes;
    boxes *= movers_[i].two_ways ? 9 : 3;
  }
  constexpr auto unknown = ~std::uint64_t{0};
  std::vector<std::uint64_t> broken(boxes, unknown);
  const std::function<std::uint64_t(std::size_t)> look = [&](std::size_t box) -> std::uint64_t {
    if (broken[box] != unknown) return broken[box];
    std::uint64_t mask = 0;
    Positions positions(movers_.size());
    std::size_t rest = box;
    for (std::size_t i = 0; i < movers_.size(); ++i) {
      const std::size_t base = movers_[i].two_ways ? 9 : 3;
      const auto digit = rest % base;
      rest /= base;
      const auto [from, to] = flights[digit];
      positions[i] = from;
      if (from == to) continue;
      const auto without = box - digit * place[i];
      // Where gain or window stay, half way is no other place.
      const auto half = movers_[i].two_ways ? halves[digit] : std::pair{0, 1};
      mask = look(without + static_cast<std::size_t>(half.first) * place[i]) |
             look(without + static_cast<std::size_t>(half.second) * place[i]);
      return broken[box] = mask;
    }
    for (std::size_t k = 0; k < count; ++k) {
      const auto now = at(*alive[k], positions);
      if (now == Broken::caution) mask |= std::uint64_t{1} << (2 * k);
      if (now == Broken::refuse) mask |= std::uint64_t{2} << (2 * k);
    }
    return broken[box] = mask;
  };

  std::size_t states = 1;
  std::vector<std::size_t> state_place(movers_.size());
  for (std::size_t i = 0; i < movers_.size(); ++i) {
    state_place[i] = states;
    states *= movers_[i].two_ways ? 4 : 2;
  }
  std::vector<std::optional<WayCost>> reached(states);
  reached[0] = WayCost{};
  for (std::size_t state = 0; state < states; ++state) {
    if (!reached[state]) continue;
    const auto here = *reached[state];
    Positions positions;
    for (std::size_t i = 0, rest = state; i < movers_.size(); ++i) {
      const std::size_t base = movers_[i].two_ways ? 4 : 2;
      const auto digit = static_cast<unsigned>(rest % base);
      positions.push_back(movers_[i].two_ways ? digit : digit * all_new);
      rest /= base;
    }
    const std::function<void(std::size_t, std::size_t, std::size_t)> go =
        [&](std::size_t next, std::size_t box, std::size_t target) {
          if (next == movers_.size()) {
            if (target == state) return;
            const auto mask = look(box);
            constexpr std::uint64_t cautions = 0x5555'5555'5555'5555;
            const auto refused = mask >> 1U & cautions;
            const WayCost cost{here.refusals + std::popcount(refused),
                               here.cautions + std::popcount(mask & cautions & ~refused),
                               here.steps + 1};
            if (!reached[target] || cost < *reached[target]) reached[target] = cost;
            return;
          }
          const int digits = movers_[next].two_ways ? 9 : 3;
          for (int digit = 0; digit < digits; ++digit) {
            const auto [from, to] = flights[digit];
            if (from != positions[next]) continue;
            const auto end = movers_[next].two_ways ? to : to / all_new;
            go(next + 1, box + static_cast<std::size_t>(digit) * place[next],
               target + end * state_place[next]);
          }
        };
    go(0, 0, 0);
  }
  return *reached[states - 1];
}

namespace {

// Precondition: gain and window both change, or these are the settings of an end.
unsigned position_of(const plan::Settings& settings, const plan::Settings& target) {
  if (settings == target) return all_new;
  const bool window = settings.filter == target.filter && settings.centre == target.centre &&
                      settings.power == target.power;
  return (window ? 2U : 0U) | (settings.gain == target.gain ? 1U : 0U);
}

}  // namespace

std::vector<std::string> WayOracle::violations(const rack::Way& way) const {
  std::vector<std::string> all;
  Positions now(movers_.size(), 0);
  std::vector<plan::Settings> settings;
  for (const auto& mover : movers_) settings.push_back(mover.present);
  int number = 0;
  for (const auto& step : way.steps) {
    ++number;
    std::vector<Flight> flights;
    for (const auto position : now) flights.push_back({position, position});
    for (const auto& move : step.moves) {
      const auto found = std::ranges::find(movers_, move.node,
                                           [](const Mover& mover) { return mover.node->name; });
      if (found == movers_.end()) {
        all.push_back(move.node.text + " is not to move");
        continue;
      }
      const auto i = static_cast<std::size_t>(found - movers_.begin());
      if (move.from != settings[i]) all.push_back(move.node.text + " is not where it starts from");
      settings[i] = *move.to.amplifier();
      flights[i].to = position_of(settings[i], found->target);
      if ((flights[i].to | flights[i].from) != flights[i].to)
        all.push_back(move.node.text + " moves back");
      now[i] = flights[i].to;
    }
    for (const auto& constraint : constraints_)
      if (worst(constraint, flights) != Broken::no)
        all.push_back("step " + std::to_string(number) + ": " + constraint.name);
  }
  for (std::size_t i = 0; i < movers_.size(); ++i)
    if (settings[i] != movers_[i].target)
      all.push_back(movers_[i].node->name.text + " does not arrive");
  return all;
}

WayCost WayOracle::cost_of(const rack::Way& way) const {
  WayCost cost{0, 0, static_cast<int>(way.steps.size())};
  Positions now(movers_.size(), 0);
  for (const auto& step : way.steps) {
    std::vector<Flight> flights;
    for (const auto position : now) flights.push_back({position, position});
    for (const auto& move : step.moves)
      for (std::size_t i = 0; i < movers_.size(); ++i)
        if (movers_[i].node->name == move.node)
          now[i] = flights[i].to = position_of(*move.to.amplifier(), movers_[i].target);
    for (const auto& constraint : constraints_) {
      const auto broken = worst(constraint, flights);
      cost.refusals += broken == Broken::refuse ? 1 : 0;
      cost.cautions += broken == Broken::caution ? 1 : 0;
    }
  }
  return cost;
}

}  // namespace catwalk::test
