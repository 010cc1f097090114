// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/way/node_on_the_way.hpp"

namespace catwalk::rack {

using Settings = std::optional<plan::Settings>;

Settings NodeOnTheWay::old_settings(bool late) const {
  auto settings = present;
  if (settings && late && supply_moves()) settings->power = fed_after;
  return settings;
}

Settings NodeOnTheWay::new_settings(bool late) const {
  if (!mover) return old_settings(late);
  auto settings = target;
  if (settings && supply_moves())
    settings->power = settings->power && (late ? fed_after : fed_before);
  return settings;
}

const plan::Filter* NodeOnTheWay::filter(const Settings& settings) const {
  const auto& sheet = *node->datasheet;
  const bool known =
      settings && settings->filter < sheet.filters.size() && sheet.reaches(*settings);
  return known ? &sheet.filters[settings->filter] : nullptr;
}

bool NodeOnTheWay::surely_passes(const Settings& settings, const rf::Band& band) const {
  const auto* choice = filter(settings);
  if (choice == nullptr) return false;
  return !settings->power || choice->surely_passed(settings->centre).contains(band);
}

bool NodeOnTheWay::lets_in(const Settings& settings, const rf::Band& band) const {
  const auto* choice = filter(settings);
  return choice != nullptr && settings->power &&
         choice->perhaps_passed(settings->centre).overlaps(band);
}

bool NodeOnTheWay::perhaps_passes(const Settings& settings, const rf::Band& band) const {
  return (filter(settings) != nullptr && !settings->power) || lets_in(settings, band);
}

}  // namespace catwalk::rack
