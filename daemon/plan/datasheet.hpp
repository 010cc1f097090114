// SPDX-License-Identifier: Apache-2.0
#pragma once
// A datasheet: what a node type can do. Values only; where they come from is config's business.

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/rf/units.hpp"

namespace catwalk::plan {

// How far and how finely a filter's centre can be tuned.
struct Tuning {
  rf::Frequency lowest;
  rf::Frequency highest;
  rf::Frequency step;
  friend bool operator==(const Tuning&, const Tuning&) = default;

  bool reaches(rf::Frequency centre) const { return lowest <= centre && centre <= highest; }
  // Steps are counted from the lowest centre.
  bool on_step(rf::Frequency centre) const { return (centre - lowest).hertz() % step.hertz() == 0; }
};

// One choice of band filter. With `tuning` it is a window `width` wide that slides; without, it
// passes `fixed` and has no centre.
struct Filter {
  std::string name;
  rf::Frequency width;  // passband, within the datasheet's ripple
  std::optional<Tuning> tuning;
  rf::Band fixed;       // meaningful without tuning
  rf::Frequency skirt;  // beside each edge: neither surely passed nor surely rejected
  friend bool operator==(const Filter&, const Filter&) = default;

  // What surely passes at this centre: edges at centre ± width/2, and the skirts left out.
  rf::Band passband(rf::Frequency centre) const {
    return tuning ? rf::Band::around(centre, width) : fixed;
  }
  // A receive carrier must lie within this …
  rf::Band surely_passed(rf::Frequency centre) const { return passband(centre).widened(-skirt); }
  // … and an own transmitter must stay out of this.
  rf::Band perhaps_passed(rf::Frequency centre) const { return passband(centre).widened(skirt); }
};

struct Datasheet {
  std::string type;  // what the node says of itself when it is asked
  std::string title;
  rf::Gain lowest_gain;
  rf::Gain highest_gain;
  rf::Gain gain_step;            // counted from the lowest gain; > 0
  std::vector<Filter> filters;   // the wire's filter index counts this list; never empty
  double noise_figure_db = 0.0;  // dB at the highest gain
  double output_p1db_dbm = 0.0;
  double output_ip3_dbm = 0.0;
  double passive_loss_db = 0.0;   // through the node when its power is off or gone
  double antenna_gain_dbi = 0.0;  // of an integral antenna; 0 for an inline node
  friend bool operator==(const Datasheet&, const Datasheet&) = default;

  std::optional<std::uint8_t> filter_index(std::string_view name) const;
};

}  // namespace catwalk::plan
