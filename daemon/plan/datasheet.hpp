// SPDX-License-Identifier: Apache-2.0
#pragma once
// A datasheet: what a node type can do. Values only; where they come from is config's business.

#include <chrono>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/words.hpp"
#include "daemon/plan/filter_model.hpp"
#include "daemon/plan/settings.hpp"
#include "daemon/plan/steps.hpp"
#include "daemon/rf/units.hpp"

namespace catwalk::plan {

// How far and how finely a filter's centre can be tuned.
using Tuning = Steps<rf::Frequency>;

// One choice of band filter. With `tuning` it is a window `width` wide that slides; without, it
// passes `fixed` and has no centre.
struct Filter {
  std::string name;
  rf::Frequency width;  // passband, within the datasheet's ripple
  std::optional<Tuning> tuning;
  rf::Band fixed;       // meaningful without tuning
  rf::Frequency skirt;  // beside each edge: neither surely passed nor surely rejected
  // Null: the datasheet does not say, and usual_model() is taken.
  std::shared_ptr<const FilterModel> model = {};
  // Models are compared by what they describe, not by where they are kept.
  friend bool operator==(const Filter& a, const Filter& b);

  // What surely passes at this centre: edges at centre ± width/2, and the skirts left out.
  rf::Band passband(rf::Frequency centre) const {
    return tuning ? rf::Band::around(centre, width) : fixed;
  }
  // A receive carrier must lie within this …
  rf::Band surely_passed(rf::Frequency centre) const { return passband(centre).widened(-skirt); }
  // … and an own transmitter must stay out of this.
  rf::Band perhaps_passed(rf::Frequency centre) const { return passband(centre).widened(skirt); }
};

// What is taken for a filter whose datasheet gives no more than its width: Butterworth of three
// resonators, 1 dB down at the edges, no loss in the middle. A guess that a measured table or a
// description should replace. Nothing for a width that reaches down to 0 Hz, which config refuses.
std::optional<FilterModel> usual_model(const Filter& filter);

// Where the filter stands: what it rejects before the amplifier can do no harm in it; what it
// loses there is lost to noise.
enum class FilterPosition { before_amplifier, after_amplifier };
constexpr auto words_of(FilterPosition) {
  using enum FilterPosition;
  return WordTable<FilterPosition, 2>{
      {{"before the amplifier", before_amplifier}, {"after the amplifier", after_amplifier}}};
}
using catwalk::name_of;

struct GainNoise {
  rf::Gain gain;
  double noise_figure_db = 0.0;
  friend bool operator==(const GainNoise&, const GainNoise&) = default;
};

struct GainLinearity {
  rf::Gain gain;
  double output_p1db_dbm = 0.0;
  double output_ip3_dbm = 0.0;
  friend bool operator==(const GainLinearity&, const GainLinearity&) = default;
};

// What an amplifier takes from its cable.
struct TakenSupply {
  std::uint16_t lowest_mv = 0;  // at its terminals, > 0
  std::uint16_t highest_mv = 0;
  std::uint16_t ma = 0;  // that it draws at most, > 0
  // Without it for so long it starts afresh, 1 ms to a minute. Where a datasheet does not say:
  // enough for what is stored in it to be gone; common practice, no source.
  std::chrono::milliseconds off{2'000};
  friend bool operator==(const TakenSupply&, const TakenSupply&) = default;

  bool takes(std::uint16_t millivolts) const {
    return lowest_mv <= millivolts && millivolts <= highest_mv;
  }
};

struct Datasheet {
  std::string type;  // what the node says of itself when it is asked
  std::string title;
  Steps<rf::Gain> gains;
  std::vector<Filter> filters;   // the wire's filter index counts this list; never empty
  double noise_figure_db = 0.0;  // dB at the highest gain, the filter's loss not counted
  // Noise figure at other gains, in rising order; empty: not said.
  std::vector<GainNoise> noise_figures = {};
  FilterPosition filter_position = FilterPosition::before_amplifier;
  double output_p1db_dbm = 0.0;  // at the highest gain
  double output_ip3_dbm = 0.0;
  // At other gains, in rising order; empty: not said. Output P1dB never rises by more than the
  // gain.
  std::vector<GainLinearity> linearity = {};
  double passive_loss_db = 0.0;               // through the node when its power is off or gone
  double antenna_gain_dbi = 0.0;              // of an integral antenna; 0 for an inline node
  std::optional<double> output_ip5_dbm = {};  // at the highest gain
  std::optional<TakenSupply> supply = {};     // absent: not said
  friend bool operator==(const Datasheet&, const Datasheet&) = default;

  std::optional<std::uint8_t> filter_index(std::string_view name) const;
  // Can a node of this type be in these settings, steps aside? Nodes may show anything: one of
  // another type, with bad memory, or that lies. Without power nothing is asked of it.
  bool reaches(const Settings& settings) const;
  // Its filter, tuned. Nothing: there is no such filter, or it does not reach the centre. A fixed
  // filter takes no centre.
  std::optional<TunedFilter> tuned(std::uint8_t filter, rf::Frequency centre) const;
  // The same in these settings. Nothing without power, or beyond what is reached: then the node is
  // to be taken for a passive one.
  std::optional<TunedFilter> tuned(const Settings& settings) const;
  // Of the amplifier at this gain: straight lines between the figures that are given, the nearest
  // beyond them. Where none are, a gain below 0 dB is taken to be made by a pad in front: the noise
  // figure is higher by the pad.
  rf::Decibel noise_figure(rf::Gain gain) const;
  // The same of its output. Where no figures are given, those at the highest gain: as for a pad in
  // front. One between its stages would leave the first as exposed as at the highest gain.
  rf::PowerLevel output_p1db(rf::Gain gain) const;
  rf::PowerLevel output_ip3(rf::Gain gain) const;
  // As far from that as at the highest gain. Nothing: not said.
  std::optional<rf::PowerLevel> output_ip5(rf::Gain gain) const;
};

}  // namespace catwalk::plan
