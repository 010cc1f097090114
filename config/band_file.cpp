// SPDX-License-Identifier: Apache-2.0
#include "config/band_file.hpp"

#include "config/rf_values.hpp"

namespace catwalk::config {
namespace {

using plan::BandBasis;
using plan::BandStatus;
using plan::PowerKind;
using rf::Frequency;

constexpr Frequency lowest_allotted = Frequency::kilohertz(1'000);
constexpr Frequency highest_allotted = Frequency::kilohertz(10'000'000);

// A power without saying how it is measured is worth nothing: e.i.r.p. and e.r.p. are 2.15 dB
// apart.
std::optional<plan::BandPower> read_power(const Cursor& at) {
  const Object object{at, {"milliwatts", "kind"}, {"basis"}};
  const auto milliwatts = object["milliwatts"].real(0.000'001, 100'000, "mW");
  const auto kind = object["kind"].one_of<PowerKind>();
  const auto basis = object["basis"].one_of<BandBasis>();
  if (!milliwatts || !kind) return std::nullopt;
  return plan::BandPower{.milliwatts = *milliwatts, .kind = *kind, .basis = basis};
}

// [low, high] within the row's own, which may not be known.
std::optional<rf::Band> read_stretch(const Cursor& at, const std::optional<rf::Band>& row) {
  constexpr std::size_t most_looked_at = 1'000;
  const auto edges = at.is_array() ? at.elements(0, most_looked_at) : std::vector<Cursor>{};
  if (edges.size() != 2) {
    at.report("is not a band", "a list of two numbers: its edges in MHz, the lower one first");
    return std::nullopt;
  }
  const auto low = edges[0].megahertz(lowest_allotted, highest_allotted);
  const auto high = edges[1].megahertz(lowest_allotted, highest_allotted);
  if (!low || !high) return std::nullopt;
  const rf::Band band{*low, *high};
  if (*high <= *low) {
    edges[1].report("is not above the low edge", "above " + megahertz_text(*low) + " MHz");
    return std::nullopt;
  }
  if (!row || row->contains(band)) return band;
  at.report("is not within the row",
            megahertz_text(row->low) + " to " + megahertz_text(row->high) + " MHz");
  return std::nullopt;
}

std::vector<plan::BandArea> read_areas(const Cursor& at, const std::optional<rf::Band>& row) {
  constexpr std::size_t most_areas = 1'000;
  constexpr std::size_t most_bands = 100;
  std::vector<plan::BandArea> areas;
  if (!at.present()) return areas;
  Once<std::string> names;
  for (const Cursor& element : at.elements(1, most_areas)) {
    const Object object{element, {"name", "latitude", "longitude", "radius_km"}, {"bands_mhz"}};
    const auto name = object["name"].text(1, 80);
    const bool is_new = !name || names.add(*name, object["name"]);
    const auto centre = read_position(object);
    const auto radius = object["radius_km"].real(0.1, 2'000, "km");
    std::vector<rf::Band> bands;
    if (const Cursor listed = object["bands_mhz"]; listed.present())
      for (const Cursor& stretch : listed.elements(1, most_bands))
        if (const auto band = read_stretch(stretch, row)) bands.push_back(*band);
    if (name && is_new && centre && radius)
      areas.push_back({*name, *centre, *radius, std::move(bands)});
  }
  return areas;
}

std::optional<plan::BandRow> read_row(const Cursor& at, Once<std::string>& ids) {
  const Object object{at,
                      {"id", "low_mhz", "high_mhz", "status", "use", "licence", "source", "as_of"},
                      {"power", "note", "protects", "basis", "areas"}};
  const auto id = object["id"].name();
  const auto low = object["low_mhz"].megahertz(lowest_allotted, highest_allotted);
  const auto high = object["high_mhz"].megahertz(lowest_allotted, highest_allotted);
  const auto status = object["status"].one_of<BandStatus>();
  const auto use = object["use"].text(1, 200);
  const auto licence = object["licence"].text(1, 200);
  const auto source = object["source"].text(1, 600);
  const auto as_of = object["as_of"].text(1, 200);
  const auto power = read_power(object["power"]);
  const auto note = object["note"].text(1, 600);
  const auto protects = object["protects"].text(1, 200);
  const auto basis = object["basis"].one_of<BandBasis>();
  const bool is_band = low && high && *low < *high;
  auto areas =
      read_areas(object["areas"], is_band ? std::optional{rf::Band{*low, *high}} : std::nullopt);
  const bool is_new = !id || ids.add(*id, object["id"]);
  if (low && high && *high <= *low) {
    object["high_mhz"].report("is not above the low edge",
                              "above " + megahertz_text(*low) + " MHz");
    return std::nullopt;
  }
  if (!id || !is_new || !low || !high || !status || !use || !licence || !source || !as_of)
    return std::nullopt;
  return plan::BandRow{.id = *id,
                       .band = {*low, *high},
                       .status = *status,
                       .use = *use,
                       .licence = *licence,
                       .source = *source,
                       .as_of = *as_of,
                       .power = power,
                       .note = note.value_or(""),
                       .protects = protects.value_or(""),
                       .basis = basis,
                       .areas = std::move(areas)};
}

}  // namespace

plan::BandTable read_bands(const Cursor& root) {
  const Object object{root, {"region", "title", "rows"}, {"$schema"}};
  plan::BandTable table;
  table.region = object["region"].name().value_or("");
  table.title = object["title"].text(1, 80).value_or("");
  Once<std::string> ids;
  for (const Cursor& element : object["rows"].elements(1, 1000))
    if (auto row = read_row(element, ids)) table.rows.push_back(std::move(*row));
  return table;
}

}  // namespace catwalk::config
