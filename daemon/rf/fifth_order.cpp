// SPDX-License-Identifier: Apache-2.0
#include "daemon/rf/fifth_order.hpp"

#include <algorithm>
#include <functional>
#include <numeric>

namespace catwalk::rf {
namespace {

Frequency centre_of(const Tone& thrice, const Tone& twice) {
  return 3 * thrice.frequency - 2 * twice.frequency;
}

// What of 3a − 2b, on this centre, lies in `channel`.
double share_in(Band channel, Frequency centre, const Tone& a, const Tone& b) {
  const auto low = static_cast<double>((channel.low - centre).hertz());
  const auto high = static_cast<double>((channel.high - centre).hertz());
  return share_between(low, high, widths_of_thrice(a.emission, b.emission));
}

double quintic(const Tone& a, const Tone& b) {
  const double thrice = milliwatts(a.level);
  const double twice = milliwatts(b.level);
  return thrice * thrice * thrice * a.emission.power_thrice() * twice * twice *
         b.emission.power_twice();
}

template <class Visit>
void for_each_pair(std::span<const Tone> distinct, const Visit& visit) {
  for (const auto& a : distinct)
    for (const auto& b : distinct) {
      if (a.frequency == b.frequency) continue;
      const auto centre = centre_of(a, b);
      visit(a, b, centre < Frequency{} ? -centre : centre);
    }
}

}  // namespace

PowerLevel fifth_order_level(double quintic, PowerLevel input_ip5) {
  return from_milliwatts(quintic) - 4.0 * (input_ip5 - PowerLevel{});
}

PowerLevel fifth_order_product(PowerLevel thrice, PowerLevel twice, PowerLevel input_ip5) {
  return fifth_order_level(quintic({{}, thrice}, {{}, twice}), input_ip5);
}

std::vector<double> fifth_order_in(std::span<const Band> channels, std::span<const Tone> tones) {
  std::vector<double> powers(channels.size(), 0.0);
  const auto distinct = merged(tones);
  Frequency beyond;
  for (const auto& tone : distinct) beyond = std::max(beyond, tone.emission.reach_of_fifth());
  Frequency widest;
  for (const auto& channel : channels) widest = std::max(widest, channel.width());
  std::vector<std::size_t> by_low(channels.size());
  std::iota(by_low.begin(), by_low.end(), std::size_t{0});
  const auto low_of = [&](std::size_t i) { return channels[i].low; };
  std::ranges::sort(by_low, {}, low_of);
  for_each_pair(distinct, [&](const Tone& a, const Tone& b, Frequency centre) {
    auto channel = std::ranges::lower_bound(by_low, centre - beyond - widest, {}, low_of);
    for (; channel != by_low.end() && low_of(*channel) <= centre + beyond; ++channel) {
      const double share = share_in(channels[*channel], centre, a, b);
      if (share > 0.0) powers[*channel] += share * quintic(a, b);
    }
  });
  return powers;
}

std::vector<Product> fifth_order_products_in(Band channel, std::span<const Tone> tones,
                                             PowerLevel input_ip5) {
  std::vector<Product> products;
  for_each_pair(merged(tones), [&](const Tone& a, const Tone& b, Frequency centre) {
    const double share = share_in(channel, centre, a, b);
    if (share > 0.0)
      products.push_back({{a.frequency, a.frequency},
                          b.frequency,
                          centre,
                          fifth_order_level(share * quintic(a, b), input_ip5),
                          share,
                          Order::fifth});
  });
  std::ranges::sort(products, std::greater{}, &Product::level);
  return products;
}

}  // namespace catwalk::rf
