// SPDX-License-Identifier: Apache-2.0
#pragma once
// A small rack for tests of the core: two antennas of one diversity receiver and a third on a line
// of its own, a segment with two microphones and an in-ear transmitter, and a second segment.

#include <memory>
#include <string>

#include "daemon/plan/rack_plan.hpp"
#include "daemon/rack/core/event.hpp"
#include "daemon/rack/values/wire.hpp"

namespace catwalk::test {

inline plan::Datasheet slider() {
  plan::Datasheet sheet;
  sheet.type = "slider";
  sheet.title = "Sliding window";
  sheet.gains.lowest = rf::Gain::decibels(-12);
  sheet.gains.highest = rf::Gain::decibels(27);
  sheet.gains.step = rf::Gain::decibels(1);
  plan::Filter slide;
  slide.name = "slide";
  slide.width = rf::Frequency::megahertz(40);
  slide.tuning = plan::Tuning{rf::Frequency::megahertz(430), rf::Frequency::megahertz(740),
                              rf::Frequency::kilohertz(25)};
  slide.skirt = rf::Frequency::kilohertz(500);
  plan::Filter wide;
  wide.name = "wide";
  wide.fixed = {rf::Frequency::megahertz(470), rf::Frequency::megahertz(600)};
  wide.width = wide.fixed.width();
  wide.skirt = rf::Frequency::megahertz(1);
  sheet.filters = {slide, wide};
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
  speeches.lanes = {{{"mics"},
                     plan::LanePurpose::receive,
                     {rf::Frequency::megahertz(500), rf::Frequency::megahertz(540)},
                     ""},
                    {{"ears"},
                     plan::LanePurpose::transmit,
                     {rf::Frequency::megahertz(560), rf::Frequency::megahertz(580)},
                     ""},
                    {{"tower"},
                     plan::LanePurpose::closed,
                     {rf::Frequency::megahertz(540), rf::Frequency::megahertz(548)},
                     "broadcast"}};
  speeches.carriers = {microphone("voice-1", 510.0, "vocals"),
                       microphone("voice-2", 525.0, "vocals"), transmitter("ears-1", 570.0)};
  plan::Segment finale;
  finale.name = {"finale"};
  finale.carriers = {microphone("voice-3", 620.0, "vocals"), transmitter("ears-1", 570.0)};
  rack.segments = {speeches, finale};
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
