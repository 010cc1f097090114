// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/rules/band_rules.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <optional>

#include "daemon/rack/values/numbers.hpp"
#include "daemon/rack/values/wording.hpp"
#include "daemon/rf/quantities.hpp"

namespace catwalk::rack {
namespace {

using plan::BandBasis;
using plan::BandRow;
using plan::BandStatus;

bool was_read(std::optional<BandBasis> basis) { return basis == BandBasis::read; }

std::string how_read(std::optional<BandBasis> basis) {
  return std::string{basis ? name_of(*basis) : "nobody says how it was read"};
}

std::string source_of(const BandRow& row) {
  return " Source" + (was_read(row.basis) ? "" : ", " + how_read(row.basis)) + ": " + row.source +
         " (" + row.as_of + "). Check with the regulator.";
}

// "50 mW e.i.r.p."
std::string power_in_words(const plan::BandPower& power) {
  char text[32];
  std::snprintf(text, sizeof text, "%g mW ", power.milliwatts);
  return text + std::string{name_of(power.kind)};
}

// The e.r.p. that a row allows; nothing where none is published as a radiated power.
std::optional<rf::PowerLevel> allowed_erp(const BandRow& row) {
  if (!row.power) return std::nullopt;
  const auto level = rf::from_milliwatts(row.power->milliwatts);
  if (row.power->kind == plan::PowerKind::erp) return level;
  if (row.power->kind == plan::PowerKind::eirp) return rf::Eirp::of(level).as_erp().level();
  return std::nullopt;
}

// What of a row holds for a carrier where the rack stands.
struct Reach {
  enum class Holds { here, perhaps, elsewhere } holds = Holds::here;
  rf::Band band;                        // of the row, the first stretch that the carrier overlaps
  std::vector<std::string> areas = {};  // where, if not in the whole region
};

// The sphere is up to 0.6 % off, and the side that protects is taken.
constexpr double off_at_most = 1.006;

// The first stretch of the row that holds in this area and overlaps.
std::optional<rf::Band> stretch_in(const plan::BandArea& area, const rf::Band& row,
                                   const rf::Band& carrier) {
  if (area.bands.empty()) return row;
  const auto found = std::ranges::find_if(
      area.bands, [&](const rf::Band& band) { return band.overlaps(carrier); });
  return found == area.bands.end() ? std::nullopt : std::optional{*found};
}

// Precondition: row and carrier overlap.
Reach reach_of(const BandRow& row, const rf::Band& carrier,
               const std::optional<plan::Position>& stands_at) {
  if (row.areas.empty()) return {Reach::Holds::here, row.band};
  Reach reach{Reach::Holds::elsewhere, row.band};
  for (const auto& area : row.areas) {
    const auto stretch = stretch_in(area, row.band, carrier);
    if (!stretch) continue;
    const double away = stands_at ? plan::kilometres_between(*stands_at, area.centre) : 0.0;
    if (away > area.radius_km * off_at_most) continue;
    if (reach.areas.empty()) reach.band = *stretch;
    reach.holds = stands_at ? Reach::Holds::here : Reach::Holds::perhaps;
    reach.areas.push_back(
        area.name + (stands_at ? " (" + std::to_string(std::lround(away)) + " km from here)" : ""));
  }
  return reach;
}

Finding about(const plan::Carrier& carrier, const plan::NodeName& node, Rule rule,
              Severity severity) {
  return {rule,
          severity,
          node,
          {carrier.name.text},
          {megahertz("carrier", carrier.frequency), megahertz("carrier low", carrier.band().low),
           megahertz("carrier high", carrier.band().high)},
          {}};
}

void check_closed(const BandRow& row, const Reach& reach, const plan::Carrier& carrier,
                  const plan::NodeName& node, std::vector<Finding>& findings) {
  const bool is_protected = !row.protects.empty();
  if (!is_protected && row.status != BandStatus::closed) return;
  const bool asked = reach.holds == Reach::Holds::perhaps;
  auto finding = about(carrier, node, is_protected ? Rule::protected_band : Rule::legal_band,
                       is_protected && !asked ? Severity::refuse : Severity::caution);
  finding.concerns.push_back(row.id);
  finding.numbers.push_back(megahertz("row low", reach.band.low));
  finding.numbers.push_back(megahertz("row high", reach.band.high));
  finding.sentence =
      carrier.name.text + " at " + in_words(carrier.frequency) + " lies in " +
      in_words(reach.band) + ", " +
      (is_protected ? "where " + row.protects + " is protected"
                    : "which is " + std::string{was_read(row.basis) ? "published" : "given"} +
                          " as closed (" + row.use + ")");
  if (!reach.areas.empty()) finding.sentence += " around " + listed(reach.areas);
  finding.sentence += ".";
  if (asked)
    finding.sentence += " Does the rack stand there? Its file does not say where (stands_at).";
  finding.sentence += source_of(row);
  findings.push_back(std::move(finding));
}

void check_power(const std::vector<const BandRow*>& rows, const plan::Carrier& carrier,
                 const plan::NodeName& node, std::vector<Finding>& findings) {
  if (!carrier.erp) return;
  const BandRow* most = nullptr;
  for (const auto* row : rows) {
    const auto allowed = allowed_erp(*row);
    if (!allowed) return;  // a row without a figure may allow it
    if (most == nullptr || *allowed > *allowed_erp(*most)) most = row;
  }
  // 50 mW are 16.99 dBm: whoever writes 17 means the same.
  constexpr auto rounded_away = rf::Decibel::of(0.05);
  if (most == nullptr || *carrier.erp <= *allowed_erp(*most) + rounded_away) return;
  auto finding = about(carrier, node, Rule::legal_band, Severity::caution);
  finding.concerns.push_back(most->id);
  finding.numbers.push_back({"e.r.p.", carrier.erp->dbm(), "dBm"});
  finding.numbers.push_back({"e.r.p. allowed", allowed_erp(*most)->dbm(), "dBm"});
  const auto& power = *most->power;
  finding.sentence =
      carrier.name.text + " radiates " + in_words(*carrier.erp) + " e.r.p.; for " +
      in_words(most->band) + " " + in_words(*allowed_erp(*most)) + " e.r.p. (" +
      power_in_words(power) + ") is " +
      (was_read(power.basis) ? "published" : "what the table has, " + how_read(power.basis)) + "." +
      source_of(*most);
  findings.push_back(std::move(finding));
}

// What no row mentions, from below; rows stand in no order. What holds elsewhere says nothing here.
std::optional<rf::Band> unmentioned(const plan::RackPlan& plan, rf::Band band) {
  const auto says = [&](const BandRow& row) {
    return row.band.low <= band.low && band.low < row.band.high &&
           reach_of(row, band, plan.stands_at).holds != Reach::Holds::elsewhere;
  };
  const auto& rows = plan.bands.rows;
  for (auto row = std::ranges::find_if(rows, says); row != rows.end();
       row = std::ranges::find_if(rows, says)) {
    band.low = row->band.high;
    if (band.low >= band.high) return std::nullopt;
  }
  return band;
}

}  // namespace

std::vector<Finding> check_bands(const plan::RackPlan& plan,
                                 std::span<const plan::Carrier* const> carriers,
                                 const plan::NodeName& node) {
  const auto& bands = plan.bands;
  std::vector<Finding> findings;
  if (bands.rows.empty()) return findings;
  for (const auto* carrier : carriers) {
    std::vector<const BandRow*> open;
    for (const auto& row : bands.rows) {
      if (!row.band.overlaps(carrier->band())) continue;
      const auto reach = reach_of(row, carrier->band(), plan.stands_at);
      if (reach.holds == Reach::Holds::elsewhere) continue;
      check_closed(row, reach, *carrier, node, findings);
      // Who is protected in some areas allows nothing to others in them.
      const bool may_allow = row.areas.empty() || row.protects.empty();
      if (may_allow && row.status != BandStatus::closed && row.band.contains(carrier->band()))
        open.push_back(&row);
    }
    check_power(open, *carrier, node, findings);
    const auto stretch = unmentioned(plan, carrier->band());
    if (!stretch) continue;
    auto finding = about(*carrier, node, Rule::legal_band, Severity::caution);
    finding.sentence = "The table for " + (bands.title.empty() ? bands.region : bands.title) +
                       " has nothing about " + in_words(*stretch) + " (" + carrier->name.text +
                       "). Check with the regulator.";
    findings.push_back(std::move(finding));
  }
  return findings;
}

std::vector<Finding> band_conditions(const plan::RackPlan& plan,
                                     std::span<const plan::Carrier* const> carriers) {
  std::vector<Finding> notes;
  for (const auto& row : plan.bands.rows) {
    if (row.status == BandStatus::closed) continue;
    std::vector<std::string> names;
    for (const auto* carrier : carriers)
      if (row.band.overlaps(carrier->band()) &&
          reach_of(row, carrier->band(), plan.stands_at).holds != Reach::Holds::elsewhere)
        names.push_back(carrier->name.text);
    if (names.empty()) continue;
    Finding note{Rule::legal_band,
                 Severity::note,
                 {},
                 {row.id},
                 {megahertz("row low", row.band.low), megahertz("row high", row.band.high)},
                 in_words(row.band) + " (" + row.use +
                     "): " + (was_read(row.basis) ? "published as " : "given as ") +
                     std::string{name_of(row.status)} +
                     (row.licence.empty() ? "" : ", licence: " + row.licence) + "." +
                     source_of(row)};
    note.concerns.insert(note.concerns.end(), names.begin(), names.end());
    notes.push_back(std::move(note));
  }
  return notes;
}

}  // namespace catwalk::rack
