// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/rules/band_rules.hpp"

#include "daemon/rack/rules/carrier_rules.hpp"

#include <doctest/doctest.h>

using namespace catwalk;
using namespace catwalk::rack;

namespace {

plan::BandRow row(const std::string& id, double low, double high, plan::BandStatus status) {
  return {id,          {rf::Frequency::megahertz(low), rf::Frequency::megahertz(high)},
          status,      "audio",
          "national",  "a table",
          "2026-11-25"};
}

// 470 to 600 MHz with 50 mW e.r.p., a closed row above it, and a service that is protected.
plan::BandTable table() {
  auto open = row("low", 470, 600, plan::BandStatus::check_with_regulator);
  open.power = plan::BandPower{50.0, plan::PowerKind::erp};
  auto observatory = row("sky", 608, 614, plan::BandStatus::closed);
  observatory.protects = "radio astronomy";
  return {
      "x", {open, row("mobile", 600, 608, plan::BandStatus::closed), observatory}, "Harbourland"};
}

plan::Carrier carrier(double megahertz, double erp = 10) {
  plan::Carrier one;
  one.name = {"voice"};
  one.frequency = rf::Frequency::megahertz(megahertz);
  one.bandwidth = rf::Frequency::kilohertz(200);
  one.erp = rf::PowerLevel::dbm(erp);
  return one;
}

std::vector<Finding> found(const plan::BandTable& bands, const plan::Carrier& one) {
  const std::vector carriers{&one};
  return check_bands(bands, carriers, {});
}

}  // namespace

TEST_CASE("a carrier within an open row and its power raises nothing") {
  CHECK(found(table(), carrier(520)).empty());
  // 50 mW are 16.99 dBm.
  CHECK(found(table(), carrier(520, 17)).empty());
}

TEST_CASE("more power than is published is a caution with both figures and the source") {
  const auto findings = found(table(), carrier(520, 20));
  REQUIRE(findings.size() == 1);
  CHECK(findings[0].rule == Rule::legal_band);
  CHECK(findings[0].severity == Severity::caution);
  CHECK(findings[0].sentence ==
        "voice radiates 20.0 dBm e.r.p.; for 470.000 to 600.000 MHz 17.0 dBm is published. "
        "Source: a table (2026-11-25). Check with the regulator.");
}

TEST_CASE("closed rows are cautions, protected services are refused, an edge is enough") {
  REQUIRE(found(table(), carrier(604)).size() == 1);
  CHECK(found(table(), carrier(604))[0].severity == Severity::caution);
  REQUIRE(found(table(), carrier(610)).size() == 1);
  CHECK(found(table(), carrier(610))[0].rule == Rule::protected_band);
  CHECK(found(table(), carrier(610))[0].severity == Severity::refuse);
  CHECK(found(table(), carrier(607.95)).size() == 2);
}

TEST_CASE("what the table does not have is said to be not there; of an unknown region nothing is") {
  const auto findings = found(table(), carrier(700));
  REQUIRE(findings.size() == 1);
  CHECK(findings[0].sentence ==
        "The table for Harbourland has nothing about 699.900 to 700.100 MHz (voice). Check with "
        "the regulator.");
  CHECK(found({}, carrier(700)).empty());
  // Nor about the part of a carrier that reaches out of the last row.
  const auto partly = found(table(), carrier(470));
  REQUIRE(partly.size() == 1);
  CHECK(partly[0].sentence.find("469.900 to 470.100 MHz") != std::string::npos);
}

TEST_CASE("of an unknown region a segment's check says that nothing is known") {
  plan::RackPlan plan;
  const auto verdict = check_segment(plan, {});
  REQUIRE(verdict.findings.size() == 1);
  CHECK(
      verdict.findings[0].sentence ==
      "The rack file names no region, so nothing is known of its bands. Check with the regulator.");
}

TEST_CASE("a segment's check tells the conditions of each row its carriers lie in") {
  plan::RackPlan plan;
  plan.bands = table();
  plan::Segment segment;
  segment.carriers = {carrier(520)};
  const auto verdict = check_segment(plan, segment);
  REQUIRE(verdict.findings.size() == 1);
  CHECK(verdict.findings[0].severity == Severity::note);
  CHECK(verdict.findings[0].sentence.find("check with the regulator") != std::string::npos);
}
