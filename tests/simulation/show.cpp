// SPDX-License-Identifier: Apache-2.0
#include "tests/simulation/show.hpp"

#include "tests/simulation/random.hpp"
#include "tests/simulation/words.hpp"

namespace catwalk::simulation {

using rf::Frequency;
using rf::Gain;

std::shared_ptr<const plan::RackPlan> edited(const Show& show, unsigned edit) {
  if (edit == 0) return show.plan;
  auto plan = *show.plan;
  Random random{show.seed, "edit " + std::to_string(edit)};
  if (random.one_in(2))
    plan.gain_limits = plan::GainLimits{Gain::decibels(-12), Gain::decibels(random.any(6, 20))};
  for (auto& segment : plan.segments) {
    if (random.one_in(3))
      segment.lanes.push_back({{"new lane"},
                               plan::LanePurpose::closed,
                               rf::Band::around(Frequency::megahertz(480 + random.any(0, 200)),
                                                Frequency::megahertz(8)),
                               "licence withdrawn"});
    if (random.one_in(4)) {
      plan::Carrier one;
      one.name = {"late guest"};
      one.use = plan::CarrierUse::transmit;
      one.frequency = Frequency::megahertz(480 + random.any(0, 200) + 0.1);
      one.bandwidth = Frequency::kilohertz(200);
      segment.carriers.push_back(std::move(one));
    }
  }
  return std::make_shared<const plan::RackPlan>(std::move(plan));
}

plan::Settings planned(const plan::Node& node, const plan::Segment& segment,
                       const plan::Settings& base) {
  auto settings = base;
  const auto found = segment.settings.find(node.name);
  if (found == segment.settings.end()) return settings;
  const auto& patch = found->second;
  if (patch.gain) settings.gain = *patch.gain;
  if (patch.filter) settings.filter = node.datasheet->filter_index(*patch.filter).value_or(0);
  if (patch.centre) settings.centre = *patch.centre;
  if (patch.power) settings.power = *patch.power;
  return settings;
}

plan::NodeSettings planned(const plan::Device& device, const plan::Segment& segment,
                           const plan::NodeSettings& base) {
  if (const auto* node = device.amplifier()) return planned(*node, segment, *base.amplifier());
  const auto found = segment.matrices.find(device.name());
  return found == segment.matrices.end() ? base : patched(*base.matrix(), found->second);
}

Show evening_show(std::uint64_t seed) {
  return Random{seed, "matrices"}.one_in(3) ? routed_show(seed) : random_show(seed);
}

namespace {

std::string described(const plan::Matrix& matrix) {
  const auto& sheet = *matrix.sheet;
  std::string text = "matrix " + matrix.name.text + " on " + matrix.on_line->line.text + ", a " +
                     sheet.type + ", " + std::string{name_of(matrix.on_line->on_return)} +
                     " on return, sums " + std::to_string(sheet.most_summed());
  if (sheet.supply) text += ", feeds";
  if (sheet.unsupplied) text += ", passive routes";
  return text + '\n';
}

}  // namespace

std::string described(const Show& show) {
  std::string text = "show " + std::to_string(show.seed) + '\n';
  for (const auto& line : show.lines)
    text += "line " + line.name.text + ", readings up to " +
            std::to_string(line.reading_age.count() / 1'000'000) + " s old\n";
  for (const auto& node : show.plan->nodes)
    text += "node " + node.name.text + " on " + node.line.text + ", a " + node.datasheet->type +
            ", " + std::string{name_of(node.on_return)} + " on return" +
            (node.ends_at ? ", ends at " + node.ends_at->matrix.text + " input " +
                                std::to_string(node.ends_at->input)
                          : "") +
            (node.datasheet->supply ? ", fed by it" : "") + '\n';
  for (const auto& matrix : show.plan->matrices) text += described(matrix);
  for (const auto& receiver : show.plan->receivers) {
    text += "receiver " + receiver.name.text + " hears";
    for (const auto& branch : receiver.branches) {
      text += &branch == &receiver.branches.front() ? " through" : ", and through";
      for (const auto& node : branch.nodes) text += ' ' + node.text;
      if (branch.from)
        text +=
            " output " + std::to_string(branch.from->output) + " of " + branch.from->matrix.text;
      if (!branch.chain.empty()) text += " and an amplifier";
    }
    text += '\n';
  }
  for (const auto& segment : show.plan->segments) {
    text += "segment " + segment.name.text + '\n';
    for (const auto& carrier : segment.carriers) {
      text += "  " + std::string{name_of(carrier.use)} + ' ' + carrier.name.text + " at " +
              number(carrier.frequency.megahertz());
      for (const auto& name : carrier.receivers) text += " for " + name.text;
      if (carrier.early) text += ", early";
      if (carrier.late) text += ", late";
      text += '\n';
    }
    for (const auto& node : show.plan->nodes) {
      if (!segment.settings.contains(node.name)) continue;
      text += "  set " + node.name.text + ' ' + words(planned(node, segment, {})) + '\n';
    }
    for (const auto& [name, patch] : segment.matrices)
      text += "  set " + name.text + ' ' +
              words(plan::NodeSettings{
                  patched(show.plan->find_matrix(name)->sheet->nothing_set(), patch)}) +
              '\n';
  }
  return text;
}

}  // namespace catwalk::simulation
