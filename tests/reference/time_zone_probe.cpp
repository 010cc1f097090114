// SPDX-License-Identifier: Apache-2.0
// Answers what the lines on its input ask, so that other programs can compare. Moments and times on
// the wall are seconds, the latter since 1970-01-01 00:00 on that wall:
//   zones                → the name of every zone, in one line
//   turns ZONE           → the moments at which its clocks are turned
//   local ZONE MOMENT …  → what the clocks show then
//   when ZONE SHOWN …    → when the clocks show that
#include <cstdint>
#include <cstdlib>
#include <iostream>
#include <sstream>
#include <string>

#include "config/zone_database.hpp"

using namespace catwalk;
using std::chrono::seconds;

namespace {

void answer(std::istream& in, const std::string& what, const plan::TimeZone& zone) {
  if (what == "turns")
    for (std::size_t i = 1; i < zone.offsets.size(); ++i)
      std::cout << zone.offsets[i].from.time_since_epoch().count() << ' ';
  std::int64_t count = 0;
  while (in >> count) {
    if (what == "local")
      std::cout << zone.local(std::chrono::sys_seconds{seconds{count}}).time_since_epoch().count();
    else
      std::cout << zone.when(std::chrono::local_seconds{seconds{count}}).time_since_epoch().count();
    std::cout << ' ';
  }
}

}  // namespace

int main() {
  for (std::string line; std::getline(std::cin, line);) {
    std::istringstream in{line};
    std::string what;
    std::string name;
    in >> what >> name;
    if (what == "zones") {
      for (const std::string& each : config::time_zone_names()) std::cout << each << ' ';
    } else if (const auto zone = config::time_zone_named(name)) {
      answer(in, what, *zone);
    } else {
      std::cerr << "no zone " << name << '\n';
      return EXIT_FAILURE;
    }
    std::cout << '\n';
  }
}
