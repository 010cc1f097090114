// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/outlook/recommend.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <map>
#include <numeric>
#include <tuple>

#include "daemon/rack/outlook/advice.hpp"
#include "daemon/rack/rules/physics_rules.hpp"

namespace catwalk::rack {
namespace {

using plan::Settings;
using rf::Decibel;
using rf::Frequency;
using rf::Gain;

const CarrierBudget* worst_of(const Budget& budget) {
  const auto worst = std::ranges::min_element(budget.carriers, {}, &CarrierBudget::standing);
  return worst == budget.carriers.end() ? nullptr : &*worst;
}

// A filter at a centre, with what the rules that need no physics count against it.
struct Tuning {
  std::uint8_t filter = 0;
  Frequency centre;
  Count against;
};

struct Candidate {
  Settings settings;
  Count against;
  std::int64_t standing = 0;    // 0.01 dB of the carrier that is worst off
  std::int64_t off_target = 0;  // 0.01 dB between chain gain and the middle of its range
  std::int64_t off_middle = 0;  // Hz between the centre and the middle of the carriers

  // Smaller is better. Beyond the margin: a chain gain in the middle, no more gain than needed.
  auto rank() const {
    return std::tuple{against,    -standing,       off_target,     settings.gain,
                      off_middle, settings.filter, settings.centre};
  }
};

class Search {
 public:
  Search(const Surroundings& around, const plan::Node& node, const Settings& base,
         const StillWanted& still_wanted)
      : around_{around},
        node_{node},
        base_{base},
        still_wanted_{still_wanted},
        physics_{around.plan, around.segment, node, settings_of(around)} {
    base_.power = true;
    find_middle();
    list_gains();
    list_tunings();
  }

  // Tunings with the best hopes first, and only as long as one can beat what was found. Hopes are
  // what a tuning would come to if no amplifier distorted anything. Nothing: nobody wants it.
  std::optional<Candidate> best() {
    std::vector<Hope> hopes;
    for (const auto& tuning : tunings_) {
      if (!still_wanted_()) return std::nullopt;
      const TunedNode tuned{physics_, tuning.filter, tuning.centre, &shared_};
      const auto loads = tuned.loads();
      std::vector<std::pair<Count, Gain>> least;
      for (const auto gain : gains_)
        least.emplace_back(tuning.against + count_loads(limits(), loads, gain), gain);
      hopes.push_back({&tuning, std::move(least)});
    }
    std::ranges::stable_sort(hopes, {}, &Hope::least_against);
    std::optional<Candidate> best;
    for (auto hope = hopes.begin(); hope != hopes.end();) {
      const auto against = hope->least_against();
      if (best && against > best->against) break;
      // Of those that have as little against them, first those that could hear most.
      auto last = hope;
      for (; last != hopes.end() && last->least_against() == against; ++last)
        last->standing = most_standing(*last);
      std::ranges::stable_sort(hope, last, std::greater{}, &Hope::standing);
      for (; hope != last; ++hope) {
        if (!still_wanted_()) return std::nullopt;
        look_at(*hope, best);
      }
    }
    return best;
  }

  // Precondition: these settings are clean.
  Room room_around(const Settings& settings) {
    Room room;
    const auto g =
        static_cast<std::size_t>(std::ranges::lower_bound(gains_, settings.gain) - gains_.begin());
    const auto is_clean = [&](Frequency centre, std::size_t gain) {
      return gain < gains_.size() && clean_at(settings.filter, centre, gains_[gain]);
    };
    auto low = g;
    while (low > 0 && is_clean(settings.centre, low - 1)) --low;
    auto high = g;
    while (is_clean(settings.centre, high + 1)) ++high;
    room.down = settings.gain - gains_[low];
    room.up = gains_[high] - settings.gain;
    const auto with_gain = [&](std::size_t gain) {
      auto other = settings;
      other.gain = gains_[gain];
      return other;
    };
    if (low > 0) room.down_stops = says_no(with_gain(low - 1));
    if (high + 1 < gains_.size()) room.up_stops = says_no(with_gain(high + 1));

    const auto& tuning = node_.datasheet->filters[settings.filter].tuning;
    if (!tuning) return room;
    const auto walk = [&](Frequency step, std::optional<Rule>& stops) {
      auto other = settings;
      for (other.centre = other.centre + step; tuning->reaches(other.centre);
           other.centre = other.centre + step) {
        if (is_clean(other.centre, g)) continue;
        stops = says_no(other);
        break;
      }
      return other.centre - step;
    };
    room.lower = settings.centre - walk(-tuning->step, room.lower_stops);
    room.higher = walk(tuning->step, room.higher_stops) - settings.centre;
    return room;
  }

  const NodePhysics& physics() const { return physics_; }
  bool serves_any() const { return middle_.has_value(); }

 private:
  // A tuning with what must be against each gain, and the most that could be heard.
  struct Hope {
    const Tuning* tuning = nullptr;
    std::vector<std::pair<Count, Gain>> gains;
    std::int64_t standing = 0;
    Count least_against() const {
      return std::ranges::min_element(gains, {}, &std::pair<Count, Gain>::first)->first;
    }
  };

  const plan::Limits& limits() const { return around_.plan.limits; }

  // Of the gains that have least against them. With more gain less of the noise behind the
  // amplifier counts, so that the highest hears most, unless the datasheet says otherwise of its
  // noise figure.
  std::int64_t most_standing(const Hope& hope) {
    const TunedNode tuned{physics_, hope.tuning->filter, hope.tuning->centre, &shared_};
    const auto least = hope.least_against();
    auto most = std::numeric_limits<std::int64_t>::min();
    for (auto one = hope.gains.rbegin(); one != hope.gains.rend(); ++one) {
      if (one->first != least) continue;
      most = std::max(most, standing_of(tuned.without_products_at(one->second)));
      if (node_.datasheet->noise_figures.empty()) break;
    }
    return most;
  }

  static std::int64_t standing_of(const Budget& budget) {
    const auto* worst = worst_of(budget);
    return worst == nullptr ? 0 : std::llround(100.0 * worst->standing().value());
  }

  void look_at(const Hope& hope, std::optional<Candidate>& best) {
    const auto& tuning = *hope.tuning;
    if (best && std::tuple{hope.least_against(), -hope.standing} >
                    std::tuple{best->against, -best->standing})
      return;
    const TunedNode tuned{physics_, tuning.filter, tuning.centre, &shared_};
    for (const auto& [least, gain] : hope.gains) {
      if (best && least > best->against) continue;
      if (best) {
        const auto at_best = tuned.without_products_at(gain);
        const auto against = tuning.against + count(breaches(limits(), at_best));
        if (std::tuple{against, -standing_of(at_best)} > std::tuple{best->against, -best->standing})
          continue;
      }
      auto candidate = weigh(tuning, tuned, gain);
      if (!best || candidate.rank() < best->rank()) best = std::move(candidate);
    }
  }

  bool clean_at(std::uint8_t filter, Frequency centre, Gain gain) {
    const Tuning tuning{filter, centre, count_against(filter, centre)};
    if (tuning.against != Count{}) return false;
    const TunedNode tuned{physics_, filter, centre, &shared_};
    return count(breaches(limits(), tuned.at(gain))) == Count{};
  }

  void find_middle() {
    std::optional<rf::Band> all;
    for (const auto& one : physics_.carriers()) {
      if (!one.served) continue;
      const auto band = one.carrier->band();
      all = all ? rf::Band{std::min(all->low, band.low), std::max(all->high, band.high)} : band;
    }
    if (all) middle_ = all->low + all->width() / 2;
  }

  void list_gains() {
    const auto& sheet = *node_.datasheet;
    const auto& own = node_.gain_limits ? node_.gain_limits : around_.plan.gain_limits;
    for (auto gain = sheet.lowest_gain; gain <= sheet.highest_gain; gain = gain + sheet.gain_step)
      if (!own || (own->lowest <= gain && gain <= own->highest)) gains_.push_back(gain);
    // Limits between two steps allow none: the least bad is then one of all.
    if (gains_.empty())
      for (auto gain = sheet.lowest_gain; gain <= sheet.highest_gain; gain = gain + sheet.gain_step)
        gains_.push_back(gain);
  }

  void list_tunings() {
    const auto& filters = node_.datasheet->filters;
    for (std::size_t f = 0; f < filters.size(); ++f) {
      const auto filter = static_cast<std::uint8_t>(f);
      const auto& tuning = filters[f].tuning;
      if (!tuning) {
        tunings_.push_back({filter, {}, count_against(filter, {})});
        continue;
      }
      for (auto centre = tuning->lowest; centre <= tuning->highest; centre = centre + tuning->step)
        tunings_.push_back({filter, centre, count_against(filter, centre)});
    }
  }

  // What check_plan() would count, the gain's limits aside, without wording it.
  Count count_against(std::uint8_t number, Frequency centre) const {
    const auto& filter = node_.datasheet->filters[number];
    const auto surely = filter.surely_passed(centre);
    const auto perhaps = filter.perhaps_passed(centre);
    Count against;
    for (const auto& one : physics_.carriers()) {
      const auto band = one.carrier->band();
      if (one.served && !surely.contains(band)) ++against.refusals;
      const bool transmits = one.carrier->use == plan::CarrierUse::transmit;
      if (transmits && perhaps.overlaps(band)) ++against.refusals;
    }
    // Where nothing of its own is left outside no receiver loses anything.
    if (against.refusals > 0)
      against.refusals += dark_receivers(around_, node_, at(number, centre));
    for (const auto& lane : around_.segment.lanes)
      if (lane.purpose != plan::LanePurpose::receive && filter.passband(centre).overlaps(lane.band))
        ++against.cautions;
    return against;
  }

  Settings at(std::uint8_t filter, Frequency centre) const {
    auto settings = base_;
    settings.filter = filter;
    settings.centre = centre;
    return settings;
  }

  Candidate weigh(const Tuning& tuning, const TunedNode& tuned, Gain gain) const {
    const auto budget = tuned.at(gain);
    Candidate candidate{base_, tuning.against + count(breaches(limits(), budget))};
    candidate.settings.gain = gain;
    candidate.settings.filter = tuning.filter;
    candidate.settings.centre = tuning.centre;
    if (const auto* worst = worst_of(budget)) {
      candidate.standing = std::llround(100.0 * worst->standing().value());
      const auto target = 0.5 * (limits().lowest_chain_gain + limits().highest_chain_gain);
      if (worst->receiver != nullptr)
        candidate.off_target = std::llround(100.0 * std::abs((worst->chain_gain - target).value()));
    }
    const auto& filter = node_.datasheet->filters[tuning.filter];
    const auto band = filter.passband(tuning.centre);
    if (middle_) candidate.off_middle = std::abs((band.low + band.width() / 2 - *middle_).hertz());
    return candidate;
  }

  // The first rule that objects, those of published bands aside.
  std::optional<Rule> says_no(const Settings& settings) {
    const auto counts = [](const auto& one) { return one.severity != Severity::note; };
    const auto first = [&](const auto& all) {
      const auto one = std::ranges::find_if(all, counts);
      return one == all.end() ? std::optional<Rule>{} : std::optional{one->rule};
    };
    if (const auto rule = first(check_datasheet(node_, settings))) return rule;
    if (const auto rule = first(check_plan(around_, node_, settings))) return rule;
    const TunedNode tuned{physics_, settings.filter, settings.centre, &shared_};
    return first(breaches(limits(), tuned.at(settings.gain)));
  }

  const Surroundings& around_;
  const plan::Node& node_;
  Settings base_;
  const StillWanted& still_wanted_;
  NodePhysics physics_;
  std::optional<Frequency> middle_;  // of the carriers that are served
  std::vector<Gain> gains_;
  std::vector<Tuning> tunings_;
  SharedSearches shared_;
};

// Of settings that are not clean: the first rule of the physics that objects.
std::optional<LimitedBy> objection(const Verdict& verdict) {
  for (const auto& finding : verdict.findings) {
    if (finding.severity == Severity::note) continue;
    if (finding.rule == Rule::amplifier_overload) return LimitedBy::amplifier_overload;
    if (finding.rule == Rule::receiver_overload) return LimitedBy::receiver_overload;
    if (finding.rule == Rule::intermodulation_on_carrier) return LimitedBy::intermodulation;
    if (finding.rule == Rule::chain_gain) return LimitedBy::chain_gain;
  }
  return std::nullopt;
}

LimitedBy limit_of(const CarrierBudget& worst, const Room& room) {
  // A decibel of sensitivity, lost to something that can be named.
  if (worst.desensitisation >= Decibel::of(1.0)) {
    switch (worst.most_of_interference()) {
      case Interference::intermodulation:
        return LimitedBy::intermodulation;
      case Interference::transmitter_noise:
        return LimitedBy::transmitter_noise;
      case Interference::blocking:
        return LimitedBy::blocking;
      case Interference::co_channel:
        return LimitedBy::co_channel;
    }
  }
  switch (room.up_stops.value_or(Rule::gain_limit)) {
    case Rule::amplifier_overload:
      return LimitedBy::amplifier_overload;
    case Rule::receiver_overload:
      return LimitedBy::receiver_overload;
    case Rule::intermodulation_on_carrier:
      return LimitedBy::intermodulation;
    case Rule::chain_gain:
      return LimitedBy::chain_gain;
    default:
      return LimitedBy::noise;
  }
}

bool is_clean(const Verdict& verdict) {
  return !verdict.has(Severity::refuse) && !verdict.has(Severity::caution);
}

// All but its advice.
Recommendation settle(const Surroundings& around, const plan::Node& node,
                      const plan::Settings& base, const StillWanted& still_wanted) {
  Search search{around, node, base, still_wanted};
  if (!search.serves_any()) {
    Recommendation none{node.name, base, check(around, node, base)};
    none.clean = is_clean(none.verdict);
    return none;
  }
  const auto found = search.best();
  if (!found) return {node.name, base, {}};
  const auto& best = *found;
  Recommendation answer{node.name, best.settings, check(around, node, best.settings)};
  answer.clean = is_clean(answer.verdict);
  if (best.against == Count{}) answer.room = search.room_around(best.settings);
  const auto budget = budget_of(search.physics(), best.settings);
  if (const auto* worst = worst_of(budget)) {
    answer.worst = worst->carrier->name;
    answer.margin = worst->margin();
    const bool known = std::ranges::any_of(search.physics().carriers(), [](const auto& carrier) {
      return carrier.served && carrier.weakest.has_value();
    });
    answer.limited_by = known ? objection(answer.verdict).value_or(limit_of(*worst, answer.room))
                              : LimitedBy::nothing_known;
  }
  return answer;
}

void advise_on(const Surroundings& around, const plan::Node& node, Recommendation& answer) {
  if (!answer.worst.text.empty())
    answer.advice = advise(around, node, answer.settings, answer.verdict);
}

}  // namespace

std::string_view name_of(LimitedBy limit) {
  switch (limit) {
    case LimitedBy::noise:
      return "noise";
    case LimitedBy::intermodulation:
      return "intermodulation";
    case LimitedBy::transmitter_noise:
      return "transmitter noise";
    case LimitedBy::blocking:
      return "blocking";
    case LimitedBy::co_channel:
      return "co-channel";
    case LimitedBy::amplifier_overload:
      return "amplifier overload";
    case LimitedBy::receiver_overload:
      return "receiver overload";
    case LimitedBy::chain_gain:
      return "chain gain";
    case LimitedBy::nothing_known:
      return "nothing known";
  }
  return "?";
}

Recommendation recommend(const Surroundings& around, const plan::Node& node,
                         const plan::Settings& base, const StillWanted& still_wanted) {
  // The lock says whether something may be set now, not what would be good.
  auto unlocked = around;
  unlocked.locked = false;
  auto answer = settle(unlocked, node, base, still_wanted);
  advise_on(unlocked, node, answer);
  return answer;
}

void one_after_the_other(std::size_t count, const std::function<void(std::size_t)>& work) {
  for (std::size_t i = 0; i < count; ++i) work(i);
}

std::vector<Recommendation> recommend_segment(const plan::RackPlan& plan,
                                              const plan::Segment& segment, const SettingsOf& base,
                                              const ForEach& for_each,
                                              const StillWanted& still_wanted) {
  std::map<plan::NodeName, Settings> chosen;
  for (const auto& node : plan.nodes) chosen[node.name] = base(node.name).value_or(Settings{});
  const auto around_with = [&](const std::map<plan::NodeName, Settings>& settings) {
    return Surroundings{plan, segment,
                        [&settings](const plan::NodeName& name) {
                          const auto found = settings.find(name);
                          return found == settings.end() ? PossibleSettings{}
                                                         : PossibleSettings{found->second};
                        },
                        false};
  };
  std::vector<Recommendation> answers(plan.nodes.size());
  const auto run = [&](const std::vector<std::size_t>& nodes) {
    const auto before = chosen;  // what the others are in, the same for each
    const auto around = around_with(before);
    for_each(nodes.size(), [&](std::size_t i) {
      const auto& node = plan.nodes[nodes[i]];
      answers[nodes[i]] = settle(around, node, before.at(node.name), still_wanted);
    });
    for (const auto i : nodes) chosen[plan.nodes[i].name] = answers[i].settings;
  };
  std::vector<std::size_t> all(plan.nodes.size());
  std::iota(all.begin(), all.end(), std::size_t{0});
  run(all);
  // Nodes on one combiner once more, now with what the others were given.
  std::vector<std::size_t> shared;
  for (const auto i : all)
    if (std::ranges::any_of(plan.receivers, [&](const plan::Receiver& receiver) {
          return std::ranges::any_of(receiver.branches, [&](const plan::Branch& branch) {
            return branch.nodes.size() > 1 &&
                   std::ranges::find(branch.nodes, plan.nodes[i].name) != branch.nodes.end();
          });
        }))
      shared.push_back(i);
  // One after the other, until nobody moves any more: then each answer holds beside the others.
  constexpr int most_rounds = 6;
  bool moved = !shared.empty();
  for (int round = 0; moved && round < most_rounds && still_wanted(); ++round) {
    moved = false;
    for (const auto i : shared) {
      const auto before = chosen[plan.nodes[i].name];
      run({i});
      moved = moved || chosen[plan.nodes[i].name] != before;
    }
  }
  if (!still_wanted()) return answers;
  const auto together = around_with(chosen);
  for_each(answers.size(), [&](std::size_t i) {
    answers[i].verdict = check(together, plan.nodes[i], answers[i].settings);
    answers[i].clean = is_clean(answers[i].verdict);
    advise_on(together, plan.nodes[i], answers[i]);
  });
  // Those that chase each other round and round are promised no room.
  if (moved)
    for (const auto i : shared) answers[i].room = {};
  return answers;
}

}  // namespace catwalk::rack
