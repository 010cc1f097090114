// SPDX-License-Identifier: Apache-2.0
#include "config/amplifier_figures.hpp"

#include "config/rf_values.hpp"

namespace catwalk::config {

bool check_above_compression(const Object& object, double p1db, double ip3) {
  if (ip3 > p1db) return true;
  object["output_ip3_dbm"].report("is not above the 1 dB compression point",
                                  "above the value of \"output_p1db_dbm\"");
  return false;
}

std::optional<rf::Stage> read_amplifier_figures(const Object& object) {
  const auto gain = read_ratio(object["gain_db"], -30, 60);
  const auto noise_figure = read_ratio(object["noise_figure_db"], 0, 40);
  const auto p1db = read_level(object["output_p1db_dbm"], -40, 60);
  const auto ip3 = read_level(object["output_ip3_dbm"], -30, 80);
  if (p1db && ip3) check_above_compression(object, p1db->dbm(), ip3->dbm());
  if (!gain || !noise_figure || !p1db || !ip3) return std::nullopt;
  return rf::Stage{{}, *gain, *noise_figure, *ip3, *p1db};
}

}  // namespace catwalk::config
