// SPDX-License-Identifier: Apache-2.0
#pragma once
// The small rack behind a matrix of four inputs on three outputs that sums two, feeds its inputs
// and stands on the line "bus": left ends at input 1, right at 2, spare at 3; the receiver's two
// branches begin at outputs 1 and 2.

#include "tests/support/rack_fixture.hpp"

namespace catwalk::test {

inline plan::MatrixSheet shore_sheet() {
  plan::MatrixSheet sheet;
  sheet.type = "summer";
  sheet.title = "Summing matrix";
  sheet.inputs = 4;
  sheet.outputs = 3;
  sheet.combining_losses = {rf::Decibel{}, rf::Decibel::of(3.5)};
  sheet.gain = rf::Decibel::of(1);
  sheet.noise_figure = rf::Decibel::of(6);
  sheet.output_p1db = rf::PowerLevel::dbm(16);
  sheet.output_ip3 = rf::PowerLevel::dbm(30);
  sheet.trims = plan::Steps<rf::Gain>{rf::Gain::decibels(-10), {}, rf::Gain::centidecibels(50)};
  sheet.supply = plan::InputSupply{{9'000, 12'000}, 300, 600};
  sheet.measures_current = sheet.measures_level = true;
  return sheet;
}

inline constexpr std::uint64_t shore_uid = 9;

inline plan::RackPlan matrix_rack(const plan::MatrixSheet& sheet = shore_sheet()) {
  auto rack = small_rack();
  plan::Matrix shore;
  shore.name = {"shore"};
  shore.sheet = std::make_shared<const plan::MatrixSheet>(sheet);
  shore.stands = "rack 1";
  shore.settings = sheet.nothing_set();
  shore.on_line = plan::OnLine{NodeUid::from_bits(shore_uid), {"bus"}};
  rack.matrices = {shore};
  for (std::size_t i = 0; i < rack.nodes.size(); ++i)
    rack.nodes[i].ends_at = plan::InputOf{{"shore"}, i + 1};
  for (std::size_t i = 0; i < 2; ++i) {
    auto& branch = rack.receivers[0].branches[i];
    branch.nodes.clear();
    branch.from = plan::OutputOf{{"shore"}, i + 1};
  }
  return rack;
}

// Each input feeds 12 V; the outputs take these.
inline plan::MatrixSettings shore_set(std::vector<plan::Inputs> outputs) {
  auto settings = shore_sheet().nothing_set();
  settings.outputs = std::move(outputs);
  for (auto& input : settings.inputs) input.supply_mv = 12'000;
  return settings;
}

inline protocol::MatrixState state_of(const plan::MatrixSettings& settings) {
  protocol::MatrixState state;
  state.settings = rack::to_wire(settings);
  state.reading.telemetry.boots = 1;
  state.inputs.assign(settings.inputs.size(),
                      {.measures_current = true, .measures_level = true, .supply_ma = 80});
  return state;
}

}  // namespace catwalk::test
