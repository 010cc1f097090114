// SPDX-License-Identifier: Apache-2.0
#include "daemon/rf/cascade.hpp"

#include <cmath>
#include <utility>

namespace catwalk::rf {

Stage passive_stage(std::string name, Decibel loss, Kelvin physical) {
  return {std::move(name), -loss, passive_noise_figure(loss, physical)};
}

Intercepts in_cascade(const Intercepts& a, const Intercepts& b) {
  const auto inverse = [](PowerLevel intercept) { return 1.0 / milliwatts(intercept); };
  return {from_milliwatts(1.0 / (inverse(a.third) + inverse(b.third))),
          from_milliwatts(1.0 / std::hypot(inverse(a.fifth), inverse(b.fifth)))};
}

std::optional<OutOfRange> check(const Stage& stage) {
  auto fault = check_range("gain", stage.gain.value(), -150.0, 100.0, "dB");
  if (!fault) fault = check_range("noise_figure", stage.noise_figure.value(), 0.0, 150.0, "dB");
  if (!fault && stage.output_ip3) {
    fault = check_range("output_ip3", stage.output_ip3->dbm(), -150.0, 150.0, "dBm");
  }
  if (!fault && stage.output_p1db) {
    fault = check_range("output_p1db", stage.output_p1db->dbm(), -150.0, 150.0, "dBm");
  }
  if (!fault && stage.output_ip5) {
    fault = check_range("output_ip5", stage.output_ip5->dbm(), -150.0, 150.0, "dBm");
  }
  if (fault) fault->field = stage.name + "." + fault->field;
  return fault;
}

std::vector<Cascade> running_cascade(std::span<const Stage> stages) {
  std::vector<Cascade> after;
  after.reserve(stages.size());
  double gain = 1.0;  // of the stages before
  double noise_factor = 1.0;
  double inverse_ip3 = 0.0;  // 1/mW, both
  double inverse_p1db = 0.0;
  double inverse_ip5_squared = 0.0;  // 1/mW²
  Decibel total;
  for (const auto& stage : stages) {
    noise_factor += (stage.noise_figure.ratio() - 1.0) / gain;
    inverse_ip3 += gain / milliwatts(stage.input_ip3());
    inverse_p1db += gain / milliwatts(stage.input_p1db());
    const double inverse_ip5 = gain / milliwatts(stage.input_ip5());
    inverse_ip5_squared += inverse_ip5 * inverse_ip5;
    gain *= stage.gain.ratio();
    total = total + stage.gain;
    after.push_back({total, Decibel::from_ratio(noise_factor), from_milliwatts(1.0 / inverse_ip3),
                     from_milliwatts(1.0 / inverse_p1db),
                     from_milliwatts(1.0 / std::sqrt(inverse_ip5_squared))});
  }
  return after;
}

Cascade cascade(std::span<const Stage> stages) {
  const auto after = running_cascade(stages);
  return after.empty() ? Cascade{} : after.back();
}

PowerLevel minimum_discernible_signal(const Cascade& chain, Frequency bandwidth) {
  return thermal_noise(bandwidth) + chain.noise_figure;
}

Decibel spurious_free_dynamic_range(const Cascade& chain, Frequency bandwidth) {
  return 2.0 / 3.0 * (chain.input_ip3 - minimum_discernible_signal(chain, bandwidth));
}

std::vector<BudgetRow> level_budget(std::span<const Stage> stages, PowerLevel at_input,
                                    Frequency bandwidth) {
  std::vector<BudgetRow> rows;
  rows.reserve(stages.size());
  const auto after = running_cascade(stages);
  auto level = at_input;
  for (std::size_t i = 0; i < stages.size(); ++i) {
    const auto& stage = stages[i];
    const auto output = level + stage.gain;
    rows.push_back({stage.name, stage.gain, after[i], level, output,
                    thermal_noise(bandwidth) + after[i].noise_figure + after[i].gain,
                    stage.output_p1db.value_or(no_limit()) - output});
    level = output;
  }
  return rows;
}

}  // namespace catwalk::rf
