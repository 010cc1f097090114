// SPDX-License-Identifier: Apache-2.0
#include "daemon/rf/intermodulation.hpp"

#include <algorithm>
#include <cmath>
#include <cstdlib>

namespace catwalk::rf {
namespace {

Frequency magnitude(Frequency frequency) {
  return frequency < Frequency{} ? -frequency : frequency;
}

PowerLevel level_of(const Tone& a, const Tone& b, const Tone& c, PowerLevel input_ip3) {
  return a.frequency == b.frequency ? two_signal_product(a.level, c.level, input_ip3)
                                    : three_signal_product(a.level, b.level, c.level, input_ip3);
}

Product product_of(const Tone& a, const Tone& b, const Tone& c, PowerLevel input_ip3) {
  return {{a.frequency, b.frequency},
          c.frequency,
          magnitude(a.frequency + b.frequency - c.frequency),
          level_of(a, b, c, input_ip3)};
}

// Every a + b − c that falls into `channel`, its sign left aside, with a ≤ b and c neither of them.
// `all` in order of frequency, each once.
template <class OfFrequency, class Visit>
void for_each_triple(const std::vector<OfFrequency>& all, Band channel, Visit&& visit) {
  const auto look_in = [&](Band window) {
    for (auto a = all.begin(); a != all.end(); ++a)
      for (const auto& c : all) {
        if (c.frequency == a->frequency) continue;
        // Where b must lie.
        const auto shift = c.frequency - a->frequency;
        auto b =
            std::ranges::lower_bound(a, all.end(), window.low + shift, {}, &OfFrequency::frequency);
        for (; b != all.end() && b->frequency <= window.high + shift; ++b)
          if (b->frequency != c.frequency) visit(*a, *b, c);
      }
  };
  look_in(channel);
  const Band mirrored{-channel.high, -channel.low};
  if (!(mirrored.high >= channel.low)) look_in(mirrored);
}

}  // namespace

PowerLevel two_signal_product(PowerLevel twice, PowerLevel once, PowerLevel input_ip3) {
  return twice + 2.0 * (twice - input_ip3) + (once - twice);
}

PowerLevel three_signal_product(PowerLevel a, PowerLevel b, PowerLevel c, PowerLevel input_ip3) {
  // Six orderings of three signals in the cube against three of two: twice the amplitude.
  return a + (b - input_ip3) + (c - input_ip3) + Decibel::from_ratio(4.0);
}

std::vector<Tone> merged(std::span<const Tone> tones) {
  std::vector<Tone> sorted;
  for (const auto& tone : tones) {
    if (tone.level > no_power()) sorted.push_back(tone);
  }
  std::stable_sort(sorted.begin(), sorted.end(),
                   [](const Tone& a, const Tone& b) { return a.frequency < b.frequency; });
  std::vector<Tone> result;
  for (const auto& tone : sorted) {
    if (!result.empty() && result.back().frequency == tone.frequency) {
      result.back().level = power_sum({result.back().level, tone.level});
    } else {
      result.push_back(tone);
    }
  }
  return result;
}

std::vector<Product> products_naive(std::span<const Tone> tones, PowerLevel input_ip3) {
  const auto all = merged(tones);
  std::vector<Product> products;
  products.reserve(all.size() * all.size() * (all.empty() ? 0 : all.size() - 1) / 2);
  for (std::size_t a = 0; a < all.size(); ++a) {
    for (std::size_t b = a; b < all.size(); ++b) {
      for (std::size_t c = 0; c < all.size(); ++c) {
        if (c == a || c == b) continue;
        products.push_back(product_of(all[a], all[b], all[c], input_ip3));
      }
    }
  }
  return products;
}

namespace {

// Amplitudes, √mW, of all stages at one frequency.
struct Amplitudes {
  Frequency frequency;
  std::vector<double> of_stage;
};

std::vector<Amplitudes> amplitudes_of(std::span<const DistortingStage> stages) {
  std::vector<Amplitudes> all;
  for (std::size_t s = 0; s < stages.size(); ++s)
    for (const auto& tone : merged(stages[s].tones)) {
      auto at = std::ranges::lower_bound(all, tone.frequency, {}, &Amplitudes::frequency);
      if (at == all.end() || at->frequency != tone.frequency)
        at = all.insert(at, {tone.frequency, std::vector<double>(stages.size())});
      at->of_stage[s] = std::sqrt(milliwatts(tone.level));
    }
  return all;
}

}  // namespace

std::optional<Product> strongest_in(Band channel, std::span<const DistortingStage> stages) {
  const auto all = amplitudes_of(stages);
  std::vector<double> factors;  // 1/mW of each stage
  for (const auto& stage : stages)
    factors.push_back(std::sqrt(stage.referred_by.ratio()) / milliwatts(stage.input_ip3));
  double most = 0.0;
  std::optional<Product> strongest;
  const auto weigh = [&](const Amplitudes& a, const Amplitudes& b, const Amplitudes& c) {
    double amplitude = 0.0;
    for (std::size_t s = 0; s < factors.size(); ++s)
      amplitude += factors[s] * a.of_stage[s] * b.of_stage[s] * c.of_stage[s];
    if (&a != &b) amplitude *= 2.0;  // six orderings in the cube against three
    if (amplitude <= most) return;
    most = amplitude;
    strongest = Product{{a.frequency, b.frequency},
                        c.frequency,
                        magnitude(a.frequency + b.frequency - c.frequency),
                        {}};
  };
  for_each_triple(all, channel, weigh);
  if (strongest) strongest->level = from_milliwatts(most * most);
  return strongest;
}

std::vector<Product> products_in(Band channel, std::span<const Tone> tones, PowerLevel input_ip3) {
  const auto all = merged(tones);
  std::vector<Product> products;
  for_each_triple(all, channel, [&](const Tone& a, const Tone& b, const Tone& c) {
    products.push_back(product_of(a, b, c, input_ip3));
  });
  std::stable_sort(products.begin(), products.end(),
                   [](const Product& a, const Product& b) { return a.level > b.level; });
  return products;
}

}  // namespace catwalk::rf
