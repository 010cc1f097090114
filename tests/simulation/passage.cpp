// SPDX-License-Identifier: Apache-2.0
#include "tests/simulation/passage.hpp"

#include <algorithm>
#include <cmath>

namespace catwalk::simulation {
namespace {

constexpr std::size_t remembered = 8;

bool is_same_carrier(const plan::Carrier& a, const plan::Carrier& b) {
  return a.name == b.name && a.use == b.use && a.frequency == b.frequency;
}

std::size_t place_of(const plan::RackPlan& plan, const plan::NodeName& name) {
  for (std::size_t i = 0; i < plan.nodes.size(); ++i)
    if (plan.nodes[i].name == name) return i;
  for (std::size_t i = 0; i < plan.matrices.size(); ++i)
    if (plan.matrices[i].name == name) return plan.nodes.size() + i;
  return 0;
}

const plan::Matrix* unit_at(const plan::RackPlan& plan, std::size_t place) {
  return place < plan.nodes.size() ? nullptr : &plan.matrices[place - plan.nodes.size()];
}

bool lives_on_its_cable(const plan::RackPlan& plan, std::size_t node) {
  const auto& antenna = plan.nodes[node];
  if (!antenna.ends_at || !antenna.datasheet->supply) return false;
  return unit_at(plan, place_of(plan, antenna.ends_at->matrix))->sheet->supply.has_value();
}

bool passes(const plan::Datasheet& sheet, const plan::Settings& settings, const rf::Band& band) {
  if (settings.filter >= sheet.filters.size()) return false;
  const auto& filter = sheet.filters[settings.filter];
  const auto middle = filter.tuning ? settings.centre.hertz() * 2
                                    : filter.fixed.low.hertz() + filter.fixed.high.hertz();
  const auto width =
      filter.tuning ? filter.width.hertz() : filter.fixed.high.hertz() - filter.fixed.low.hertz();
  const auto beside = std::abs(band.low.hertz() + band.high.hertz() - middle);
  return beside + (band.high.hertz() - band.low.hertz()) <= width - 2 * filter.skirt.hertz();
}

// As readings tell it: without its supply an amplifier is out of circuit. Labels move nothing.
bool stands_there(const plan::NodeSettings& expected, const plan::NodeSettings& truly,
                  bool powered) {
  if (const auto* own = expected.amplifier()) {
    const auto* has = truly.amplifier();
    return own->gain == has->gain && own->filter == has->filter && own->centre == has->centre &&
           own->power == (has->power && powered);
  }
  const auto& inputs = expected.matrix()->inputs;
  const auto& others = truly.matrix()->inputs;
  return expected.matrix()->outputs == truly.matrix()->outputs && inputs.size() == others.size() &&
         std::ranges::equal(inputs, others, [](const auto& a, const auto& b) {
           return a.trim == b.trim && a.supply_mv == b.supply_mv;
         });
}

}  // namespace

void Passage::planned(const rack::WayQuestion& question, const rack::Way& way) {
  if (way.steps.empty()) return;
  planned_.push_back({question, way});
  if (planned_.size() > remembered) planned_.pop_front();
}

const Passage::Planned* Passage::walked_by(const rack::SwitchView& view, const plan::NodeName& node,
                                           const plan::NodeSettings& to) const {
  const auto found = std::find_if(planned_.rbegin(), planned_.rend(), [&](const Planned& one) {
    const auto& moves = one.way.steps.front().moves;
    return one.question.back == view.back &&
           one.question.left == (view.back ? view.entered : view.left) &&
           one.question.entered == (view.back ? view.left : view.entered) &&
           std::ranges::any_of(
               moves, [&](const rack::Move& move) { return move.node == node && move.to == to; });
  });
  return found == planned_.rend() ? nullptr : &*found;
}

Passage::Standing Passage::standing(const Truth& truth) {
  Standing now;
  for (const auto& one : truth.nodes()) {
    now.settings.push_back(one.settings());
    now.powered.push_back(one.is_powered());
  }
  return now;
}

bool Passage::is_fed(const Watch& watch, const Standing& now, std::size_t node) {
  const auto& antenna = watch.plan->nodes[node];
  if (!lives_on_its_cable(*watch.plan, node)) return true;
  const auto unit = place_of(*watch.plan, antenna.ends_at->matrix);
  const auto fed = now.settings[unit].matrix()->inputs[antenna.ends_at->input - 1].supply_mv;
  const auto& takes = *antenna.datasheet->supply;
  return watch.cable_whole[node] && now.powered[unit] && takes.lowest_mv <= fed &&
         fed <= takes.highest_mv;
}

// Where all moves of the way lead to. Nothing: the nodes do not stand where it begins, or nobody
// knows how a matrix is set.
std::optional<Passage::Standing> Passage::end_of(const Watch& watch, const Planned& planned,
                                                 const Standing& start) {
  const auto& nodes = planned.question.nodes;
  for (std::size_t i = 0; i < nodes.size(); ++i) {
    const auto& present = nodes[i].present;
    if (!present && unit_at(*watch.plan, i) != nullptr) return std::nullopt;
    if (present && !stands_there(*present, start.settings[i], start.powered[i]))
      return std::nullopt;
    // It may have lost its supply, or got it back, and nobody has read that yet.
    const auto units = planned.question.plan->nodes.size();
    if (i >= units && planned.question.plan->matrices[i - units].supplied != start.powered[i])
      return std::nullopt;
  }
  auto end = start;
  for (const auto& step : planned.way.steps)
    for (const auto& move : step.moves) end.settings[place_of(*watch.plan, move.node)] = move.to;
  for (std::size_t i = 0; i < watch.plan->nodes.size(); ++i)
    if (lives_on_its_cable(*watch.plan, i) && is_fed(watch, start, i) != is_fed(watch, end, i))
      end.powered[i] = is_fed(watch, end, i);
  return end;
}

std::vector<std::size_t> Passage::antennas_of(const Watch& watch, const Standing& now,
                                              const plan::Receiver& receiver) {
  const auto& plan = *watch.plan;
  std::vector<std::size_t> antennas;
  for (const auto& branch : receiver.branches) {
    for (const auto& name : branch.nodes) antennas.push_back(place_of(plan, name));
    if (!branch.from) continue;
    const auto unit = place_of(plan, branch.from->matrix);
    const auto& passive = unit_at(plan, unit)->sheet->unsupplied;
    const auto output = branch.from->output - 1;
    plan::Inputs taken;
    if (now.powered[unit])
      taken = now.settings[unit].matrix()->outputs[output];
    else if (passive)
      taken = passive->outputs[output];
    for (std::size_t i = 0; i < plan.nodes.size(); ++i)
      if (const auto& end = plan.nodes[i].ends_at;
          end && end->matrix == branch.from->matrix && std::ranges::count(taken, end->input) > 0)
        antennas.push_back(i);
  }
  return antennas;
}

bool Passage::hears(const Watch& watch, const Standing& now, const Pair& pair) {
  const auto antennas = antennas_of(watch, now, *pair.receiver);
  return std::ranges::any_of(antennas, [&](std::size_t i) {
    const auto& settings = *now.settings[i].amplifier();
    const bool passive = !settings.power || !now.powered[i];
    return !watch.unsure[i] &&
           (passive || passes(*watch.plan->nodes[i].datasheet, settings, pair.band));
  });
}

bool Passage::is_in_use(const Watch& watch, const Standing& now, std::size_t node) {
  return std::ranges::any_of(watch.at_work, [&](const plan::Receiver* receiver) {
    const auto antennas = antennas_of(watch, now, *receiver);
    return std::ranges::count(antennas, node) > 0;
  });
}

std::vector<const plan::Receiver*> Passage::listeners(const plan::RackPlan& plan,
                                                      const rack::WayQuestion& question) {
  std::vector<const plan::Receiver*> all;
  for (const auto& receiver : plan.receivers)
    for (const auto& name : {question.left, question.entered})
      if (std::ranges::count(all, &receiver) == 0 &&
          std::ranges::any_of(plan.find(name)->carriers, [&](const plan::Carrier& carrier) {
            return carrier.use == plan::CarrierUse::receive &&
                   std::ranges::count(carrier.receivers, receiver.name) > 0;
          }))
        all.push_back(&receiver);
  return all;
}

// Microphones that both segments have, at the receivers that are to hear them in both.
std::vector<Passage::Pair> Passage::live_pairs(const plan::RackPlan& plan,
                                               const rack::WayQuestion& question) {
  std::vector<Pair> pairs;
  const auto& entered = plan.find(question.entered)->carriers;
  for (const auto& carrier : plan.find(question.left)->carriers) {
    if (carrier.use != plan::CarrierUse::receive) continue;
    const auto other = std::ranges::find_if(
        entered, [&](const plan::Carrier& one) { return is_same_carrier(one, carrier); });
    if (other == entered.end()) continue;
    const auto band =
        rf::Band::around(carrier.frequency, std::max(carrier.bandwidth, other->bandwidth));
    for (const auto& name : carrier.receivers)
      if (std::ranges::count(other->receivers, name) > 0)
        pairs.push_back({plan.find(name), band, carrier.name.text});
  }
  return pairs;
}

void Passage::begins(const rack::SwitchView& view, const plan::NodeName& node,
                     const plan::NodeSettings& to, const Truth& truth, Moment now) {
  watch_.reset();
  const auto* planned = walked_by(view, node, to);
  if (planned == nullptr || !planned->way.clean()) return;
  if (std::ranges::any_of(truth.nodes(),
                          [&](const TrueNode& one) { return one.is_not_believed(now); }))
    return;
  const auto& question = planned->question;
  const auto& routed = question.plan;
  Watch watch{routed->described ? routed->described : routed, {}, {}, {}, {}, {}};
  const auto start = standing(truth);
  for (const auto& antenna : watch.plan->nodes) {
    const auto* unit = antenna.ends_at ? truth.find(antenna.ends_at->matrix) : nullptr;
    const auto* socket = unit != nullptr ? &unit->node->socket(antenna.ends_at->input) : nullptr;
    watch.cable_whole.push_back(socket == nullptr || (socket->plugged && !socket->shorted));
  }
  const auto end = end_of(watch, *planned, start);
  if (!end) return;
  for (std::size_t i = 0; i < start.settings.size(); ++i) {
    // What starts anew on the way does so with what it has stored, which nobody knows.
    const bool starts = !start.powered[i] && end->powered[i];
    const auto& one = *truth.nodes()[i].node;
    watch.unsure.push_back(!question.nodes[i].present ||
                           (starts && one.memory().stored != one.in_force()));
  }
  auto pairs = live_pairs(*watch.plan, question);
  watch.at_work = listeners(*watch.plan, question);
  const auto is_unsure = [&](const Standing& standing, const Pair& pair) {
    const auto antennas = antennas_of(watch, standing, *pair.receiver);
    return std::ranges::any_of(antennas, [&](std::size_t i) { return watch.unsure[i]; });
  };
  std::erase_if(pairs, [&](const Pair& pair) {
    return is_unsure(start, pair) || is_unsure(*end, pair) || !hears(watch, start, pair) ||
           !hears(watch, *end, pair);
  });
  watch.pairs = std::move(pairs);
  for (std::size_t i = 0; i < watch.plan->nodes.size(); ++i)
    watch.may_be_unfed.push_back((is_in_use(watch, start, i) && !is_fed(watch, start, i)) ||
                                 (is_in_use(watch, *end, i) && !is_fed(watch, *end, i)));
  watch_ = std::move(watch);
  ++watched_;
}

Complaint Passage::look(const Truth& truth) const {
  if (!watch_) return std::nullopt;
  const auto now = standing(truth);
  for (const auto& pair : watch_->pairs)
    if (!hears(*watch_, now, pair))
      return Violation{"no receiver loses its last antenna on the way",
                       pair.receiver->name.text + " hears " + pair.carrier +
                           " at both ends of the way, and not now"};
  for (std::size_t i = 0; i < watch_->plan->nodes.size(); ++i)
    if (!watch_->may_be_unfed[i] && !is_fed(*watch_, now, i) && is_in_use(*watch_, now, i))
      return Violation{"no antenna in use loses its supply on the way",
                       watch_->plan->nodes[i].name.text +
                           " is heard, and gets no supply, as it is at neither end of the way"};
  return std::nullopt;
}

}  // namespace catwalk::simulation
