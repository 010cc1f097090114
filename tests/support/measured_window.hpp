// SPDX-License-Identifier: Apache-2.0
#pragma once
// A window that slides, as somebody has measured it.

#include <memory>
#include <string>

#include "daemon/plan/datasheet.hpp"

namespace catwalk::test {

// 1 dB within, 50 dB from 5 MHz beside it. `width` and `highest` centre in MHz; the lowest is 440
// MHz.
inline plan::Filter measured_window(const std::string& name, double width, double highest) {
  using rf::Frequency;
  plan::Filter filter;
  filter.name = name;
  filter.width = Frequency::megahertz(width);
  filter.tuning = plan::Tuning{Frequency::megahertz(440), Frequency::megahertz(highest),
                               Frequency::megahertz(1)};
  filter.skirt = Frequency::kilohertz(500);
  const auto at = [](double megahertz, double loss) {
    return rf::ResponsePoint{Frequency::megahertz(megahertz), rf::Decibel::of(loss)};
  };
  const double half = width / 2;
  auto response = rf::MeasuredResponse::make(
      {at(570 - half - 5, 50), at(570 - half, 1), at(570 + half, 1), at(570 + half + 5, 50)});
  filter.model = std::make_shared<const plan::FilterModel>(
      plan::MeasuredFilter{response.value(), Frequency::megahertz(570)});
  return filter;
}

}  // namespace catwalk::test
