// SPDX-License-Identifier: Apache-2.0
#include "config/limits_section.hpp"

#include "config/rf_values.hpp"

namespace catwalk::config {

plan::Limits read_limits(const Cursor& at) {
  plan::Limits limits;
  if (!at.present()) return limits;
  const Object object{at,
                      {},
                      {"compression_margin_db", "intermodulation_over_noise_db",
                       "lowest_chain_gain_db", "highest_chain_gain_db", "overload_margin_db",
                       "link_margin_db", "link_availability_percent"}};
  bool all_read = true;
  const auto read = [&](const char* member, double lowest, double highest, rf::Decibel& limit) {
    const auto written = read_ratio(object[member], lowest, highest);
    all_read = all_read && written.has_value() == object[member].present();
    limit = written.value_or(limit);
  };
  read("compression_margin_db", 0, 40, limits.compression_margin);
  read("intermodulation_over_noise_db", -40, 60, limits.intermodulation_over_noise);
  read("lowest_chain_gain_db", -60, 60, limits.lowest_chain_gain);
  read("highest_chain_gain_db", -60, 60, limits.highest_chain_gain);
  read("overload_margin_db", 0, 40, limits.overload_margin);
  read("link_margin_db", 0, 60, limits.link_margin);
  if (const auto percent = object["link_availability_percent"].real(50, 99.999, "%"))
    limits.link_availability = *percent / 100.0;
  if (all_read && limits.highest_chain_gain < limits.lowest_chain_gain) {
    // Either may be the default, so the one that was written is blamed.
    const Cursor highest = object["highest_chain_gain_db"];
    const Cursor lowest = object["lowest_chain_gain_db"];
    if (highest.present())
      highest.report("is below the lowest chain gain",
                     "the value of \"lowest_chain_gain_db\", 0 dB if absent, or more");
    else
      lowest.report("is above the highest chain gain",
                    "the value of \"highest_chain_gain_db\", 6 dB if absent, or less");
  }
  return limits;
}

}  // namespace catwalk::config
