// SPDX-License-Identifier: Apache-2.0
#include "config/propagation_section.hpp"

#include <optional>

#include "config/rf_values.hpp"

namespace catwalk::config {
namespace {

std::optional<rf::TwoRay> read_two_ray(const Cursor& at) {
  const Object object{at, {"antenna_height_m", "carrier_height_m"}, {"reflection"}};
  const auto antenna = read_height(object["antenna_height_m"]);
  const auto carrier = read_height(object["carrier_height_m"]);
  const Cursor at_reflection = object["reflection"];
  const auto reflection = at_reflection.real(0, 1, "");
  if (!antenna || !carrier || reflection.has_value() != at_reflection.present())
    return std::nullopt;
  return rf::TwoRay{*antenna, *carrier, reflection.value_or(1.0)};
}

std::optional<rf::Indoor> read_indoor(const Cursor& at) {
  const Object object{at, {"loss_per_decade_db"}, {}};
  const auto loss = read_ratio(object["loss_per_decade_db"], 10, 60);
  return loss ? std::optional{rf::Indoor{*loss}} : std::nullopt;
}

}  // namespace

rf::Propagation read_propagation(const Cursor& at) {
  if (!at.present()) return rf::FreeSpace{};
  const Object object{at, {}, {"two_ray", "indoor"}};
  if (!exactly_one(object, "two_ray", "indoor", "is both over a surface and indoors",
                   "is neither over a surface nor indoors"))
    return rf::FreeSpace{};
  if (object["two_ray"].present()) {
    if (const auto surface = read_two_ray(object["two_ray"])) return *surface;
  } else if (object["indoor"].present()) {
    if (const auto walls = read_indoor(object["indoor"])) return *walls;
  }
  return rf::FreeSpace{};
}

}  // namespace catwalk::config
