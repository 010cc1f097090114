// SPDX-License-Identifier: Apache-2.0
#include "config/rf_values.hpp"

#include "config/exact_number.hpp"

namespace catwalk::config {

std::optional<rf::Decibel> read_ratio(const Cursor& at, double lowest, double highest,
                                      std::string_view unit) {
  const auto number = at.real(lowest, highest, unit);
  return number ? std::optional{rf::Decibel::of(*number)} : std::nullopt;
}

std::optional<rf::PowerLevel> read_level(const Cursor& at, double lowest, double highest) {
  const auto number = at.real(lowest, highest, "dBm");
  return number ? std::optional{rf::PowerLevel::dbm(*number)} : std::nullopt;
}

std::string megahertz_text(rf::Frequency frequency) { return decimal_text(frequency.hertz(), 6); }

std::optional<rf::Metres> read_height(const Cursor& at) {
  const auto metres = at.real(0.1, 1'000, "m");
  return metres ? std::optional{rf::Metres::of(*metres)} : std::nullopt;
}

std::optional<plan::Place> read_place(const Cursor& at) {
  constexpr double farthest = 10'000.0;
  constexpr std::size_t most_looked_at = 1'000;
  if (!at.present()) return std::nullopt;
  const auto coordinates = at.is_array() ? at.elements(0, most_looked_at) : std::vector<Cursor>{};
  if (coordinates.size() != 3) {
    at.report("is not a place", "a list of three numbers: x, y and z in metres");
    return std::nullopt;
  }
  const auto x = coordinates[0].real(-farthest, farthest, "m");
  const auto y = coordinates[1].real(-farthest, farthest, "m");
  const auto z = coordinates[2].real(-farthest, farthest, "m");
  if (!x || !y || !z) return std::nullopt;
  return plan::Place{*x, *y, *z};
}

std::optional<plan::Position> read_position(const Object& object) {
  const auto latitude = object["latitude"].real(-90, 90, "degrees");
  const auto longitude = object["longitude"].real(-180, 180, "degrees");
  if (!latitude || !longitude) return std::nullopt;
  return plan::Position{*latitude, *longitude};
}

bool exactly_one(const Object& object, const char* one, const char* other, const std::string& both,
                 const std::string& neither) {
  const bool has_one = object[one].present();
  if (!object.at().present() || has_one != object[other].present()) return true;
  object.at().report_about(has_one ? both : neither,
                           "exactly one of the members " + listed({one, other}, "and"));
  return false;
}

bool Rising::add(std::int64_t number, const Cursor& at) {
  const bool rises = !last_ || number > *last_;
  if (!rises)
    at.report("is not above the one before",
              "above " + decimal_text(*last_, places_) + " " + unit_);
  last_ = number;
  return rises;
}

}  // namespace catwalk::config
