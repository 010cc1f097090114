// SPDX-License-Identifier: Apache-2.0
#pragma once
// Over all gain steps, filters and centres of a node: the settings that have least against them and
// leave the carrier that is worst off the most margin, without weighing each of them in full.

#include <algorithm>
#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <tuple>
#include <utility>
#include <vector>

#include "daemon/rack/levels/tuned_node.hpp"
#include "daemon/rack/outlook/weighed_nearby.hpp"
#include "daemon/rack/rules/physics_rules.hpp"
#include "daemon/rack/rules/rules.hpp"

namespace catwalk::rack {

// Asked now and then whether anybody still wants the answer, from any thread. Once false, what is
// returned is of no use.
using StillWanted = std::function<bool()>;
inline bool always_wanted() { return true; }

// How far one setting can go from the recommended one, alone, with no caution and no refusal.
struct Room {
  rf::Gain down;  // ≥ 0
  rf::Gain up;
  rf::Frequency lower;  // of the centre, ≥ 0
  rf::Frequency higher;
  // The rule that says no one step further; absent: the datasheet or the gain limits end there.
  std::optional<Rule> down_stops = {};
  std::optional<Rule> up_stops = {};
  std::optional<Rule> lower_stops = {};
  std::optional<Rule> higher_stops = {};
};

// Null: there is no carrier in it.
const CarrierBudget* worst_of(const Budget& budget);

class SettingsSearch {
 public:
  struct Candidate {
    plan::Settings settings;
    Count against;
    std::int64_t well_off = 0;    // 0.01 dB of the carrier that is worst off
    std::int64_t off_target = 0;  // 0.01 dB between chain gain and the middle of its range
    std::int64_t off_middle = 0;  // Hz between the centre and the middle of the carriers

    // Smaller is better. Beyond the margin: a chain gain in the middle, no more gain than needed.
    auto rank() const {
      return std::tuple{against,    -well_off,       off_target,     settings.gain,
                        off_middle, settings.filter, settings.centre};
    }
  };

  SettingsSearch(const Surroundings& around, const plan::Node& node, const plan::Settings& base,
                 const StillWanted& still_wanted);

  // Tunings with the best hopes first, and only as long as one can beat what was found. Hopes are
  // what a tuning would come to if no amplifier distorted anything. Nothing: nobody wants it.
  std::optional<Candidate> best();

  // Precondition: these settings are clean.
  Room room_around(const plan::Settings& settings);

  const NodePhysics& physics() const { return known_->physics(); }
  bool serves_any() const { return middle_.has_value(); }

 private:
  // A filter at a centre, with what the rules that need no physics count against it.
  struct Tuning {
    std::uint8_t filter = 0;
    rf::Frequency centre;
    Count against;
  };

  // A tuning with what must be against each gain, and the most that could be heard.
  struct Hope {
    const Tuning* tuning = nullptr;
    std::vector<std::pair<Count, rf::Gain>> gains;
    std::int64_t well_off = 0;
    Count least_against() const {
      return std::ranges::min_element(gains, {}, &std::pair<Count, rf::Gain>::first)->first;
    }
  };

  const plan::Limits& limits() const { return around_.plan.limits; }

  // Of the gains that have least against them. With more gain less of the noise behind the
  // amplifier counts, so that the highest hears most, unless the datasheet says otherwise of its
  // noise figure.
  std::int64_t most_well_off(const Hope& hope);
  static std::int64_t well_off_at(const Budget& budget);
  // False: nobody wants it any more.
  bool look_through(std::span<const Tuning> tunings, std::optional<Candidate>& best);
  void look_at(const Hope& hope, std::optional<Candidate>& best);
  bool clean_at(std::uint8_t filter, rf::Frequency centre, rf::Gain gain);
  void find_middle();
  void list_gains();
  void list_tunings();
  // What check_plan() would count, the gain's limits aside, without wording it.
  Count count_against(std::uint8_t number, rf::Frequency centre) const;
  plan::Settings at(std::uint8_t filter, rf::Frequency centre) const;
  Candidate weigh(const Tuning& tuning, const Budget& budget, rf::Gain gain) const;
  // The first rule that objects, those of published bands aside.
  std::optional<Rule> says_no(const plan::Settings& settings);

  const Surroundings& around_;
  const plan::Node& node_;
  plan::Settings base_;
  const StillWanted& still_wanted_;
  std::shared_ptr<const KnownPhysics::Node> known_;
  std::optional<rf::Frequency> middle_;  // of the carriers that are served
  std::vector<rf::Gain> gains_;
  std::vector<Tuning> tunings_;
  SharedSearches shared_;
  WeighedNearby nearby_;
};

}  // namespace catwalk::rack
