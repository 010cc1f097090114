// SPDX-License-Identifier: Apache-2.0
#include "config/noise_section.hpp"

#include "config/rf_values.hpp"

namespace catwalk::config {

std::optional<plan::ManMadeNoise> read_man_made_noise(const Cursor& at) {
  if (!at.present()) return std::nullopt;
  const Object object{at, {}, {"as_in", "measured_db"}};
  if (!exactly_one(object, "as_in", "measured_db", "is both that of a place and measured",
                   "is neither that of a place nor measured"))
    return std::nullopt;
  const auto place = object["as_in"].one_of<rf::NoisePlace>();
  const auto measured = read_ratio(object["measured_db"], 0, 60);
  if (place) return *place;
  if (measured) return *measured;
  return std::nullopt;
}

}  // namespace catwalk::config
