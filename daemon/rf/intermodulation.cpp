// SPDX-License-Identifier: Apache-2.0
#include "daemon/rf/intermodulation.hpp"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <functional>

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

// What of a + b − c lies in this window, at frequencies as they come, below zero too.
template <class Of>
double share_of(Band window, const Of& a, const Of& b, const Of& c) {
  const auto at = in_hertz(a.frequency + b.frequency - c.frequency);
  return share_between(in_hertz(window.low) - at, in_hertz(window.high) - at,
                       a.frequency == b.frequency ? widths_of_twice(a.emission, c.emission)
                                                  : widths_of(a.emission, b.emission, c.emission));
}

// Every a + b − c of which something may fall into `channel`, its sign left aside, with a ≤ b and c
// neither of them. `all` in order of frequency, each once. visit(a, b, c, window): in the channel,
// or in its mirror image below zero.
template <class Of, class Visit>
void for_each_triple(const std::vector<Of>& all, Band channel, const Visit& visit) {
  if (all.empty()) return;
  Frequency beyond;
  for (const auto& each : all) beyond = std::max(beyond, each.emission.reach());
  const auto lowest = 2 * all.front().frequency - all.back().frequency;
  const auto highest = 2 * all.back().frequency - all.front().frequency;
  for (const auto window : {channel, Band{-channel.high, -channel.low}}) {
    const auto reached = window.widened(beyond);
    if (highest < reached.low || lowest > reached.high) continue;
    for (auto a = all.begin(); a != all.end(); ++a) {
      auto first = a;  // that b may be, no lower for the next c
      for (const auto& c : all) {
        const auto shift = c.frequency - a->frequency;
        while (first != all.end() && first->frequency < reached.low + shift) ++first;
        if (c.frequency == a->frequency) continue;
        for (auto b = first; b != all.end() && b->frequency <= reached.high + shift; ++b)
          if (b->frequency != c.frequency) visit(*a, *b, c, window);
      }
    }
  }
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
  return share_of(channel, a, b, c) + share_of({-channel.high, -channel.low}, a, b, c);
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

std::vector<Product> strongest_in(Band channel, std::span<const DistortingStage> stages,
                                  std::size_t most) {
  struct Found {
    double power = 0.0;  // mW
    double share = 0.0;
    const Amplitudes* a = nullptr;
    const Amplitudes* b = nullptr;
    const Amplitudes* c = nullptr;
    std::size_t number = 0;
    // Of those that are alike the one that was found first.
    bool operator<(const Found& other) const {
      return power != other.power ? power > other.power : number < other.number;
    }
  };
  const auto all = amplitudes_of(stages);
  std::vector<double> factors;  // 1/mW of each stage
  for (const auto& stage : stages)
    factors.push_back(std::sqrt(stage.referred_by.ratio()) / milliwatts(stage.input_ip3));
  std::vector<Found> few;  // a heap, the weakest in front
  std::size_t number = 0;
  for_each_triple(all, channel,
                  [&](const Amplitudes& a, const Amplitudes& b, const Amplitudes& c, Band window) {
                    double amplitude = 0.0;
                    for (std::size_t s = 0; s < factors.size(); ++s)
                      amplitude += factors[s] * a.of_stage[s] * b.of_stage[s] * c.of_stage[s];
                    // Six orderings in the cube against three.
                    const double whole =
                        amplitude * amplitude * (&a != &b ? 4.0 : a.emission.power_twice());
                    const bool full = few.size() == most;
                    if (full && whole <= few.front().power)
                      return;  // the share of it is less still
                    const double share = share_of(window, a, b, c);
                    const Found found{whole * share, share, &a, &b, &c, number++};
                    if (found.power <= 0.0 || (full && found.power <= few.front().power)) return;
                    if (full) {
                      std::ranges::pop_heap(few, std::less{});
                      few.pop_back();
                    }
                    few.push_back(found);
                    std::ranges::push_heap(few, std::less{});
                  });
  std::ranges::sort_heap(few, std::less{});
  std::vector<Product> products;
  for (const auto& [power, share, a, b, c, found] : few)
    products.push_back({{a->frequency, b->frequency},
                        c->frequency,
                        magnitude(a->frequency + b->frequency - c->frequency),
                        from_milliwatts(power),
                        share});
  return products;
}

std::vector<Product> products_in(Band channel, std::span<const Tone> tones, PowerLevel input_ip3) {
  return strongest_in(channel, std::vector<DistortingStage>{{tones, input_ip3, {}}}, every_one);
}

}  // namespace catwalk::rf
