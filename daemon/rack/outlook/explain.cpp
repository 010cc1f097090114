// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/outlook/explain.hpp"

#include <algorithm>

#include "daemon/rack/levels/chain_stages.hpp"
#include "daemon/rack/levels/other_node.hpp"
#include "daemon/rack/levels/powers.hpp"
#include "daemon/rack/outlook/assumed.hpp"
#include "daemon/rack/rules/isolation_rules.hpp"
#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

constexpr std::size_t most_products = 5;

struct StageName {
  std::string name;
  std::string label;
};
StageName of_kind(const std::string& kind, const std::string& name) {
  return {kind + ' ' + name, name};
}

// The whole chain to one receiver: names once, stages for each of NodePhysics::carriers().
class WholeChain {
 public:
  WholeChain(const NodePhysics& physics, const plan::Settings& settings,
             const plan::Receiver* receiver)
      : physics_{physics}, node_{physics.node()}, settings_{settings}, receiver_{receiver} {
    if (settings.power) filter_ = sheet().tuned(settings.filter, settings.centre);
    if (receiver == nullptr) return;
    branch_ = &*std::ranges::find_if(receiver->branches, [&](const plan::Branch& branch) {
      return std::ranges::find(branch.nodes, node_.name) != branch.nodes.end();
    });
    others_ = physics.others(*receiver);
  }

  std::vector<StageName> names() const {
    std::vector<StageName> names;
    const auto add_plain = [&](const std::string& name) { names.push_back({name, name}); };
    const auto add = [&](const plan::Chain& chain) {
      for (const auto& part : chain) add_plain(name_of(part));
    };
    add(node_.lead);
    if (filter_) {
      const bool first = sheet().filter_position == plan::FilterPosition::before_amplifier;
      if (!first) add_plain(node_.name.text);
      names.push_back(of_kind("filter", sheet().filters[settings_.filter].name));
      if (first) add_plain(node_.name.text);
    } else {
      names.push_back({node_.name.text + ", passive", node_.name.text});
    }
    if (branch_ == nullptr) return names;
    add(*node_.feed);
    add(arm());
    if (combined()) add_plain(std::to_string(branch_->nodes.size()) + "-way combiner");
    add(branch_->chain);
    if (receiver_->input) names.push_back(of_kind("receiver", receiver_->name.text));
    return names;
  }

  std::vector<rf::Stage> of(std::size_t carrier) const {
    const auto frequency = physics_.carriers()[carrier].carrier->frequency;
    std::vector<rf::Stage> stages;
    append(stages, node_.lead, frequency);
    if (filter_)
      append_node(stages, sheet(), settings_.gain, filter_->attenuation(frequency));
    else
      stages.push_back(passive_node(sheet()));
    if (branch_ == nullptr) return stages;
    append(stages, *node_.feed, frequency);
    append(stages, arm(), frequency);
    if (combined()) {
      std::vector<rf::Branch> brought;
      for (const auto& other : others_) brought.push_back(other->to(carrier));
      const rf::Combiner combiner{static_cast<int>(branch_->nodes.size()),
                                  branch_->combiner_excess_loss};
      stages.push_back(rf::plain::combiner_stage(brought, combiner));
    }
    append(stages, branch_->chain, frequency);
    if (receiver_->input) stages.push_back(front_end(*receiver_->input));
    return stages;
  }

  bool combined() const { return !others_.empty(); }
  // Which of the stages the combiner is. Precondition: there is one.
  std::size_t combiner() const {
    return node_.lead.size() + (filter_ ? 2 : 1) + node_.feed->size() + arm().size();
  }
  // mW of a carrier of the segment at the combiner's inputs, by all antennas but this one.
  double brought(std::size_t carrier) const {
    double sum = 0.0;
    for (const auto& other : others_) sum += other->arriving(carrier);
    return sum;
  }

 private:
  const plan::Datasheet& sheet() const { return *node_.datasheet; }
  // Precondition: there is a branch.
  const plan::Chain& arm() const { return branch_->arm_of(node_.name).chain; }

  const NodePhysics& physics_;
  const plan::Node& node_;
  const plan::Settings& settings_;
  const plan::Receiver* receiver_;
  const plan::Branch* branch_ = nullptr;
  std::optional<plan::TunedFilter> filter_;
  std::vector<std::shared_ptr<const OtherNode>> others_;
};

std::optional<rf::PowerLevel> through(const std::optional<rf::PowerLevel>& level,
                                      rf::Decibel gain) {
  return level ? std::optional{*level + gain} : std::nullopt;
}

// All carriers together after each stage, the antenna's terminals first; and the strongest alone
// at the end, by whatever antenna.
struct Together {
  std::vector<double> milliwatts;  // by this antenna
  std::vector<double> others;      // mW by other antennas
  double strongest_at_end = 0.0;   // mW
};
Together all_together(const NodePhysics& physics, const WholeChain& chain, std::size_t stages) {
  Together all{std::vector<double>(stages + 1, 0.0), std::vector<double>(stages + 1, 0.0)};
  const auto& carriers = physics.carriers();
  for (std::size_t c = 0; c < carriers.size(); ++c) {
    double ours = power_of(carriers[c].strongest, {});
    double theirs = 0.0;
    all.milliwatts[0] += ours;
    const auto list = chain.of(c);
    for (std::size_t i = 0; i < list.size(); ++i) {
      if (chain.combined() && i == chain.combiner()) theirs = chain.brought(c);
      const double gain = list[i].gain.ratio();
      all.milliwatts[i + 1] += ours *= gain;
      all.others[i + 1] += theirs *= gain;
    }
    all.strongest_at_end = std::max(all.strongest_at_end, ours + theirs);
  }
  return all;
}

std::vector<ExplainedStage> stages_of(const NodePhysics& physics, const WholeChain& chain,
                                      const CarrierAtAntenna& carrier,
                                      const plan::ReceiverInput* input) {
  const auto names = chain.names();
  const auto stages = chain.of(static_cast<std::size_t>(&carrier - physics.carriers().data()));
  const auto running = rf::running_cascade(stages);
  const auto together = all_together(physics, chain, stages.size());
  const auto floor = rf::thermal_noise(carrier.carrier->bandwidth);
  const auto external = physics.external_noise(*carrier.carrier);
  std::vector<ExplainedStage> rows{{"antenna",
                                    "antenna",
                                    {},
                                    {},
                                    {},
                                    {},
                                    floor + external,
                                    carrier.strongest,
                                    carrier.weakest,
                                    rf::from_milliwatts(together.milliwatts[0])}};
  for (std::size_t i = 0; i < stages.size(); ++i) {
    const auto& stage = stages[i];
    const auto& so_far = running[i];
    ExplainedStage row{names[i].name,
                       names[i].label,
                       stage.gain,
                       stage.noise_figure,
                       so_far.gain,
                       so_far.noise_figure,
                       floor + rf::with_external_noise(so_far.noise_figure, external) + so_far.gain,
                       through(carrier.strongest, so_far.gain),
                       through(carrier.weakest, so_far.gain),
                       rf::from_milliwatts(together.milliwatts[i + 1] + together.others[i + 1]),
                       rf::from_milliwatts(together.others[i + 1]),
                       stage.output_ip3,
                       stage.output_p1db};
    if (stage.output_p1db && row.all_carriers != rf::no_power())
      row.margin = *stage.output_p1db - row.all_carriers;
    if (input != nullptr && i + 1 == stages.size() && together.strongest_at_end > 0.0)
      row.margin = input->overload - rf::from_milliwatts(together.strongest_at_end);
    rows.push_back(std::move(row));
  }
  return rows;
}

}  // namespace

std::vector<ExplainedProduct> products_of(const TunedNode& tuned, const CarrierBudget& served,
                                          rf::Gain gain, std::size_t most) {
  const auto& physics = tuned.physics();
  std::vector<ExplainedProduct> few;
  for (const auto& product : tuned.products(served, gain, most))
    few.push_back(
        {physics.makers_of(product), product.at, product.level, product.share, product.order});
  return few;
}

namespace {

std::vector<ExplainedProduct> brought_to(const TunedNode& tuned, const CarrierBudget& served,
                                         rf::Gain gain) {
  std::vector<ExplainedProduct> few;
  for (const auto& [by, powered, product] : tuned.brought(served, gain, most_products))
    few.push_back({tuned.physics().makers_of(product), product.at, product.level, product.share,
                   product.order, by->name.text});
  return few;
}

std::vector<ExplainedTransmitterProduct> made_outside(const NodePhysics& physics,
                                                      const plan::Carrier& channel) {
  std::vector<ExplainedTransmitterProduct> few;
  for (const auto& product : physics.made_outside(channel)) {
    if (few.size() == most_products) break;
    few.push_back({product.own->name.text, product.other->name.text, product.at, product.level,
                   product.share});
  }
  return few;
}

std::vector<ExplainedStray> strays_of(const TunedNode& tuned, const CarrierBudget& served,
                                      rf::Gain gain) {
  std::vector<ExplainedStray> few;
  for (const auto& [response, carrier, level] : tuned.strays(served, gain)) {
    if (few.size() == most_products) break;
    few.push_back({response->name, response->offset, carrier->name.text, level});
  }
  return few;
}

std::vector<const CarrierBudget*> chosen(const Budget& budget, const plan::CarrierName& carrier) {
  std::vector<const CarrierBudget*> ones;
  for (const auto& served : budget.carriers) {
    if (!carrier.text.empty()) {
      if (served.carrier->name == carrier) ones.push_back(&served);
    } else if (ones.empty() || ones.back()->receiver != served.receiver) {
      ones.push_back(&served);
    } else if (served.well_off() < ones.back()->well_off()) {
      ones.back() = &served;
    }
  }
  return ones;
}

// Carriers that stand beside one which this receiver must hear, nearer than its maker says anything
// of.
std::vector<std::string> inside_first_offset(const plan::Receiver& receiver,
                                             const NodePhysics& physics) {
  const auto first = receiver.input->blocking.front().offset;
  std::vector<std::string> names;
  for (const auto& carrier : physics.carriers()) {
    const bool beside = std::ranges::any_of(physics.carriers(), [&](const auto& heard) {
      if (!heard.served || heard.carrier == carrier.carrier) return false;
      const auto& due = heard.carrier->receivers;
      const auto apart = carrier.carrier->frequency - heard.carrier->frequency;
      return std::ranges::find(due, receiver.name) != due.end() && -first < apart &&
             apart < first && !carrier.carrier->band().overlaps(heard.carrier->band());
    });
    if (carrier.strongest && beside) names.push_back(carrier.carrier->name.text);
  }
  return names;
}

void add_unknowns(const plan::Receiver& receiver, const NodePhysics& physics,
                  std::vector<std::string>& sentences) {
  const auto& name = receiver.name.text;
  if (!receiver.input) {
    sentences.push_back("The rack file gives no input figures of receiver " + name +
                        ": its noise, overload and margins are left out.");
    return;
  }
  if (receiver.input->spurious_responses.empty())
    sentences.push_back("The rack file gives no spurious responses of receiver " + name +
                        ": what stands at its image or at half its intermediate frequency is not "
                        "counted.");
  if (receiver.input->blocking.empty()) {
    sentences.push_back("The rack file gives no blocking figures of receiver " + name +
                        ": what strong carriers beside a channel do in it is not counted.");
    return;
  }
  const auto beside = inside_first_offset(receiver, physics);
  if (!beside.empty())
    sentences.push_back("Nearer than " + in_words(receiver.input->blocking.front().offset) +
                        " to a carrier no rejection of receiver " + name + " is given, so what " +
                        listed(beside) + (beside.size() == 1 ? " does" : " do") +
                        " there is not computed: a straight line down to 0 dB in the channel is "
                        "assumed.");
}

std::vector<std::string> unknowns(const plan::RackPlan& plan, const plan::Node& node,
                                  const plan::Settings& settings, const NodePhysics& physics) {
  std::vector<std::string> sentences;
  std::vector<std::string> without_erp;
  std::vector<std::string> without_way;
  for (const auto& carrier : physics.carriers()) {
    if (carrier.strongest) continue;
    (carrier.carrier->erp ? without_way : without_erp).push_back(carrier.carrier->name.text);
  }
  if (!without_erp.empty())
    sentences.push_back("Not counted, since the show file gives no e.r.p.: " + listed(without_erp) +
                        ".");
  if (!without_way.empty())
    sentences.push_back("Not counted, since neither a distance nor an isolation to " +
                        node.name.text + " is given: " + listed(without_way) + ".");
  for (const auto& finding : losses_left_out(physics.carriers(), node))
    sentences.push_back(finding.sentence);
  if (!node.feed)
    sentences.push_back("The rack file gives no feed behind " + node.name.text +
                        ": chain gain, receivers and margins cannot be computed.");
  if (node.feed)
    for (const auto& receiver : plan.receivers)
      if (plan::RackPlan::serves(receiver, node.name)) add_unknowns(receiver, physics, sentences);
  const auto below = rf::Decibel::of(node.datasheet->gains.highest - settings.gain);
  if (settings.power && below > rf::Decibel{} && node.datasheet->linearity.empty())
    sentences.push_back(
        "The datasheet of " + node.datasheet->type +
        " gives output compression point and intercept at its highest gain only. "
        "The same figures are assumed at this gain, " +
        in_words(below) +
        " below it, as if a pad in front of the amplifier made the difference; with "
        "a pad behind its first stage both could be up to " +
        in_words(below) + " lower.");
  if (settings.power && settings.gain < rf::Gain{} && node.datasheet->noise_figures.empty())
    sentences.push_back("The datasheet of " + node.datasheet->type +
                        " gives no noise figure below 0 dB of gain: a pad in front is taken.");
  const auto usual = std::ranges::count_if(node.datasheet->filters,
                                           [](const auto& filter) { return !filter.model; });
  if (usual > 0)
    sentences.push_back("The datasheet of " + node.datasheet->type +
                        " does not describe the response of every filter: three resonators, 1 dB "
                        "down at the edges, are taken.");
  return sentences;
}

}  // namespace

Explained explain(const plan::RackPlan& plan, const plan::Segment& segment, const plan::Node& node,
                  const plan::Settings& settings, const SettingsOf& others,
                  const plan::CarrierName& carrier) {
  const NodePhysics physics{plan, segment, node, others};
  const TunedNode tuned{physics, settings};
  const auto budget = tuned.at(settings.gain);
  Explained explained{own_carriers(plan, segment, node.name),
                      {},
                      unknowns(plan, node, settings, physics),
                      assumptions(plan, physics, budget)};
  for (const auto* served : chosen(budget, carrier)) {
    const WholeChain chain{physics, settings, served->receiver};
    const auto& at_antenna =
        *std::ranges::find(physics.carriers(), served->carrier, &CarrierAtAntenna::carrier);
    const auto* input = served->receiver != nullptr && served->receiver->input
                            ? &*served->receiver->input
                            : nullptr;
    explained.chains.push_back(
        {served->carrier->name,
         served->receiver != nullptr ? served->receiver->name : plan::ReceiverName{},
         served->carrier->frequency, served->carrier->bandwidth,
         stages_of(physics, chain, at_antenna, input), *served, served->margin_wanted(plan.limits),
         products_of(tuned, *served, settings.gain, most_products),
         strays_of(tuned, *served, settings.gain), made_outside(physics, *served->carrier),
         brought_to(tuned, *served, settings.gain)});
  }
  return explained;
}

}  // namespace catwalk::rack
