// SPDX-License-Identifier: Apache-2.0
#include "config/band_file.hpp"

#include "config/rf_values.hpp"

namespace catwalk::config {
namespace {

using plan::BandStatus;
using plan::PowerKind;
using rf::Frequency;

constexpr Frequency lowest_allotted = Frequency::kilohertz(1'000);
constexpr Frequency highest_allotted = Frequency::kilohertz(10'000'000);

// A power without saying how it is measured is worth nothing: e.i.r.p. and e.r.p. are 2.15 dB
// apart.
std::optional<plan::BandPower> read_power(const Cursor& at) {
  const Object object{at, {"milliwatts", "kind"}, {}};
  const auto milliwatts = object["milliwatts"].real(0.000'001, 100'000, "mW");
  const auto kind = object["kind"].one_of<PowerKind>();
  if (!milliwatts || !kind) return std::nullopt;
  return plan::BandPower{.milliwatts = *milliwatts, .kind = *kind};
}

std::optional<plan::BandRow> read_row(const Cursor& at, Once<std::string>& ids) {
  const Object object{at,
                      {"id", "low_mhz", "high_mhz", "status", "use", "licence", "source", "as_of"},
                      {"power", "note", "protects"}};
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
                       .protects = protects.value_or("")};
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
