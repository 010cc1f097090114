// SPDX-License-Identifier: Apache-2.0
#pragma once
// Quantities that several files have in common: ratios, levels, places, and tables that rise.

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "config/reader.hpp"
#include "daemon/plan/place.hpp"
#include "daemon/plan/position.hpp"
#include "daemon/rf/decibel.hpp"
#include "daemon/rf/quantities.hpp"
#include "daemon/rf/units.hpp"

namespace catwalk::config {

// Where lanes and carriers may lie.
constexpr rf::Frequency lowest_in_use = rf::Frequency::kilohertz(1'000);
constexpr rf::Frequency highest_in_use = rf::Frequency::kilohertz(6'000'000);

// For computing, so that a double will do. `unit`: "dB", "dBi", "dBc/Hz".
std::optional<rf::Decibel> read_ratio(const Cursor& at, double lowest, double highest,
                                      std::string_view unit = "dB");
std::optional<rf::PowerLevel> read_level(const Cursor& at, double lowest, double highest);

// As it stands in a file, in MHz: "518.025".
std::string megahertz_text(rf::Frequency frequency);

// Over the ground or a deck, in metres.
std::optional<rf::Metres> read_height(const Cursor& at);

// [x, y, z] in metres.
std::optional<plan::Place> read_place(const Cursor& at);

// `latitude` and `longitude` of this object, in degrees, north and east positive; nothing if either
// is missing or wrong, which is reported.
std::optional<plan::Position> read_position(const Object& object);

// Two members of which only one may be there, or the other: "a filter is either sliding or fixed".
// True if exactly one is; otherwise reported about `object`.
bool exactly_one(const Object& object, const char* one, const char* other, const std::string& both,
                 const std::string& neither);

// Refuses what is not above the one before it in a table.
class Rising {
 public:
  // Of numbers in units of 10^-places, such as 6 and "MHz" for hertz.
  Rising(int places, std::string unit) : places_{places}, unit_{std::move(unit)} {}
  // True if the number is above the last; otherwise reported at the cursor.
  bool add(std::int64_t number, const Cursor& at);

 private:
  int places_;
  std::string unit_;
  std::optional<std::int64_t> last_;
};

}  // namespace catwalk::config
