// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/rules/rules.hpp"

#include <algorithm>
#include <iterator>

#include "daemon/base/text.hpp"
#include "daemon/rack/rules/band_rules.hpp"
#include "daemon/rack/rules/isolation_rules.hpp"
#include "daemon/rack/rules/physics_rules.hpp"
#include "daemon/rack/rules/power_failure.hpp"
#include "daemon/rack/values/carriers_at.hpp"
#include "daemon/rack/values/numbers.hpp"
#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

std::vector<std::string> filter_names(const plan::Datasheet& datasheet) {
  std::vector<std::string> names;
  for (const auto& filter : datasheet.filters) names.push_back(filter.name);
  return names;
}

void check_gain(const plan::Node& node, rf::Gain gain, std::vector<Finding>& findings) {
  const auto& sheet = *node.datasheet;
  if (!sheet.gains.reaches(gain)) {
    findings.push_back({Rule::gain_range,
                        Severity::refuse,
                        node.name,
                        {},
                        {decibels("gain", gain), decibels("lowest", sheet.gains.lowest),
                         decibels("highest", sheet.gains.highest)},
                        "A " + sheet.type + " cannot do " + in_words(gain) + "; it goes from " +
                            in_words(sheet.gains.lowest) + " to " + in_words(sheet.gains.highest) +
                            "."});
    return;
  }
  if (!sheet.gains.on_step(gain))
    findings.push_back({Rule::gain_step,
                        Severity::refuse,
                        node.name,
                        {},
                        {decibels("gain", gain), decibels("step", sheet.gains.step)},
                        in_words(gain) + " is between two steps of a " + sheet.type +
                            "; it moves in steps of " + in_words(sheet.gains.step) + " from " +
                            in_words(sheet.gains.lowest) + "."});
}

void check_centre(const plan::Node& node, const plan::Filter& filter, rf::Frequency centre,
                  std::vector<Finding>& findings) {
  if (!filter.tuning) {
    if (centre != rf::Frequency{})
      findings.push_back({Rule::centre_range,
                          Severity::refuse,
                          node.name,
                          {},
                          {megahertz("centre", centre)},
                          "Filter " + filter.name + " is fixed at " + in_words(filter.fixed) +
                              " and has no centre to tune."});
    return;
  }
  const auto& tuning = *filter.tuning;
  const rf::Band reach{tuning.lowest, tuning.highest};
  if (!tuning.reaches(centre)) {
    const std::string said = centre == rf::Frequency{} ? "Filter " + filter.name + " needs a centre"
                                                       : "The centre of " + filter.name +
                                                             " cannot go to " + in_words(centre);
    findings.push_back({Rule::centre_range,
                        Severity::refuse,
                        node.name,
                        {},
                        {megahertz("centre", centre), megahertz("lowest", tuning.lowest),
                         megahertz("highest", tuning.highest)},
                        said + "; it tunes from " + in_words(reach) + "."});
    return;
  }
  if (!tuning.on_step(centre))
    findings.push_back({Rule::centre_step,
                        Severity::refuse,
                        node.name,
                        {},
                        {megahertz("centre", centre), megahertz("step", tuning.step)},
                        in_words(centre) + " is between two steps of " + filter.name +
                            "; it tunes in steps of " + in_words(tuning.step) + " from " +
                            in_words(tuning.lowest) + "."});
}

void check_gain_limit(const plan::RackPlan& plan, const plan::Node& node, rf::Gain gain,
                      std::vector<Finding>& findings) {
  const bool own = node.gain_limits.has_value();
  const auto& limits = plan.limits_of(node);
  if (!limits || (gain >= limits->lowest && gain <= limits->highest)) return;
  findings.push_back({Rule::gain_limit,
                      Severity::refuse,
                      node.name,
                      {},
                      {decibels("gain", gain), decibels("lowest", limits->lowest),
                       decibels("highest", limits->highest)},
                      in_words(gain) + " is outside " + (own ? "this node's" : "the rack's") +
                          " own limits, " + in_words(limits->lowest) + " to " +
                          in_words(limits->highest) + "."});
}

// A carrier that must be heard, and is not surely passed at these settings.
bool covers(const plan::Node& node, const plan::Settings& settings, const plan::Carrier& carrier) {
  if (!settings.power) return true;  // a passive antenna passes everything
  if (settings.filter >= node.datasheet->filters.size()) return false;
  return node.datasheet->filters[settings.filter]
      .surely_passed(settings.centre)
      .contains(carrier.band());
}

void check_served(const Surroundings& around, const plan::Node& node, const plan::Filter& filter,
                  const plan::Settings& settings, std::vector<Finding>& findings) {
  const auto passed = filter.surely_passed(settings.centre);
  for (const auto& carrier : around.segment.carriers) {
    if (!has_to_bring(around.plan, node.name, carrier) || covers(node, settings, carrier)) continue;
    const auto needs = carrier.band();
    findings.push_back(
        {Rule::carrier_outside_window,
         Severity::refuse,
         node.name,
         {carrier.name.text},
         {megahertz("carrier", carrier.frequency), megahertz("carrier low", needs.low),
          megahertz("carrier high", needs.high), megahertz("window low", passed.low),
          megahertz("window high", passed.high)},
         carrier.name.text + " needs " + in_words(needs) + ", but the window surely passes only " +
             in_words(passed) + "."});
  }
}

void check_transmitters(const Surroundings& around, const plan::Node& node,
                        const plan::Filter& filter, const plan::Settings& settings,
                        std::vector<Finding>& findings) {
  const auto passed = filter.perhaps_passed(settings.centre);
  for (const auto& carrier : around.segment.carriers) {
    if (carrier.use != plan::CarrierUse::transmit) continue;
    if (!settings.power) {
      // No amplifier to overload, so a person may decide to go on.
      findings.push_back({Rule::own_transmitter_in_window,
                          Severity::caution,
                          node.name,
                          {carrier.name.text},
                          {megahertz("carrier", carrier.frequency)},
                          "With the power off there is no filter: our own " + carrier.name.text +
                              " at " + in_words(carrier.frequency) +
                              " comes down the line unfiltered."});
      continue;
    }
    if (!passed.overlaps(carrier.band())) continue;
    findings.push_back(
        {Rule::own_transmitter_in_window,
         Severity::refuse,
         node.name,
         {carrier.name.text},
         {megahertz("carrier", carrier.frequency), megahertz("carrier low", carrier.band().low),
          megahertz("carrier high", carrier.band().high), megahertz("window low", passed.low),
          megahertz("window high", passed.high)},
         "Our own transmitter " + carrier.name.text + " at " + in_words(carrier.frequency) +
             " is let in: with its skirts the window passes " + in_words(passed) + "."});
  }
}

void check_lanes(const Surroundings& around, const plan::Node& node, const plan::Filter& filter,
                 const plan::Settings& settings, std::vector<Finding>& findings) {
  if (!settings.power) return;
  const auto window = filter.passband(settings.centre);
  for (const auto& lane : around.segment.lanes) {
    if (lane.purpose == plan::LanePurpose::receive || !window.overlaps(lane.band)) continue;
    const rf::Band shared{std::max(window.low, lane.band.low),
                          std::min(window.high, lane.band.high)};
    const std::string whose = lane.why.empty() ? "" : " (" + lane.why + ")";
    findings.push_back({Rule::lane_conflict,
                        Severity::caution,
                        node.name,
                        {lane.name.text},
                        {megahertz("low", shared.low), megahertz("high", shared.high),
                         megahertz("shared", shared.width())},
                        "The window takes in " + in_words(shared.width()) + " of the " +
                            std::string{name_of(lane.purpose)} + " lane " + lane.name.text + whose +
                            ", " + in_words(shared) + "."});
  }
}

bool branch_is_covered(const Surroundings& around, const plan::Branch& branch,
                       const plan::Carrier& carrier, const plan::Node& changing,
                       const plan::Settings& settings) {
  return std::ranges::any_of(branch.nodes, [&](const plan::NodeName& name) {
    const auto* node = around.plan.find(name);
    if (node == nullptr) return false;
    if (name == changing.name) return covers(changing, settings, carrier);
    const auto states = around.possible(name);
    // One that shows what its type cannot do is not to be relied on.
    return !states.empty() && std::ranges::all_of(states, [&](const plan::Settings& state) {
      return node->datasheet->reaches(state) && covers(*node, state, carrier);
    });
  });
}

bool is_heard(const Surroundings& around, const plan::Receiver& receiver,
              const plan::Carrier& carrier, const plan::Node& changing,
              const plan::Settings& settings) {
  return std::ranges::any_of(receiver.branches, [&](const plan::Branch& branch) {
    return branch_is_covered(around, branch, carrier, changing, settings);
  });
}

bool is_lost(const Surroundings& around, const plan::Receiver& receiver,
             const plan::Carrier& carrier, const plan::Node& changing,
             const plan::Settings& settings) {
  const bool due = carrier.use == plan::CarrierUse::receive &&
                   std::ranges::find(carrier.receivers, receiver.name) != carrier.receivers.end();
  return due && !is_heard(around, receiver, carrier, changing, settings);
}

// Looks at the end of the change only: on the way the node is in its old or its new settings, and
// what the old ones leave dark the change can only mend.
void check_diversity(const Surroundings& around, const plan::Node& node,
                     const plan::Settings& settings, std::vector<Finding>& findings) {
  for (const auto& receiver : around.plan.receivers) {
    if (!plan::RackPlan::serves(receiver, node.name)) continue;
    std::vector<std::string> lost;
    for (const auto& carrier : around.segment.carriers)
      if (is_lost(around, receiver, carrier, node, settings)) lost.push_back(carrier.name.text);
    if (lost.empty()) continue;
    const auto branches = receiver.branches.size();
    std::string sentence =
        "Receiver " + receiver.name.text + " would lose " + listed(lost) + ": " +
        (branches == 1 ? "its only branch has no"
                       : "none of its " + std::to_string(branches) + " branches has an") +
        " antenna that surely passes " + (lost.size() == 1 ? "it." : "them.");
    Finding finding{Rule::diversity_dark,
                    Severity::refuse,
                    node.name,
                    {receiver.name.text},
                    {{"carriers", static_cast<double>(lost.size()), ""},
                     {"branches", static_cast<double>(branches), ""}},
                    std::move(sentence)};
    finding.concerns.insert(finding.concerns.end(), lost.begin(), lost.end());
    findings.push_back(std::move(finding));
  }
}

}  // namespace

void check_label(const plan::NodeName& node, const std::string& label, const std::string& which,
                 std::vector<Finding>& findings) {
  if (!is_plain_text(label))
    findings.push_back({Rule::label_text,
                        Severity::refuse,
                        node,
                        {},
                        {},
                        which + " has characters that a node cannot show: allowed is UTF-8 text "
                                "without control or format characters."});
  if (label.size() > longest_label)
    findings.push_back(
        {Rule::label_length,
         Severity::refuse,
         node,
         {},
         {{"length", static_cast<double>(label.size()), "bytes"},
          {"longest", static_cast<double>(longest_label), "bytes"}},
         which + " is " + std::to_string(label.size()) + " bytes long; a node keeps 16."});
}

Proposal propose(const plan::Node& node, const plan::Settings& base,
                 const plan::SettingsPatch& patch) {
  Proposal proposal{base, {}};
  auto& settings = proposal.settings;
  if (patch.filter) {
    if (const auto index = node.datasheet->filter_index(*patch.filter)) {
      settings.filter = *index;
      if (!node.datasheet->filters[*index].tuning) settings.centre = {};
    } else {
      proposal.findings.push_back({Rule::filter_known,
                                   Severity::refuse,
                                   node.name,
                                   {*patch.filter},
                                   {},
                                   "A " + node.datasheet->type + " has no filter \"" +
                                       *patch.filter + "\"; it has " +
                                       listed(filter_names(*node.datasheet)) + "."});
    }
  }
  plan::for_each_setting([&](auto field) {
    if constexpr (field.setting != Setting::filter)
      if (const auto& asked = field.asked_of(patch)) field.of(settings) = *asked;
  });
  return proposal;
}

std::vector<Finding> check_datasheet(const plan::Node& node, const plan::Settings& settings) {
  std::vector<Finding> findings;
  const auto& sheet = *node.datasheet;
  check_gain(node, settings.gain, findings);
  if (settings.filter < sheet.filters.size()) {
    check_centre(node, sheet.filters[settings.filter], settings.centre, findings);
  } else {
    findings.push_back({Rule::filter_known,
                        Severity::refuse,
                        node.name,
                        {},
                        {{"filter", static_cast<double>(settings.filter), ""}},
                        "A " + sheet.type + " has no filter no. " +
                            std::to_string(settings.filter) + "; it has " +
                            listed(filter_names(sheet)) + "."});
  }
  check_label(node.name, settings.label, "The label", findings);
  return findings;
}

std::vector<Finding> check_plan(const Surroundings& around, const plan::Node& node,
                                const plan::Settings& settings) {
  std::vector<Finding> findings;
  const auto& filter = node.datasheet->filters[settings.filter];
  check_gain_limit(around.plan, node, settings.gain, findings);
  check_served(around, node, filter, settings, findings);
  check_transmitters(around, node, filter, settings, findings);
  check_lanes(around, node, filter, settings, findings);
  check_diversity(around, node, settings, findings);
  return findings;
}

int dark_receivers(const Surroundings& around, const plan::Node& node,
                   const plan::Settings& settings) {
  return static_cast<int>(
      std::ranges::count_if(around.plan.receivers, [&](const plan::Receiver& receiver) {
        return plan::RackPlan::serves(receiver, node.name) &&
               std::ranges::any_of(around.segment.carriers, [&](const plan::Carrier& carrier) {
                 return is_lost(around, receiver, carrier, node, settings);
               });
      }));
}

std::vector<Finding> check_physics(const Surroundings& around, const plan::Node& node,
                                   const plan::Settings& settings) {
  std::vector<Finding> findings;
  const auto known = physics_of(around, node);
  const auto& physics = known->physics();
  if (physics.has_numbers()) {
    const TunedNode tuned{physics, settings, &known->searches()};
    const auto budget = tuned.at(settings.gain);
    findings = judge(around.plan, node, tuned, settings.gain, budget);
    if (settings.power && is_heard(budget))
      findings.push_back(if_power_fails(node.name, budget, known->passive()));
    std::ranges::move(losses_left_out(physics.carriers(), node), std::back_inserter(findings));
  }
  std::vector<const plan::Carrier*> served;
  for (const auto& carrier : physics.carriers())
    if (carrier.served) served.push_back(carrier.carrier);
  std::ranges::move(check_bands(around.plan, served, node.name), std::back_inserter(findings));
  return findings;
}

SettingsOf settings_of(const Surroundings& around) {
  return [&around](const plan::NodeName& name) -> std::optional<plan::Settings> {
    const auto states = around.possible(name);
    return states.empty() ? std::nullopt : std::optional{states.back()};
  };
}

std::shared_ptr<const KnownPhysics::Node> physics_of(const Surroundings& around,
                                                     const plan::Node& node) {
  return around.physics->of(around.plan, around.segment, node, settings_of(around));
}

Finding show_is_locked(const plan::NodeName& node) {
  return {Rule::show_locked,
          Severity::refuse,
          node,
          {},
          {},
          "The rack is locked for the show. Unlock it first."};
}

Verdict check(const Surroundings& around, const plan::Node& node, const plan::Settings& settings) {
  Verdict verdict;
  if (around.locked) verdict.findings.push_back(show_is_locked(node.name));
  auto impossible = check_datasheet(node, settings);
  const bool possible = impossible.empty();
  std::ranges::move(impossible, std::back_inserter(verdict.findings));
  if (settings.filter < node.datasheet->filters.size())
    std::ranges::move(check_plan(around, node, settings), std::back_inserter(verdict.findings));
  // Numbers for what the node cannot do would only confuse.
  if (possible)
    std::ranges::move(check_physics(around, node, settings), std::back_inserter(verdict.findings));
  return verdict;
}

}  // namespace catwalk::rack
