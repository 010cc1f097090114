// SPDX-License-Identifier: Apache-2.0
#pragma once
// A small rack for tests of the core: two antennas of one diversity receiver and a third on a line
// of its own, a segment with two microphones and an in-ear transmitter, and a second segment.

#include <memory>
#include <string>

#include "daemon/plan/rack_plan.hpp"
#include "daemon/rack/core/event.hpp"
#include "daemon/rack/values/wire.hpp"
#include "tests/support/sheets.hpp"

namespace catwalk::test {

inline plan::Datasheet slider() {
  auto sheet = amplifier_sheet("slider");
  sheet.title = "Sliding window";
  sheet.filters = {sliding_filter("slide", fine_tuning()), wide_filter()};
  return sheet;
}

inline plan::Carrier microphone(const std::string& name, double megahertz,
                                const std::string& receiver) {
  return {{name},
          plan::CarrierUse::receive,
          rf::Frequency::megahertz(megahertz),
          rf::Frequency::kilohertz(200),
          rf::PowerLevel::dbm(10),
          {{receiver}}};
}

inline plan::Carrier transmitter(const std::string& name, double megahertz) {
  return {{name},
          plan::CarrierUse::transmit,
          rf::Frequency::megahertz(megahertz),
          rf::Frequency::kilohertz(200),
          rf::PowerLevel::dbm(17),
          {}};
}

inline plan::Lane lane(const std::string& name, plan::LanePurpose purpose, double low, double high,
                       const std::string& why = "") {
  return {{name}, purpose, {rf::Frequency::megahertz(low), rf::Frequency::megahertz(high)}, why};
}

// Nodes left, right (receiver "vocals", line "bus") and spare (no receiver, line "net").
inline plan::RackPlan small_rack() {
  plan::RackPlan rack;
  rack.name = "small";
  rack.lines = {{"bus"}, {"net"}};
  const auto sheet = std::make_shared<const plan::Datasheet>(slider());
  const auto node = [&](const std::string& name, std::uint64_t uid, const std::string& line) {
    plan::Node one;
    one.name = {name};
    one.uid = NodeUid::from_bits(uid);
    one.line = {line};
    one.datasheet = sheet;
    one.hangs = "over the stage";
    return one;
  };
  rack.nodes = {node("left", 1, "bus"), node("right", 2, "bus"), node("spare", 3, "net")};
  rack.receivers = {{{"vocals"}, {{{{"left"}}}, {{{"right"}}}}}};
  rack.gain_limits = plan::GainLimits{rf::Gain::decibels(-12), rf::Gain::decibels(20)};

  plan::Segment speeches;
  speeches.name = {"speeches"};
  speeches.lanes = {lane("mics", plan::LanePurpose::receive, 500, 540),
                    lane("ears", plan::LanePurpose::transmit, 560, 580),
                    lane("tower", plan::LanePurpose::closed, 540, 548, "broadcast")};
  speeches.carriers = {microphone("voice-1", 510.0, "vocals"),
                       microphone("voice-2", 525.0, "vocals"), transmitter("ears-1", 570.0)};
  plan::Segment finale;
  finale.name = {"finale"};
  finale.carriers = {microphone("voice-3", 620.0, "vocals"), transmitter("ears-1", 570.0)};
  rack.segments = {speeches, finale};
  return rack;
}

// Settings that a segment has for a node: gain in dB, centre in MHz.
inline plan::SettingsPatch to(double gain, double centre) {
  return {.gain = rf::Gain::decibels(gain), .centre = rf::Frequency::megahertz(centre)};
}

// The small rack, planned to move all three nodes from 0 dB at 518 MHz to another gain at 618 MHz.
inline plan::RackPlan moving_rack(double gain_of_finale) {
  auto rack = small_rack();
  for (const auto* name : {"left", "right", "spare"}) {
    rack.segments[0].settings[{name}] = to(0, 518);
    rack.segments[1].settings[{name}] = to(gain_of_finale, 618);
  }
  return rack;
}

// The small rack, of nodes whose figures are known.
inline plan::RackPlan rack_with_figures(double output_ip3_dbm) {
  auto sheet = slider();
  set_figures(sheet, {.noise_figure_db = 3,
                      .output_p1db_dbm = 20,
                      .output_ip3_dbm = output_ip3_dbm,
                      .passive_loss_db = 1});
  const auto shared = std::make_shared<const plan::Datasheet>(std::move(sheet));
  auto rack = small_rack();
  for (auto& node : rack.nodes) node.datasheet = shared;
  return rack;
}

inline protocol::NodeUid uid(std::uint64_t bits) { return protocol::NodeUid::from_bits(bits); }

// Gain in dB, centre in MHz of filter "slide".
inline plan::Settings slide_at(double gain, double centre) {
  return {rf::Gain::decibels(gain), 0, rf::Frequency::megahertz(centre), true, ""};
}

inline protocol::Reading reading_of(const plan::Settings& settings) {
  protocol::Reading reading;
  reading.settings = rack::to_wire(settings);
  reading.telemetry.boots = 1;
  return reading;
}

}  // namespace catwalk::test
