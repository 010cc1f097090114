// SPDX-License-Identifier: Apache-2.0
#include "daemon/rf/feed.hpp"

#include <cmath>
#include <utility>

namespace catwalk::rf {

CableType cable_per_100_feet(std::string name, double k1, double k2, Band valid,
                             std::string source) {
  constexpr double metres_per_foot = 0.3048;
  return {std::move(name), k1 / metres_per_foot, k2 / metres_per_foot, valid, std::move(source)};
}

Checked<Decibel> cable_loss(const CableType& type, Metres length, Frequency frequency) {
  if (auto fault = check_range("length", length.value(), 0.0, longest_cable_metres, "m")) {
    return Failure{*fault};
  }
  if (auto fault = check_range("frequency", frequency.megahertz(), type.valid.low.megahertz(),
                               type.valid.high.megahertz(), "MHz")) {
    return Failure{*fault};
  }
  return plain::cable_loss(type, length, frequency);
}

Checked<Decibel> mismatched_line_loss(Decibel matched_loss, double standing_wave_ratio) {
  if (auto fault = check_range("matched_loss", matched_loss.value(), 0.0, 1000.0, "dB")) {
    return Failure{*fault};
  }
  if (auto fault = check_range("standing_wave_ratio", standing_wave_ratio, 1.0, 1000.0, "")) {
    return Failure{*fault};
  }
  const double alpha = matched_loss.ratio();
  const double reflection = (standing_wave_ratio - 1.0) / (standing_wave_ratio + 1.0);
  const double reflected = reflection * reflection;
  // (α² − ρ²)/(α(1 − ρ²)), written so that a large α does not overflow.
  return Decibel::from_ratio((alpha - reflected / alpha) / (1.0 - reflected));
}

Checked<Decibel> connectors_loss(int count, Decibel each) {
  if (auto fault = check_range("connectors", count, 0, 1000, "")) return Failure{*fault};
  if (auto fault = check_range("connector_loss", each.value(), 0.0, 10.0, "dB")) {
    return Failure{*fault};
  }
  return plain::connectors_loss(count, each);
}

Checked<Decibel> splitter_loss(int ways, Decibel excess) {
  if (auto fault = check_range("ways", ways, 1, 1024, "")) return Failure{*fault};
  if (auto fault = check_range("excess_loss", excess.value(), 0.0, 30.0, "dB")) {
    return Failure{*fault};
  }
  return plain::splitter_loss(ways, excess);
}

Checked<std::vector<Stage>> combined_branches(std::span<const Branch> branches,
                                              const Combiner& combiner) {
  const auto loss = splitter_loss(combiner.ways, combiner.excess_loss);
  if (!loss) return Failure{loss.error()};
  const auto used = static_cast<double>(branches.size());
  if (auto fault = check_range("branches", used, 1, combiner.ways, "")) return Failure{*fault};

  // Noise at the combiner's output, in units of kT0B.
  const double ways = combiner.ways;
  double arriving = (ways - used) / ways;
  for (const auto& branch : branches) {
    arriving += (branch.noise_figure + branch.gain).ratio() / ways;
  }
  const double pad = combiner.excess_loss.ratio();
  const double noise = arriving / pad + (1.0 - 1.0 / pad) * combiner.physical.value() /
                                            reference_temperature.value();
  std::vector<Stage> stages;
  stages.reserve(branches.size());
  for (const auto& branch : branches) {
    const auto gain = branch.gain - *loss;
    stages.push_back({"combined", gain, Decibel::from_ratio(noise) - gain});
  }
  return stages;
}

Checked<Stage> combiner_stage(std::span<const Branch> others, const Combiner& combiner) {
  if (const auto loss = splitter_loss(combiner.ways, combiner.excess_loss); !loss)
    return Failure{loss.error()};
  const auto used = static_cast<double>(others.size()) + 1.0;
  if (auto fault = check_range("branches", used, 1, combiner.ways, "")) return Failure{*fault};
  return plain::combiner_stage(others, combiner);
}

Decibel plain::cable_loss(const CableType& type, Metres length, Frequency frequency) {
  const double megahertz = frequency.megahertz();
  const double per_100_metres = type.k1 * std::sqrt(megahertz) + type.k2 * megahertz;
  return Decibel::of(per_100_metres * length.value() / 100.0);
}

Decibel plain::connectors_loss(int count, Decibel each) {
  return static_cast<double>(count) * each;
}

Decibel plain::splitter_loss(int ways, Decibel excess) {
  return Decibel::from_ratio(ways) + excess;
}

Stage plain::combiner_stage(std::span<const Branch> others, const Combiner& combiner) {
  const auto used = static_cast<double>(others.size()) + 1.0;
  // Noise added, in units of kT0B at this branch's port: by free ports, by the others, by the pad.
  const double ways = combiner.ways;
  const double warmth = combiner.physical.value() / reference_temperature.value();
  double added = ways - used + ways * (combiner.excess_loss.ratio() - 1.0) * warmth;
  for (const auto& other : others) added += (other.noise_figure + other.gain).ratio();
  return Stage{"combiner", -plain::splitter_loss(combiner.ways, combiner.excess_loss),
               Decibel::from_ratio(1.0 + added)};
}

}  // namespace catwalk::rf
