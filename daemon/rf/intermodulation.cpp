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
  if (a.frequency != b.frequency) return three_signal_product(a.level, b.level, c.level, input_ip3);
  return two_signal_product(a.level, c.level, input_ip3) +
         Decibel::from_ratio(a.emission.power_twice());
}

Product product_of(const Tone& a, const Tone& b, const Tone& c, PowerLevel input_ip3) {
  return {{a.frequency, b.frequency},
          c.frequency,
          magnitude(a.frequency + b.frequency - c.frequency),
          level_of(a, b, c, input_ip3)};
}

double in_hertz(Frequency frequency) { return static_cast<double>(frequency.hertz()); }

// Every a + b − c of which something falls into `channel`, its sign left aside, with a ≤ b and c
// neither of them. `all` in order of frequency, each once. visit(a, b, c, share).
template <class Of, class Visit>
void for_each_triple(const std::vector<Of>& all, Band channel, Visit&& visit) {
  Frequency beyond;
  for (const auto& each : all) beyond = std::max(beyond, each.emission.reach());
  const auto look_in = [&](Band window) {
    for (auto a = all.begin(); a != all.end(); ++a)
      for (const auto& c : all) {
        if (c.frequency == a->frequency) continue;
        // Where b must lie.
        const auto shift = c.frequency - a->frequency;
        auto b =
            std::ranges::lower_bound(a, all.end(), window.low + shift - beyond, {}, &Of::frequency);
        for (; b != all.end() && b->frequency <= window.high + shift + beyond; ++b) {
          if (b->frequency == c.frequency) continue;
          const auto at = a->frequency + b->frequency - c.frequency;
          const auto share = share_between(in_hertz(window.low - at), in_hertz(window.high - at),
                                           a->frequency == b->frequency
                                               ? widths_of_twice(a->emission, c.emission)
                                               : widths_of(a->emission, b->emission, c.emission));
          if (share > 0.0) visit(*a, *b, c, share);
        }
      }
  };
  look_in(channel);
  look_in({-channel.high, -channel.low});
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
  auto strongest = no_power();  // of those that the last stands for
  for (const auto& tone : sorted) {
    if (result.empty() || result.back().frequency != tone.frequency) {
      result.push_back(tone);
      strongest = tone.level;
      continue;
    }
    if (tone.level > strongest) {
      result.back().emission = tone.emission;
      strongest = tone.level;
    }
    result.back().level = power_sum({result.back().level, tone.level});
  }
  return result;
}

double share_in(Band channel, const Tone& a, const Tone& b, const Tone& c) {
  const auto widths = a.frequency == b.frequency ? widths_of_twice(a.emission, c.emission)
                                                 : widths_of(a.emission, b.emission, c.emission);
  const auto at = in_hertz(a.frequency + b.frequency - c.frequency);
  const auto low = in_hertz(channel.low);
  const auto high = in_hertz(channel.high);
  return share_between(low - at, high - at, widths) + share_between(-high - at, -low - at, widths);
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
  Emission emission;
  std::vector<double> of_stage;
};

std::vector<Amplitudes> amplitudes_of(std::span<const DistortingStage> stages) {
  std::vector<Amplitudes> all;
  for (std::size_t s = 0; s < stages.size(); ++s)
    for (const auto& tone : merged(stages[s].tones)) {
      auto at = std::ranges::lower_bound(all, tone.frequency, {}, &Amplitudes::frequency);
      if (at == all.end() || at->frequency != tone.frequency)
        at = all.insert(at, {tone.frequency, tone.emission, std::vector<double>(stages.size())});
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
  const auto weigh = [&](const Amplitudes& a, const Amplitudes& b, const Amplitudes& c,
                         double share) {
    double amplitude = 0.0;
    for (std::size_t s = 0; s < factors.size(); ++s)
      amplitude += factors[s] * a.of_stage[s] * b.of_stage[s] * c.of_stage[s];
    // Six orderings in the cube against three.
    const double power =
        amplitude * amplitude * share * (&a != &b ? 4.0 : a.emission.power_twice());
    if (power <= most) return;
    most = power;
    strongest = Product{{a.frequency, b.frequency},
                        c.frequency,
                        magnitude(a.frequency + b.frequency - c.frequency),
                        {},
                        share};
  };
  for_each_triple(all, channel, weigh);
  if (strongest) strongest->level = from_milliwatts(most);
  return strongest;
}

std::vector<Product> products_in(Band channel, std::span<const Tone> tones, PowerLevel input_ip3) {
  const auto all = merged(tones);
  std::vector<Product> products;
  for_each_triple(all, channel, [&](const Tone& a, const Tone& b, const Tone& c, double share) {
    auto product = product_of(a, b, c, input_ip3);
    product.level = product.level + Decibel::from_ratio(share);
    product.share = share;
    products.push_back(product);
  });
  std::stable_sort(products.begin(), products.end(),
                   [](const Product& a, const Product& b) { return a.level > b.level; });
  return products;
}

}  // namespace catwalk::rf
