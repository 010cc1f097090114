// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/rules/carrier_rules.hpp"

#include <algorithm>
#include <iterator>
#include <optional>

#include "daemon/rack/levels/carrier_levels.hpp"
#include "daemon/rack/rules/band_rules.hpp"
#include "daemon/rack/rules/isolation_rules.hpp"
#include "daemon/rack/values/numbers.hpp"
#include "daemon/rack/values/wording.hpp"
#include "daemon/rf/quantities.hpp"

namespace catwalk::rack {
namespace {

using plan::Carrier;
using plan::CarrierUse;
using plan::LanePurpose;
using rf::Band;
using rf::Decibel;
using rf::Frequency;

bool must_be_heard(const Carrier& carrier) {
  return carrier.use == CarrierUse::receive && !carrier.receivers.empty();
}

Frequency apart(const Carrier& a, const Carrier& b) {
  const auto by = a.frequency - b.frequency;
  return by < Frequency{} ? -by : by;
}

Band shared(const Band& a, const Band& b) {
  return {std::max(a.low, b.low), std::min(a.high, b.high)};
}

// By how much `wanted` is above `other` where that is least: over every antenna that hears it,
// wanted at its weakest, other at its strongest. Nothing: not known everywhere.
std::optional<Decibel> above(const plan::RackPlan& plan, const Carrier& wanted,
                             const Carrier& other) {
  plan::Segment both;
  both.carriers = {wanted, other};
  std::optional<Decibel> least;
  for (const auto& node : plan.nodes) {
    const auto at = carriers_at(plan, both, node);
    if (!at[0].served) continue;
    if (!at[0].weakest || !at[1].strongest) return std::nullopt;
    const auto here = *at[0].weakest - *at[1].strongest;
    least = least ? std::min(*least, here) : here;
  }
  return least;
}

// What its receivers need over an interferer; nothing where one of them does not say.
std::optional<Decibel> protection_of(const plan::RackPlan& plan, const Carrier& carrier) {
  std::optional<Decibel> most;
  for (const auto& name : carrier.receivers) {
    const auto* receiver = plan.find(name);
    if (receiver == nullptr || !receiver->input) return std::nullopt;
    most = std::max(most.value_or(receiver->input->protection_ratio),
                    receiver->input->protection_ratio);
  }
  return most;
}

// Whether `wanted` stands clear of `other` by level alone, on one channel; then by how much.
std::optional<Decibel> kept_apart_by(const plan::RackPlan& plan, const Carrier& wanted,
                                     const Carrier& other) {
  const auto protection = protection_of(plan, wanted);
  const auto level = above(plan, wanted, other);
  return protection && level && *level >= *protection ? level : std::nullopt;
}

class Pairs {
 public:
  Pairs(const plan::RackPlan& plan, std::vector<Finding>& findings)
      : plan_{plan}, findings_{findings} {}

  void check(const Carrier& a, const Carrier& b) const {
    if (a.band().overlaps(b.band()))
      co_channel(a, b);
    else if (!adjacent(a, b))
      adjacent(b, a);
  }

 private:
  void co_channel(const Carrier& a, const Carrier& b) const {
    const auto common = shared(a.band(), b.band());
    Finding finding{Rule::co_channel,
                    Severity::caution,
                    {},
                    {a.name.text, b.name.text},
                    {megahertz("first", a.frequency), megahertz("second", b.frequency),
                     megahertz("shared low", common.low), megahertz("shared high", common.high),
                     megahertz("shared", common.width())},
                    {}};
    const bool same = a.frequency == b.frequency;
    auto sentence = same ? a.name.text + " and " + b.name.text + " stand on one frequency, " +
                               in_words(a.frequency)
                         : a.name.text + " (" + in_words(a.frequency) + ") and " + b.name.text +
                               " (" + in_words(b.frequency) + ") share " + in_words(common);
    const auto suffers = sufferers(a, b);
    if (suffers.empty()) {
      finding.sentence = sentence + ": whoever listens to one hears the other.";
      findings_.push_back(std::move(finding));
      return;
    }
    std::vector<std::string> lost;
    std::optional<Decibel> least;
    for (const auto* wanted : suffers) {
      const auto& other = wanted == &a ? b : a;
      if (const auto level = kept_apart_by(plan_, *wanted, other))
        least = least ? std::min(*least, *level) : *level;
      else
        lost.push_back(wanted->name.text);
    }
    if (lost.empty()) {
      finding.severity = Severity::note;
      finding.numbers.push_back(decibels("kept apart by", *least));
      finding.sentence = sentence + "; wherever one has to be heard it is at least " +
                         in_words(*least) + " above the other.";
    } else {
      const auto& other = lost.front() == a.name.text ? b : a;
      finding.sentence = sentence + ": " + listed(lost) + " cannot be told from " +
                         (lost.size() > 1                     ? "each other"
                          : other.use == CarrierUse::transmit ? "our own transmitter"
                                                              : other.name.text) +
                         ".";
    }
    findings_.push_back(std::move(finding));
  }

  // True if it was said.
  bool adjacent(const Carrier& wanted, const Carrier& other) const {
    if (!must_be_heard(wanted)) return false;
    const auto spacing = apart(wanted, other);
    const plan::Receiver* strictest = nullptr;
    for (const auto& name : wanted.receivers) {
      const auto* receiver = plan_.find(name);
      if (receiver == nullptr || !receiver->input || receiver->input->blocking.empty()) continue;
      const auto first = receiver->input->blocking.front().offset;
      if (spacing < first &&
          (strictest == nullptr || strictest->input->blocking.front().offset < first))
        strictest = receiver;
    }
    if (strictest == nullptr || kept_apart_by(plan_, wanted, other)) return false;
    const auto first = strictest->input->blocking.front().offset;
    findings_.push_back(
        {Rule::adjacent_carrier,
         Severity::caution,
         {},
         {wanted.name.text, other.name.text, strictest->name.text},
         {megahertz("carrier", wanted.frequency), megahertz("neighbour", other.frequency),
          megahertz("spacing", spacing), megahertz("spacing wanted", first)},
         wanted.name.text + " (" + in_words(wanted.frequency) + ") stands " + in_words(spacing) +
             " from " + other.name.text + " (" + in_words(other.frequency) + "); receiver " +
             strictest->name.text + " is said to keep carriers apart from " + in_words(first) +
             " on."});
    return true;
  }

  static std::vector<const Carrier*> sufferers(const Carrier& a, const Carrier& b) {
    std::vector<const Carrier*> all;
    for (const auto* carrier : {&a, &b})
      if (must_be_heard(*carrier)) all.push_back(carrier);
    return all;
  }

  const plan::RackPlan& plan_;
  std::vector<Finding>& findings_;
};

LanePurpose purpose_of(const Carrier& carrier) {
  return carrier.use == CarrierUse::receive ? LanePurpose::receive : LanePurpose::transmit;
}

// What of the band lies in no lane of this purpose, from below: the first stretch.
std::optional<Band> outside(const std::vector<plan::Lane>& lanes, LanePurpose purpose, Band band) {
  for (bool shorter = true; shorter && band.low < band.high;) {
    shorter = false;
    for (const auto& lane : lanes)
      if (lane.purpose == purpose && lane.band.low <= band.low && band.low < lane.band.high) {
        band.low = lane.band.high;
        shorter = true;
      }
  }
  if (band.low >= band.high) return std::nullopt;
  for (const auto& lane : lanes)
    if (lane.purpose == purpose && band.low < lane.band.low)
      band.high = std::min(band.high, lane.band.low);
  return band;
}

void check_lanes(const plan::Segment& segment, const Carrier& carrier,
                 std::vector<Finding>& findings) {
  if (segment.lanes.empty()) return;
  const auto purpose = purpose_of(carrier);
  const auto stretch = outside(segment.lanes, purpose, carrier.band());
  if (!stretch) return;
  const auto whose = std::ranges::find_if(segment.lanes, [&](const plan::Lane& lane) {
    return lane.purpose != purpose && lane.band.overlaps(carrier.band());
  });
  const bool none = whose == segment.lanes.end();
  const auto where = none ? *stretch : shared(whose->band, carrier.band());
  Finding finding{
      Rule::carrier_outside_lane,
      Severity::caution,
      {},
      {carrier.name.text},
      {megahertz("carrier", carrier.frequency), megahertz("carrier low", carrier.band().low),
       megahertz("carrier high", carrier.band().high), megahertz("low", where.low),
       megahertz("high", where.high)},
      {}};
  finding.sentence = carrier.name.text + " at " + in_words(carrier.frequency);
  if (none) {
    finding.sentence += " stands in no " + std::string{name_of(purpose)} +
                        " lane: " + in_words(where) + " belongs to none.";
  } else {
    finding.concerns.push_back(whose->name.text);
    finding.sentence += " stands in the " + std::string{name_of(whose->purpose)} + " lane " +
                        whose->name.text + (whose->why.empty() ? "" : " (" + whose->why + ")") +
                        ", " + in_words(where) + ".";
  }
  findings.push_back(std::move(finding));
}

}  // namespace

std::vector<Finding> check_carriers(const plan::RackPlan& plan, const plan::Segment& segment) {
  std::vector<Finding> findings;
  const Pairs pairs{plan, findings};
  const auto& carriers = segment.carriers;
  for (std::size_t i = 0; i < carriers.size(); ++i)
    for (std::size_t j = i + 1; j < carriers.size(); ++j) pairs.check(carriers[i], carriers[j]);
  for (const auto& carrier : carriers) check_lanes(segment, carrier, findings);
  return findings;
}

std::vector<Finding> check_carrier(const plan::RackPlan& plan, const plan::Segment& segment,
                                   const Carrier& carrier) {
  std::vector<Finding> findings;
  const Pairs pairs{plan, findings};
  for (const auto& other : segment.carriers)
    if (other.name != carrier.name) pairs.check(carrier, other);
  check_lanes(segment, carrier, findings);
  return findings;
}

std::vector<Finding> check_meeting(const plan::RackPlan& plan, const plan::Segment& left,
                                   const plan::Segment& entered) {
  std::vector<Finding> findings;
  const Pairs pairs{plan, findings};
  const auto goes_on = [](const plan::Segment& segment, const Carrier& carrier) {
    return std::ranges::any_of(segment.carriers, [&](const Carrier& other) {
      return plan::is_same_signal(other, carrier);
    });
  };
  for (const auto& late : left.carriers) {
    if (!late.late || goes_on(entered, late)) continue;
    for (const auto& early : entered.carriers)
      if (early.early && early.name != late.name && !goes_on(left, early)) pairs.check(late, early);
  }
  return findings;
}

Verdict check_segment(const plan::RackPlan& plan, const plan::Segment& segment) {
  Verdict verdict{check_carriers(plan, segment)};
  std::ranges::move(losses_left_out(segment), std::back_inserter(verdict.findings));
  if (plan.bands.rows.empty()) {
    verdict.findings.push_back({Rule::legal_band,
                                Severity::note,
                                {},
                                {},
                                {},
                                "The rack file names no region, so nothing is known of its bands. "
                                "Check with the regulator."});
    return verdict;
  }
  std::vector<const Carrier*> carriers;
  for (const auto& carrier : segment.carriers) carriers.push_back(&carrier);
  std::ranges::move(check_bands(plan, carriers, {}), std::back_inserter(verdict.findings));
  std::ranges::move(band_conditions(plan, carriers), std::back_inserter(verdict.findings));
  return verdict;
}

}  // namespace catwalk::rack
