// SPDX-License-Identifier: Apache-2.0
#include "daemon/rf/intermodulation.hpp"

#include <algorithm>
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

std::vector<Product> products_in(Band channel, std::span<const Tone> tones, PowerLevel input_ip3) {
  const auto all = merged(tones);
  std::vector<Product> products;
  const auto collect = [&](Band window) {
    for (std::size_t a = 0; a < all.size(); ++a) {
      for (std::size_t c = 0; c < all.size(); ++c) {
        if (c == a) continue;
        // Where b must lie.
        const auto shift = all[c].frequency - all[a].frequency;
        const auto lowest = std::max(window.low + shift, all[a].frequency);
        auto b = std::lower_bound(
            all.begin(), all.end(), lowest,
            [](const Tone& tone, Frequency from) { return tone.frequency < from; });
        for (; b != all.end() && b->frequency <= window.high + shift; ++b) {
          if (b->frequency == all[c].frequency) continue;
          products.push_back(product_of(all[a], *b, all[c], input_ip3));
        }
      }
    }
  };
  collect(channel);
  const Band mirrored{-channel.high, -channel.low};
  if (!(mirrored.high >= channel.low)) collect(mirrored);
  std::stable_sort(products.begin(), products.end(),
                   [](const Product& a, const Product& b) { return a.level > b.level; });
  return products;
}

}  // namespace catwalk::rf
