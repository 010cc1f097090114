// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/rules/band_rules.hpp"

#include <algorithm>
#include <optional>

#include "daemon/rack/values/numbers.hpp"
#include "daemon/rack/values/wording.hpp"
#include "daemon/rf/quantities.hpp"

namespace catwalk::rack {
namespace {

using plan::BandRow;
using plan::BandStatus;

std::string source_of(const BandRow& row) {
  return " Source: " + row.source + " (" + row.as_of + "). Check with the regulator.";
}

// The e.r.p. that a row allows; nothing where none is published as a radiated power.
std::optional<rf::PowerLevel> allowed_erp(const BandRow& row) {
  if (!row.power) return std::nullopt;
  const auto level = rf::from_milliwatts(row.power->milliwatts);
  if (row.power->kind == plan::PowerKind::erp) return level;
  if (row.power->kind == plan::PowerKind::eirp) return rf::Eirp::of(level).as_erp().level();
  return std::nullopt;
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

void check_closed(const BandRow& row, const plan::Carrier& carrier, const plan::NodeName& node,
                  std::vector<Finding>& findings) {
  const bool is_protected = !row.protects.empty();
  if (!is_protected && row.status != BandStatus::closed) return;
  auto finding = about(carrier, node, is_protected ? Rule::protected_band : Rule::legal_band,
                       is_protected ? Severity::refuse : Severity::caution);
  finding.concerns.push_back(row.id);
  finding.numbers.push_back(megahertz("row low", row.band.low));
  finding.numbers.push_back(megahertz("row high", row.band.high));
  finding.sentence = carrier.name.text + " at " + in_words(carrier.frequency) + " lies in " +
                     in_words(row.band) + ", " +
                     (is_protected ? "where " + row.protects + " is protected"
                                   : "which is published as closed (" + row.use + ")") +
                     "." + source_of(row);
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
  finding.numbers.push_back({"e.r.p. published", allowed_erp(*most)->dbm(), "dBm"});
  finding.sentence = carrier.name.text + " radiates " + in_words(*carrier.erp) + " e.r.p.; for " +
                     in_words(most->band) + " " + in_words(*allowed_erp(*most)) + " is published." +
                     source_of(*most);
  findings.push_back(std::move(finding));
}

}  // namespace

std::vector<Finding> check_bands(const plan::BandTable& bands,
                                 std::span<const plan::Carrier* const> carriers,
                                 const plan::NodeName& node) {
  std::vector<Finding> findings;
  if (bands.rows.empty()) return findings;
  for (const auto* carrier : carriers) {
    std::vector<const BandRow*> open;
    // What no row mentions, from below; rows stand in no order.
    auto unmentioned = carrier->band();
    for (bool shorter = true; shorter;) {
      shorter = false;
      for (const auto& row : bands.rows)
        if (row.band.low <= unmentioned.low && unmentioned.low < row.band.high) {
          unmentioned.low = row.band.high;
          shorter = true;
        }
    }
    const bool mentioned = unmentioned.low >= unmentioned.high;
    for (const auto& row : bands.rows) {
      if (!row.band.overlaps(carrier->band())) continue;
      check_closed(row, *carrier, node, findings);
      if (row.status != BandStatus::closed && row.band.contains(carrier->band()))
        open.push_back(&row);
    }
    check_power(open, *carrier, node, findings);
    if (mentioned) continue;
    auto finding = about(*carrier, node, Rule::legal_band, Severity::caution);
    finding.sentence = "The table for " + (bands.title.empty() ? bands.region : bands.title) +
                       " has nothing about " + in_words(unmentioned) + " (" + carrier->name.text +
                       "). Check with the regulator.";
    findings.push_back(std::move(finding));
  }
  return findings;
}

std::vector<Finding> band_conditions(const plan::BandTable& bands,
                                     std::span<const plan::Carrier* const> carriers) {
  std::vector<Finding> notes;
  for (const auto& row : bands.rows) {
    if (row.status == BandStatus::closed) continue;
    std::vector<std::string> names;
    for (const auto* carrier : carriers)
      if (row.band.overlaps(carrier->band())) names.push_back(carrier->name.text);
    if (names.empty()) continue;
    Finding note{Rule::legal_band,
                 Severity::note,
                 {},
                 {row.id},
                 {megahertz("row low", row.band.low), megahertz("row high", row.band.high)},
                 in_words(row.band) + " (" + row.use + "): published as " +
                     std::string{name_of(row.status)} +
                     (row.licence.empty() ? "" : ", licence: " + row.licence) + "." +
                     source_of(row)};
    note.concerns.insert(note.concerns.end(), names.begin(), names.end());
    notes.push_back(std::move(note));
  }
  return notes;
}

}  // namespace catwalk::rack
