// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/rules/leak_rules.hpp"

#include <algorithm>
#include <map>
#include <optional>

#include "daemon/plan/routed.hpp"
#include "daemon/rack/levels/carrier_levels.hpp"
#include "daemon/rack/levels/chain_stages.hpp"
#include "daemon/rack/levels/powers.hpp"
#include "daemon/rack/levels/spurious_responses.hpp"
#include "daemon/rack/values/numbers.hpp"
#include "daemon/rack/values/wording.hpp"
#include "daemon/rf/cascade.hpp"
#include "daemon/rf/desensitisation.hpp"

namespace catwalk::rack {
namespace {

using rf::Decibel;
using rf::PowerLevel;

// mW of each carrier of the segment.
using Levels = std::vector<double>;

void add(Levels& all, const Levels& more, double times) {
  for (std::size_t i = 0; i < all.size(); ++i) all[i] += more[i] * times;
}

// A way past the routes.
struct Way {
  std::string from;  // "input 6 of shore (truss-centre)"
  Decibel isolation;
  Levels levels;  // mW, where it is looked at
};

// What ends at an input.
struct AtInput {
  std::string name;  // of an antenna, or of an output of another matrix; empty: nothing
  Levels strongest;  // before the trim
  Levels weakest;
  double trim = 1.0;           // what it lets through
  std::vector<Way> past = {};  // of another matrix's output: past the routes there
};

// What an antenna brings there.
void add_antenna(const Surroundings& around, const plan::Node& node, AtInput& end) {
  end.name = node.name.text;
  if (!node.feed) return;
  const auto settings = settings_of(around)(node.name);
  std::optional<plan::TunedFilter> filter;
  if (settings) filter = node.datasheet->tuned(*settings);
  const auto carriers = carriers_at(around.plan, around.segment, node);
  std::vector<rf::Stage> stages;
  for (std::size_t i = 0; i < carriers.size(); ++i) {
    stages.clear();
    append_to_feed(stages, node, settings, filter, carriers[i].carrier->frequency);
    // The trim is the last piece of its feed.
    const auto gain = rf::cascade(stages).gain - Decibel::from_ratio(end.trim);
    end.strongest[i] = power_of(carriers[i].strongest, gain);
    end.weakest[i] = power_of(carriers[i].weakest, gain);
  }
}

// One output: what its routes bring, and what comes past them.
struct AtOutput {
  Levels strongest;
  Levels weakest;  // by the antenna that brings most
  std::vector<Way> past;
};

class Units;

class Unit {
 public:
  Unit(const Surroundings& around, const plan::Matrix& matrix, Units& units)
      : matrix_{matrix}, none_(around.segment.carriers.size(), 0.0) {
    const auto& sheet = *matrix.sheet;
    for (std::size_t input = 1; input <= sheet.inputs; ++input)
      inputs_.push_back(at_input(around, input, units));
    for (std::size_t output = 1; output <= sheet.outputs; ++output)
      outputs_.push_back(by_routes(output));
    for (std::size_t output = 1; output <= sheet.outputs; ++output) add_past_of_inputs(output);
    if (!matrix.supplied) return;
    if (const auto isolation = sheet.isolation_of_inputs)
      for (std::size_t output = 1; output <= sheet.outputs; ++output)
        add_inputs(output, *isolation);
    if (const auto isolation = sheet.isolation_of_outputs)
      for (std::size_t output = 1; output <= sheet.outputs; ++output)
        add_outputs(output, *isolation);
  }

  const AtOutput& at(std::size_t output) const { return outputs_[output - 1]; }

 private:
  AtInput at_input(const Surroundings& around, std::size_t input, Units& units) const;

  const plan::Inputs& taken(std::size_t output) const { return plan::taken_by(matrix_, output); }

  // From a taken input, behind its trim, to the output. Of an output that takes none: nothing.
  double to_output(std::size_t output) const {
    const auto& sheet = *matrix_.sheet;
    if (taken(output).empty()) return 0.0;
    if (!matrix_.supplied) return sheet.unsupplied ? (-sheet.unsupplied->loss).ratio() : 0.0;
    return (sheet.gain - sheet.combining_loss(taken(output).size())).ratio();
  }

  AtOutput by_routes(std::size_t output) const {
    AtOutput at{none_, none_, {}};
    for (const auto input : taken(output)) {
      const auto& from = inputs_[input - 1];
      add(at.strongest, from.strongest, from.trim * to_output(output));
      for (std::size_t i = 0; i < at.weakest.size(); ++i)
        at.weakest[i] = std::max(at.weakest[i], from.weakest[i] * from.trim * to_output(output));
    }
    return at;
  }

  // What came past the routes of a unit before goes by the routes of this one.
  void add_past_of_inputs(std::size_t output) {
    for (const auto input : taken(output))
      for (const auto& way : inputs_[input - 1].past) {
        Way on{way.from, way.isolation, none_};
        add(on.levels, way.levels, inputs_[input - 1].trim * to_output(output));
        outputs_[output - 1].past.push_back(std::move(on));
      }
  }

  std::string name_of(const char* socket, std::size_t number) const {
    return std::string{socket} + ' ' + std::to_string(number) + " of " + matrix_.name.text;
  }

  void add_inputs(std::size_t output, Decibel isolation) {
    double through = 0.0;
    for (const auto input : taken(output)) through += inputs_[input - 1].trim;
    for (std::size_t input = 1; input <= inputs_.size(); ++input) {
      const bool is_taken = std::ranges::find(taken(output), input) != taken(output).end();
      if (is_taken || inputs_[input - 1].name.empty()) continue;
      Way way{name_of("input", input) + " (" + inputs_[input - 1].name + ')', isolation, none_};
      add(way.levels, inputs_[input - 1].strongest,
          (-isolation).ratio() * through * to_output(output));
      outputs_[output - 1].past.push_back(std::move(way));
    }
  }

  void add_outputs(std::size_t output, Decibel isolation) {
    for (std::size_t other = 1; other <= outputs_.size(); ++other) {
      if (other == output) continue;
      Way way{name_of("output", other), isolation, none_};
      add(way.levels, outputs_[other - 1].strongest, (-isolation).ratio());
      outputs_[output - 1].past.push_back(std::move(way));
    }
  }

  const plan::Matrix& matrix_;
  Levels none_;
  std::vector<AtInput> inputs_;
  std::vector<AtOutput> outputs_;
};

// Each worked out once, however many of its outputs end at inputs of another.
class Units {
 public:
  explicit Units(const Surroundings& around) : around_{around} {}
  const Unit& of(const plan::Matrix& matrix);

 private:
  const Surroundings& around_;
  std::map<plan::NodeName, Unit> known_;
};

const Unit& Units::of(const plan::Matrix& matrix) {
  const auto found = known_.find(matrix.name);
  return found != known_.end()
             ? found->second
             : known_.emplace(matrix.name, Unit{around_, matrix, *this}).first->second;
}

AtInput Unit::at_input(const Surroundings& around, std::size_t input, Units& units) const {
  AtInput end{{}, none_, none_};
  if (matrix_.supplied) end.trim = Decibel::of(matrix_.settings.inputs[input - 1].trim).ratio();
  const plan::InputOf here{matrix_.name, input};
  if (const auto* node = plan::at_input(around.plan, here)) add_antenna(around, *node, end);
  if (const auto before = plan::before_input(around.plan, here)) {
    const auto& brings = units.of(*before->matrix).at(before->output);
    end.name = before->matrix->name.text + ", output " + std::to_string(before->output);
    end.past = brings.past;
    for (std::size_t i = 0; i < none_.size(); ++i) {
      std::vector<rf::Stage> stages;
      append(stages, before->onward->chain, around.segment.carriers[i].frequency);
      const auto passed = rf::cascade(stages).gain.ratio();
      end.strongest[i] = brings.strongest[i] * passed;
      end.weakest[i] = brings.weakest[i] * passed;
      for (auto& way : end.past) way.levels[i] *= passed;
    }
  }
  return end;
}

// What a carrier past the routes does to a receiver.
struct Harm {
  std::size_t carrier = 0;
  PowerLevel level;                       // at the receiver, by all ways past the routes
  PowerLevel direct;                      // and by the routes
  const plan::Carrier* wanted = nullptr;  // null: it overloads the receiver
  Decibel over;                           // how far it is past what is allowed
  Decibel has;                            // of the wanted carrier over it
};

// As an interferer of equal effect in the channel of `wanted`; nothing: not known, or none.
std::optional<PowerLevel> equivalent(const plan::ReceiverInput& input, const plan::Carrier& wanted,
                                     const plan::Carrier& other, PowerLevel level) {
  if (const auto share = overlapping_share(other.band(), wanted.band()); share > 0.0)
    return level + Decibel::from_ratio(share);
  const auto offset = other.frequency - wanted.frequency;
  const auto rejection = input.blocking_rejection(offset < rf::Frequency{} ? -offset : offset);
  return rejection ? std::optional{rf::blocking_equivalent(level, *rejection)} : std::nullopt;
}

std::optional<Harm> worst_at(const Surroundings& around, const plan::Receiver& receiver,
                             const plan::Chain& behind, const AtOutput& output) {
  const auto& input = *receiver.input;
  const auto& carriers = around.segment.carriers;
  std::vector<Decibel> gains;  // from the output to the receiver
  for (const auto& carrier : carriers) {
    std::vector<rf::Stage> stages;
    append(stages, behind, carrier.frequency);
    gains.push_back(rf::cascade(stages).gain);
  }
  std::optional<Harm> worst;
  const auto weigh = [&](const Harm& harm) {
    if (harm.over > Decibel{} && (!worst || harm.over > worst->over)) worst = harm;
  };
  for (std::size_t k = 0; k < carriers.size(); ++k) {
    double past = 0.0;
    for (const auto& way : output.past) past += way.levels[k];
    if (past <= output.strongest[k]) continue;
    const auto level = rf::from_milliwatts(past) + gains[k];
    const auto direct = rf::from_milliwatts(output.strongest[k]) + gains[k];
    weigh({k, level, direct, nullptr, level - input.overload, {}});
    for (std::size_t w = 0; w < carriers.size(); ++w) {
      const auto& wanted = carriers[w];
      const bool is_due =
          w != k && wanted.use == plan::CarrierUse::receive && output.weakest[w] > 0.0 &&
          std::ranges::find(wanted.receivers, receiver.name) != wanted.receivers.end();
      if (!is_due) continue;
      const auto does = equivalent(input, wanted, carriers[k], level);
      if (!does) continue;
      const auto has = rf::from_milliwatts(output.weakest[w]) + gains[w] - *does;
      weigh({k, level, direct, &wanted, input.protection_ratio - has, has});
    }
  }
  return worst;
}

Finding told(const plan::Matrix& matrix, const plan::Receiver& receiver, std::size_t output,
             const plan::Carrier& carrier, const Harm& harm, const std::vector<Way>& ways) {
  const auto loudest =
      std::ranges::max_element(ways, {}, [&](const Way& way) { return way.levels[harm.carrier]; });
  Finding finding{Rule::past_the_routes,
                  Severity::caution,
                  matrix.name,
                  {carrier.name.text, receiver.name.text},
                  {dbm("level", harm.level), decibels("isolation", loudest->isolation),
                   decibels("over", harm.over)},
                  carrier.name.text + " comes to " + receiver.name.text +
                      " past the routes, from " + loudest->from + " over " +
                      in_words(loudest->isolation) + " of isolation: at " + in_words(harm.level) +
                      ", "};
  finding.sentence += rf::milliwatts(harm.direct) > 0.0
                          ? "where the antennas of output " + std::to_string(output) +
                                " bring it at " + in_words(harm.direct)
                          : "which no antenna of output " + std::to_string(output) + " brings";
  if (harm.wanted == nullptr) {
    finding.sentence +=
        ". That is " + in_words(harm.over) + " over what " + receiver.name.text + " takes.";
    return finding;
  }
  finding.concerns.push_back(harm.wanted->name.text);
  finding.sentence +=
      ". " + harm.wanted->name.text + " at its weakest is then " +
      (harm.has < Decibel{} ? in_words(-harm.has) + " below it" : in_words(harm.has) + " over it") +
      ", and has to be " + in_words(receiver.input->protection_ratio) + " over.";
  return finding;
}

bool has_isolation(const plan::Matrix& matrix) {
  return matrix.supplied &&
         (matrix.sheet->isolation_of_inputs || matrix.sheet->isolation_of_outputs);
}

}  // namespace

std::vector<Finding> check_leaks(const Surroundings& around, const plan::Matrix& matrix) {
  std::vector<Finding> findings;
  if (!has_isolation(matrix) || !around.plan.described) return findings;
  Units units{around};
  for (const auto& receiver : around.plan.described->receivers) {
    if (!receiver.input) continue;
    for (const auto& branch : receiver.branches) {
      if (!plan::leads_through(branch, matrix)) continue;
      const auto& unit = units.of(*around.plan.find_matrix(branch.from->matrix));
      const auto output = branch.from->output;
      if (const auto harm = worst_at(around, receiver, branch.chain, unit.at(output)))
        findings.push_back(told(matrix, receiver, output, around.segment.carriers[harm->carrier],
                                *harm, unit.at(output).past));
    }
  }
  return findings;
}

}  // namespace catwalk::rack
