// SPDX-License-Identifier: Apache-2.0
#pragma once
// Where on the Earth something stands.

namespace catwalk::plan {

// Degrees, north and east positive: −90 to 90, −180 to 180. WGS 84; published centres in NAD 83 lie
// within two metres of it, which nobody notices here.
struct Position {
  double latitude = 0.0;
  double longitude = 0.0;
  friend bool operator==(const Position&, const Position&) = default;
};

// Along a great circle of a sphere with the Earth's mean radius, 6371.0088 km (IUGG mean radius R1,
// Moritz 1980, from memory), by the haversine formula. The Earth is flatter: up to 0.6 % off.
double kilometres_between(const Position& a, const Position& b);

}  // namespace catwalk::plan
