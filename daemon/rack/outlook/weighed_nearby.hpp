// SPDX-License-Identifier: Apache-2.0
#pragma once
// What can come of a tuning at best, by what was weighed at the same gain at a centre near by.
//
// From one centre to the next a filter takes a few hundredths of a decibel more or less off each
// carrier. With δ the most by which that differs for any of them, nothing that a budget says of a
// carrier differs by more than so many δ:
//   what the filter takes, noise, own transmitters' noise, products that others bring       1
//   a carrier in the channel, beside it, or at a response: two levels over one another      2
//   products of the third order, three levels and the way back to the antenna               4
//   of the fifth, likewise                                                                  6
// Where several add, the sum differs by no more than the one of them that differs most. So with n
// of the last two what is needed and the margin differ by no more than n δ, products over noise and
// interference over noise by n + 1, how well off a carrier is without a known margin by n + 2. With
// that taken off all that is against a carrier, it does not stand better at the other centre.

#include <cstdint>
#include <map>
#include <optional>
#include <utility>
#include <vector>

#include "daemon/rack/levels/budget.hpp"
#include "daemon/rack/values/verdict.hpp"

namespace catwalk::rack {

// Cautions for the margins of carriers, and for products on them: what loads do not tell. Of a
// budget that has carriers alone.
int cautions_on_carriers(const plan::Limits& limits, const Budget& carriers);

class WeighedNearby {
 public:
  explicit WeighedNearby(bool fifth_order) : order_{fifth_order ? 6.0 : 4.0} {}

  struct Setting {
    std::uint8_t filter = 0;
    rf::Gain gain;
    rf::Frequency centre;
  };
  // `losses`: dB that the node takes off each carrier. Of the budget carriers are kept.
  void remember(const Setting& at, std::vector<double> losses, const Budget& budget);

  struct Bound {
    int cautions = 0;      // no fewer, of margins and products
    rf::Decibel well_off;  // no carrier that is worst off is better off
  };
  // Nothing: nothing was weighed with this filter and gain.
  std::optional<Bound> bound(const plan::Limits& limits, const Setting& at,
                             const std::vector<double>& losses) const;

 private:
  struct Weighed {
    std::vector<double> losses;
    Budget carriers;  // alone
  };
  Bound bound_by(const plan::Limits& limits, const Weighed& weighed,
                 const std::vector<double>& losses) const;

  double order_;  // n
  std::map<std::pair<std::uint8_t, rf::Gain>, std::map<rf::Frequency, Weighed>> all_;
};

}  // namespace catwalk::rack
