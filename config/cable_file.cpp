// SPDX-License-Identifier: Apache-2.0
#include "config/cable_file.hpp"

#include "config/rf_values.hpp"

namespace catwalk::config {
namespace {

using rf::Frequency;

constexpr std::size_t most_types = 1'000;
constexpr Frequency lowest_measured = Frequency::kilohertz(1);
constexpr Frequency highest_measured = Frequency::kilohertz(20'000'000);

// The entry without its type; null if anything is wrong with it.
std::shared_ptr<rf::CableType> read_figures(const Object& object) {
  const auto k1 = object["k1"].real(0, 100, "dB/100 m per √MHz");
  const auto k2 = object["k2"].real(0, 10, "dB/100 m per MHz");
  const auto low = object["lowest_mhz"].megahertz(lowest_measured, highest_measured);
  const auto high = object["highest_mhz"].megahertz(lowest_measured, highest_measured);
  const auto source = object["source"].text(1, 600);
  if (low && high && *high <= *low) {
    object["highest_mhz"].report("is not above the lowest frequency",
                                 "above " + megahertz_text(*low) + " MHz");
    return nullptr;
  }
  if (!k1 || !k2 || !low || !high || !source) return nullptr;
  rf::CableType cable{.name = {}, .k1 = *k1, .k2 = *k2, .valid = {*low, *high}, .source = *source};
  return std::make_shared<rf::CableType>(std::move(cable));
}

}  // namespace

Cables read_cables(const Cursor& root) {
  const Object object{root, {"cables"}, {"$schema", "form"}};
  object["form"].text(1, 600);
  Cables cables;
  Once<std::string> types;
  const std::vector<Cursor> elements = object["cables"].elements(1, most_types);
  cables.incomplete = elements.empty();
  for (const Cursor& element : elements) {
    const Object entry{element, {"type", "k1", "k2", "lowest_mhz", "highest_mhz", "source"}, {}};
    const auto type = entry["type"].text(1, longest_cable_type);
    const auto cable = read_figures(entry);
    if (!type) {
      cables.incomplete = true;
    } else if (types.add(*type, entry["type"])) {
      if (cable) cable->name = *type;
      cables.by_type[*type] = cable;
    }
  }
  return cables;
}

}  // namespace catwalk::config
