// SPDX-License-Identifier: Apache-2.0
#pragma once
// A rack to work out by hand: one antenna on a mast, 10 dB of cable, one receiver, and carriers.

#include <memory>
#include <string>

#include "tests/support/sheets.hpp"

namespace catwalk::test {

// Received from 10 to 50 m away, 10 dBm e.r.p., 200 kHz wide.
inline plan::Carrier guest(const std::string& name, double megahertz) {
  plan::Carrier carrier;
  carrier.name = {name};
  carrier.frequency = rf::Frequency::megahertz(megahertz);
  carrier.bandwidth = rf::Frequency::kilohertz(200);
  carrier.erp = rf::PowerLevel::dbm(10);
  carrier.nearest = rf::Metres::of(10);
  carrier.farthest = rf::Metres::of(50);
  carrier.receivers = {{"talk"}};
  return carrier;
}

// Without power a node is a plain loss, the same at all frequencies: 1 dB here.
inline plan::Settings unpowered() { return {{}, 0, rf::Frequency::megahertz(510), false, ""}; }

// "mast" of 0 dBi, 5 dB of noise figure; "talk" needs 18 dB over noise; "guest-1" at 600 MHz.
inline plan::RackPlan air_rack() {
  auto sheet = amplifier_sheet("mast-amp");
  set_figures(sheet, {.noise_figure_db = 5.0,
                      .output_p1db_dbm = 20,
                      .output_ip3_dbm = 40,
                      .passive_loss_db = 1.0});
  sheet.filters = {sliding_filter("slide-40", fine_tuning())};
  plan::RackPlan plan;
  plan.lines = {{"bus"}};
  plan::Node node;
  node.name = {"mast"};
  node.uid = NodeUid::from_bits(1);
  node.line = {"bus"};
  node.datasheet = std::make_shared<const plan::Datasheet>(std::move(sheet));
  node.feed = plan::Chain{plan::FixedLoss{"cable", rf::Decibel::of(10)}};
  plan.nodes = {node};
  plan::Receiver receiver;
  receiver.name = {"talk"};
  receiver.branches = {{{node.name}}};
  receiver.input =
      plan::ReceiverInput{rf::Decibel::of(8), rf::PowerLevel::dbm(-95), rf::PowerLevel::dbm(-15),
                          rf::PowerLevel::dbm(50), rf::Decibel::of(12)};
  plan.receivers = {receiver};
  plan::Segment segment;
  segment.name = {"races"};
  segment.carriers = {guest("guest-1", 600)};
  plan.segments = {segment};
  return plan;
}

}  // namespace catwalk::test
