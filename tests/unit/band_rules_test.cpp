// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/rules/band_rules.hpp"

#include "daemon/rack/rules/carrier_rules.hpp"

#include <doctest/doctest.h>

using namespace catwalk;
using namespace catwalk::rack;

namespace {

plan::BandRow row(const std::string& id, double low, double high, plan::BandStatus status) {
  return {id,
          {rf::Frequency::megahertz(low), rf::Frequency::megahertz(high)},
          status,
          "audio",
          "national",
          "a table",
          "2026-11-25",
          {},
          {},
          {},
          plan::BandBasis::read};
}

// 470 to 600 MHz with 50 mW e.r.p., a closed row above it, and a service that is protected. All of
// it read in the text named.
plan::BandTable table() {
  auto open = row("low", 470, 600, plan::BandStatus::check_with_regulator);
  open.power = plan::BandPower{50.0, plan::PowerKind::erp, plan::BandBasis::read};
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

std::vector<Finding> found(const plan::BandTable& bands, const plan::Carrier& one,
                           const std::optional<plan::Position>& stands_at = {}) {
  plan::RackPlan plan;
  plan.bands = bands;
  plan.stands_at = stands_at;
  const std::vector carriers{&one};
  return check_bands(plan, carriers, {});
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
        "voice radiates 20.0 dBm e.r.p.; for 470.000 to 600.000 MHz 17.0 dBm e.r.p. (50 mW e.r.p.) "
        "is published. Source: a table (2026-11-25). Check with the regulator.");
}

TEST_CASE("what is from memory is not called published, and a power says how it is measured") {
  auto bands = table();
  auto& row = bands.rows[0];
  row.basis = plan::BandBasis::read_in_part;
  // e.i.r.p. is 2.15 dB more than e.r.p. (ITU Radio Regulations 1.161, 1.162, from memory).
  row.power = plan::BandPower{50.0, plan::PowerKind::eirp, plan::BandBasis::memory};
  auto findings = found(bands, carrier(520, 20));
  REQUIRE(findings.size() == 1);
  CHECK(findings[0].sentence ==
        "voice radiates 20.0 dBm e.r.p.; for 470.000 to 600.000 MHz 14.8 dBm e.r.p. (50 mW "
        "e.i.r.p.) is what the table has, from memory. Source, read in part: a table "
        "(2026-11-25). Check with the regulator.");
  // A table of one's own that does not say.
  row.basis = row.power->basis = std::nullopt;
  findings = found(bands, carrier(520, 20));
  CHECK(findings[0].sentence.find("published") == std::string::npos);
  auto& closed = bands.rows[1];
  CHECK(found(bands, carrier(604))[0].sentence.find("is published as closed") != std::string::npos);
  closed.basis = plan::BandBasis::memory;
  CHECK(found(bands, carrier(604))[0].sentence ==
        "voice at 604.000 MHz lies in 600.000 to 608.000 MHz, which is given as closed (audio). "
        "Source, from memory: a table (2026-11-25). Check with the regulator.");
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

// ---- rows that hold in some areas --------------------------------------------------------------

namespace {

// One degree of a meridian is 111.195 km on a sphere of the mean radius, so that the harbour is
// 55.6 km north of the town, and the fort 222.4 km.
const plan::Position town{50.0, 10.0};
const plan::Position harbour{50.5, 10.0};
const plan::Position fort{52.0, 10.0};

plan::BandTable land_mobile() {
  auto bands = table();
  auto mobile = row("mobile-radio", 470, 500, plan::BandStatus::restricted);
  mobile.protects = "land mobile";
  mobile.areas = {
      {"the town", town, 80.0, {{rf::Frequency::megahertz(470), rf::Frequency::megahertz(476)}}},
      {"the castle", {40.0, 10.0}, 80.0, {}}};
  bands.rows.push_back(mobile);
  return bands;
}

}  // namespace

TEST_CASE("distances are those of great circles") {
  // A quarter of a meridian of the mean sphere, 6371.0088 km · π/2.
  CHECK(plan::kilometres_between({0, 0}, {90, 0}) == doctest::Approx(10'007.557).epsilon(1e-6));
  CHECK(plan::kilometres_between({0, 179.5}, {0, -179.5}) ==
        doctest::Approx(111.195).epsilon(1e-5));
  CHECK(plan::kilometres_between(town, harbour) == doctest::Approx(55.6).epsilon(0.001));
  CHECK(plan::kilometres_between(town, town) == 0.0);
}

TEST_CASE("a row of an area refuses who stands in it, on its channels, and nobody else") {
  const auto there = found(land_mobile(), carrier(472), harbour);
  REQUIRE(there.size() == 1);
  CHECK(there[0].rule == Rule::protected_band);
  CHECK(there[0].severity == Severity::refuse);
  CHECK(there[0].sentence ==
        "voice at 472.000 MHz lies in 470.000 to 476.000 MHz, where land mobile is protected "
        "around the town (56 km from here). Source: a table (2026-11-25). Check with the "
        "regulator.");
  CHECK(found(land_mobile(), carrier(480), harbour).empty());
  CHECK(found(land_mobile(), carrier(472), fort).empty());
  // An edge is enough, and all of the row holds where an area names no channels.
  CHECK(found(land_mobile(), carrier(476.05), harbour).size() == 1);
  CHECK(found(land_mobile(), carrier(490), plan::Position{40.1, 10.0}).size() == 1);
}

TEST_CASE("who does not say where the rack stands is asked, not refused") {
  const auto findings = found(land_mobile(), carrier(472));
  REQUIRE(findings.size() == 1);
  CHECK(findings[0].severity == Severity::caution);
  CHECK(findings[0].sentence ==
        "voice at 472.000 MHz lies in 470.000 to 476.000 MHz, where land mobile is protected "
        "around the town and the castle. Does the rack stand there? Its file does not say where "
        "(stands_at). Source: a table (2026-11-25). Check with the regulator.");
  CHECK(found(land_mobile(), carrier(520)).empty());
}

TEST_CASE("a row that holds elsewhere neither mentions a band here nor has conditions") {
  plan::RackPlan plan;
  plan.bands = land_mobile();
  plan.bands.rows.erase(plan.bands.rows.begin());  // nothing else about 470 to 600 MHz
  plan.stands_at = fort;
  plan::Segment segment;
  segment.carriers = {carrier(472)};
  auto verdict = check_segment(plan, segment);
  REQUIRE(verdict.findings.size() == 1);
  CHECK(verdict.findings[0].sentence.find("has nothing about 471.900") != std::string::npos);
  plan.stands_at = harbour;
  verdict = check_segment(plan, segment);
  CHECK(verdict.findings.size() == 2);  // refused, and the row's conditions
}
