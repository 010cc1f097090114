// SPDX-License-Identifier: Apache-2.0
#include "config/chain_section.hpp"

#include <algorithm>

#include "config/amplifier_figures.hpp"
#include "config/rf_values.hpp"

namespace catwalk::config {
namespace {

// The member by which a part is told from the others.
constexpr std::array<const char*, 4> part_kinds{"cable", "loss_db", "splitter", "amplifier"};
constexpr std::size_t longest_part_name = 80;

std::shared_ptr<const rf::CableType> read_type(const Cursor& at, const Cables& cables) {
  const auto type = at.text(1, longest_cable_type);
  if (!type) return nullptr;
  const auto found = cables.by_type.find(*type);
  if (found != cables.by_type.end()) return found->second;
  if (cables.by_type.empty() && !cables.incomplete)
    at.report("is a cable type, but this rack names no table of them",
              "the member \"cables\" of the rack, or a part with \"loss_db\"");
  else
    known_or_reported(at, *type, "a cable type", keys_of(cables.by_type), cables.incomplete);
  return nullptr;
}

std::optional<plan::ChainPart> read_cable(const Cursor& at, const Cables& cables,
                                          std::vector<CableUse>& uses) {
  const Object object{at, {"cable", "length_m"}, {"connectors", "connector_loss_db"}};
  const auto type = read_type(object["cable"], cables);
  const auto length = object["length_m"].real(0, rf::longest_cable_metres, "m");
  const auto connectors = object["connectors"].integer(0, 1'000);
  const auto connector_loss = read_ratio(object["connector_loss_db"], 0, 10);
  if (!type || !length) return std::nullopt;
  uses.push_back({object["cable"], type, {}});
  plan::CablePiece piece{.type = type, .length = rf::Metres::of(*length)};
  if (connectors) piece.connectors = static_cast<int>(*connectors);
  piece.connector_loss = connector_loss.value_or(piece.connector_loss);
  return piece;
}

std::optional<plan::ChainPart> read_fixed_loss(const Cursor& at) {
  const Object object{at, {"loss_db", "name"}, {}};
  const auto loss = read_ratio(object["loss_db"], 0, 100);
  const auto name = object["name"].text(1, longest_part_name);
  if (!loss || !name) return std::nullopt;
  return plan::FixedLoss{*name, *loss};
}

std::optional<plan::ChainPart> read_splitter(const Cursor& at) {
  const Object object{at, {"splitter"}, {"excess_loss_db", "name"}};
  const auto ways = object["splitter"].integer(1, 64, "ways");
  const auto excess_loss = read_ratio(object["excess_loss_db"], 0, 30);
  const auto name = object["name"].text(1, longest_part_name);
  if (!ways) return std::nullopt;
  return plan::Splitter{.name = name.value_or(std::to_string(*ways) + "-way splitter"),
                        .ways = static_cast<int>(*ways),
                        .excess_loss = excess_loss.value_or(rf::Decibel{})};
}

std::optional<plan::ChainPart> read_amplifier(const Cursor& at) {
  const Object object{
      at,
      {"amplifier", "gain_db", "noise_figure_db", "output_p1db_dbm", "output_ip3_dbm"},
      {"output_ip5_dbm"}};
  const auto name = object["amplifier"].text(1, longest_part_name);
  const auto figures = read_amplifier_figures(object);
  const Cursor at_ip5 = object["output_ip5_dbm"];
  const auto ip5 = read_level(at_ip5, -30, 80);
  if (!name || !figures || (at_ip5.present() && !ip5)) return std::nullopt;
  return plan::RackAmplifier{
      *name, figures->gain, figures->noise_figure, *figures->output_p1db, *figures->output_ip3,
      ip5};
}

std::optional<plan::ChainPart> read_part(const Cursor& at, const Cables& cables,
                                         std::vector<CableUse>& uses) {
  const std::string rule =
      "exactly one of the members " + listed({part_kinds.begin(), part_kinds.end()}, "and");
  if (!at.is_object()) {
    at.report("is not a part of a chain", "an object with " + rule);
    return std::nullopt;
  }
  const auto has = [&at](const char* kind) { return at.member_if_any(kind).present(); };
  const auto count = std::ranges::count_if(part_kinds, has);
  if (count != 1) {
    at.report_about(count == 0 ? "this part of a chain is nothing that is known"
                               : "a part of a chain cannot be several things",
                    rule);
    return std::nullopt;
  }
  if (has("cable")) return read_cable(at, cables, uses);
  if (has("loss_db")) return read_fixed_loss(at);
  if (has("splitter")) return read_splitter(at);
  return read_amplifier(at);
}

// The lowest and the highest microphone that somebody must hear, over all segments.
struct Span {
  const plan::Carrier* lowest = nullptr;
  const plan::Carrier* highest = nullptr;

  void add(const plan::Carrier& carrier) {
    if (lowest == nullptr || carrier.frequency < lowest->frequency) lowest = &carrier;
    if (highest == nullptr || highest->frequency < carrier.frequency) highest = &carrier;
  }
};

using Spans = std::map<std::variant<plan::NodeName, plan::ReceiverName>, Span>;

Spans spans_of(const plan::RackPlan& plan) {
  Spans spans;
  for (const plan::Segment& segment : plan.segments)
    for (const plan::Carrier& carrier : segment.carriers)
      for (const plan::ReceiverName& name : carrier.receivers) spans[name].add(carrier);
  for (const plan::Receiver& receiver : plan.receivers) {
    const auto heard = spans.find(receiver.name);
    if (heard == spans.end()) continue;
    const Span span = heard->second;
    for (const plan::Branch& branch : receiver.branches) {
      for (const plan::NodeName& node : branch.nodes) {
        spans[node].add(*span.lowest);
        spans[node].add(*span.highest);
      }
    }
  }
  return spans;
}

}  // namespace

plan::Chain read_chain(const Cursor& at, const Cables& cables, std::vector<CableUse>& uses) {
  return at.elements(0, most_chain_parts,
                     [&](const Cursor& element) { return read_part(element, cables, uses); });
}

void check_cable_ranges(const std::vector<CableUse>& uses, const plan::RackPlan& plan) {
  const Spans spans = spans_of(plan);
  for (const CableUse& use : uses) {
    const auto heard = spans.find(use.on);
    if (heard == spans.end()) continue;
    const rf::Band& valid = use.type->valid;
    const bool below = heard->second.lowest->frequency < valid.low;
    if (!below && heard->second.highest->frequency <= valid.high) continue;
    const plan::Carrier& carrier = below ? *heard->second.lowest : *heard->second.highest;
    use.at.report(
        "is not described at " + megahertz_text(carrier.frequency) + " MHz, where the carrier " +
            in_quotes(carrier.name.text) + " is heard through it",
        "carriers from " + megahertz_text(valid.low) + " to " + megahertz_text(valid.high) +
            " MHz, or a part with the loss that was measured, \"loss_db\"");
  }
}

}  // namespace catwalk::config
