// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/outlook/moves.hpp"

#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {

using plan::Carrier;
using rf::Band;
using rf::Frequency;

namespace {

// The least whole step that is at least `by`.
Frequency rounded_up(Frequency by) {
  return (by.hertz() + raster.hertz() - 1) / raster.hertz() * raster;
}

}  // namespace

std::string to_move(const Carrier& carrier, Frequency by) {
  const bool up = by > Frequency{};
  return "Move " + carrier.name.text + (up ? " up" : " down") + " by at least " +
         in_words(up ? by : -by) + ", to " + in_words(carrier.frequency + by);
}

std::string into_window(const Carrier& carrier, const Band& surely) {
  const auto band = carrier.band();
  const auto by = band.low < surely.low ? rounded_up(surely.low - band.low)
                                        : -rounded_up(band.high - surely.high);
  return to_move(carrier, by) + ", or let another antenna serve it.";
}

std::string out_of_window(const Carrier& carrier, const Band& perhaps) {
  const auto band = carrier.band();
  const auto up = rounded_up(perhaps.high - band.low);
  const auto down = rounded_up(band.high - perhaps.low);
  return to_move(carrier, up < down ? up : -down) + ", out of the window.";
}

}  // namespace catwalk::rack
