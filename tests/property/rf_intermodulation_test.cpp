// SPDX-License-Identifier: Apache-2.0
// The fast intermodulation search against the naive triple loop, on random sets of carriers.
#include <doctest/doctest.h>
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <map>
#include <random>
#include <span>
#include <string>
#include <vector>

#include "daemon/rf/intermodulation.hpp"
#include "daemon/rf/intermodulation_search.hpp"

namespace {

using namespace catwalk::rf;
using Random = std::mt19937_64;

constexpr PowerLevel intercept = PowerLevel::dbm(12);

double uniform(Random& random, double low, double high) {
  return std::uniform_real_distribution<double>{low, high}(random);
}
std::int64_t whole(Random& random, std::int64_t low, std::int64_t high) {
  return std::uniform_int_distribution<std::int64_t>{low, high}(random);
}

// Strong own transmitters among weak microphones: 120 dB apart at most.
PowerLevel any_level(Random& random) { return PowerLevel::dbm(uniform(random, -105, 15)); }

struct Kind {
  const char* name;
  std::int64_t raster;     // Hz
  std::int64_t low, high;  // in steps of the raster
  std::vector<Emission> emissions = {{}};
};

constexpr Emission wide{Frequency::kilohertz(200), Modulation::fm};
constexpr Emission dense{Frequency::kilohertz(200), Modulation::psk};
constexpr Emission narrow{Frequency::hertz(12'500), Modulation::fm};
constexpr Emission video{Frequency::kilohertz(1'000), Modulation::ofdm};

const Kind kinds[] = {
    {"25 kHz, 470 to 700 MHz", 25'000, 18'800, 28'000},
    {"25 kHz, crowded: many products on one frequency", 25'000, 20'000, 20'060},
    {"5 kHz", 5'000, 100'000, 108'000},
    {"more than an octave apart: products of negative frequency", 25'000, 6'960, 38'000},
    {"no raster", 1, 470'000'000, 700'000'000},
    {"modulated", 25'000, 18'800, 28'000, {wide}},
    {"modulated, crowded", 25'000, 20'000, 20'060, {wide, dense}},
    {"modulated in four ways", 5'000, 100'000, 108'000, {wide, dense, narrow, video}},
    {"modulated, more than an octave apart", 25'000, 400, 4'000, {wide, video}},
    {"modulated, no raster", 1, 500'000'000, 505'000'000, {wide, dense, narrow}},
};

struct Seeds {
  std::uint64_t first, last;
};
template <class Check>
void for_each_kind(Seeds seeds, Check check) {
  for (const auto& kind : kinds) {
    CAPTURE(std::string{kind.name});
    for (auto seed = seeds.first; seed <= seeds.last; ++seed) {
      CAPTURE(seed);
      check(kind, seed);
    }
  }
}

std::vector<Tone> random_tones(Random& random, const Kind& kind, std::size_t count) {
  std::vector<Tone> tones;
  for (std::size_t i = 0; i < count; ++i) {
    // Sometimes two carriers share a frequency.
    const bool shared = !tones.empty() && whole(random, 0, 19) == 0;
    const auto frequency =
        shared ? tones[static_cast<std::size_t>(whole(random, 0, static_cast<std::int64_t>(i) - 1))]
                     .frequency
               : Frequency::hertz(whole(random, kind.low, kind.high) * kind.raster);
    const auto& emission = kind.emissions[static_cast<std::size_t>(
        whole(random, 0, static_cast<std::int64_t>(kind.emissions.size()) - 1))];
    tones.push_back({frequency, any_level(random), emission});
  }
  return tones;
}

// mW in the channel, of a product that the naive loop made whole.
double power_in(Band channel, const Product& product, std::span<const Tone> merged_tones) {
  constexpr auto furthest = Frequency::kilohertz(1'500);  // that any of these emissions reaches
  if (product.at < channel.low - furthest || channel.high + furthest < product.at) return 0.0;
  const auto tone_on = [&](Frequency frequency) {
    return *std::ranges::lower_bound(merged_tones, frequency, {}, &Tone::frequency);
  };
  return milliwatts(product.level) * share_in(channel, tone_on(product.plus[0]),
                                              tone_on(product.plus[1]), tone_on(product.minus));
}

double expected_power(const std::vector<Product>& products, Band channel,
                      std::span<const Tone> merged_tones) {
  double sum = 0.0;
  for (const auto& product : products) sum += power_in(channel, product, merged_tones);
  return sum;
}

bool same_power(double value, double expected, double relative) {
  return std::abs(value - expected) <= relative * expected;
}

// It is one of the naive loop's products of that channel, and none of those is stronger.
void check_strongest(const IntermodulationSearch& search, std::size_t channel,
                     const std::vector<Product>& products, std::span<const Tone> merged_tones) {
  const auto band = search.channels()[channel];
  const auto found = search.strongest(channel, intercept);
  double most = 0.0;
  double of_found = 0.0;
  for (const auto& product : products) {
    const double power = power_in(band, product, merged_tones);
    most = std::max(most, power);
    if (found && product.plus[0] == found->plus[0] && product.plus[1] == found->plus[1] &&
        product.minus == found->minus && product.at == found->at)
      of_found = power;
  }
  REQUIRE(found.has_value() == (most > 0.0));
  if (!found) return;
  REQUIRE(same_power(of_found, most, 1e-9));
  REQUIRE(same_power(milliwatts(found->level), most, 1e-9));
}

// Every channel of the search holds what the naive loop puts there, an empty one nothing at all.
void check_against_naive(const IntermodulationSearch& search, double relative) {
  const auto products = products_naive(search.tones(), intercept);
  const auto tones = merged(search.tones());
  for (std::size_t i = 0; i < search.channels().size(); ++i) {
    const double expected = expected_power(products, search.channels()[i], tones);
    const double value = milliwatts(search.level(i, intercept));
    CAPTURE(search.channels()[i].low.hertz());
    CAPTURE(search.channels()[i].high.hertz());
    CAPTURE(value / expected - 1.0);
    REQUIRE(same_power(value, expected, relative));
    check_strongest(search, i, products, tones);
  }
}

std::vector<Band> channels_around(const std::vector<Tone>& tones, Frequency width) {
  std::vector<Band> channels;
  for (const auto& tone : tones) channels.push_back(Band::around(tone.frequency, width));
  return channels;
}

TEST_CASE(
    "of two stages in a row the strongest product is that of the naive loop, added in phase") {
  const auto amplitude = [](PowerLevel level) { return std::sqrt(milliwatts(level)); };
  for_each_kind({1, 12}, [&](const Kind& kind, std::uint64_t seed) {
    Random random{seed};
    const auto tones = random_tones(random, kind, static_cast<std::size_t>(whole(random, 1, 24)));
    auto behind = tones;
    for (auto& tone : behind)
      tone.level = tone.level - Decibel::of(static_cast<double>(whole(random, 0, 60)));
    const auto lost = Decibel::of(7.5);
    const auto first = products_naive(tones, intercept);
    const auto second = products_naive(behind, intercept - Decibel::of(11));
    REQUIRE(first.size() == second.size());
    const auto together = merged(tones);
    for (const auto& band : channels_around(tones, Frequency::kilohertz(200))) {
      double most = 0.0;
      for (std::size_t i = 0; i < first.size(); ++i) {
        REQUIRE(first[i].at == second[i].at);
        const double share = power_in(band, first[i], together) / milliwatts(first[i].level);
        most = std::max(most, std::sqrt(share) *
                                  (amplitude(first[i].level) + amplitude(second[i].level + lost)));
      }
      const auto found =
          strongest_in(band,
                       std::vector<DistortingStage>{{tones, intercept, {}},
                                                    {behind, intercept - Decibel::of(11), lost}},
                       1);
      REQUIRE(found.empty() == (most <= 0.0));
      if (most > 0.0) REQUIRE(same_power(milliwatts(found.front().level), most * most, 1e-9));
    }
  });
}

TEST_CASE("on every frequency that a product lands on, the search finds the naive loop's level") {
  for_each_kind({1, 12}, [&](const Kind& kind, std::uint64_t seed) {
    Random random{seed};
    const auto count = static_cast<std::size_t>(whole(random, 1, seed == 12 ? 40 : 24));
    auto tones = random_tones(random, kind, count);
    for (auto& tone : tones) tone.emission = {};  // products without any width
    std::map<Frequency, double> landed;
    for (const auto& product : products_naive(tones, intercept)) {
      landed[product.at] += milliwatts(product.level);
    }
    std::vector<Band> channels;
    for (const auto& [at, power] : landed) {
      if (at > Frequency{}) channels.push_back({at, at});
    }
    const IntermodulationSearch search{tones, channels};
    REQUIRE(search.on_raster() == (kind.raster > 1 || merged(tones).size() == 1));
    for (std::size_t i = 0; i < channels.size(); ++i) {
      CAPTURE(channels[i].low.hertz());
      REQUIRE(same_power(milliwatts(search.level(i, intercept)), landed[channels[i].low], 1e-9));
    }
  });
}

TEST_CASE("the levels in channels of any width are those of the naive loop, up to 40 carriers") {
  for_each_kind({100, 114}, [&](const Kind& kind, std::uint64_t seed) {
    Random random{seed};
    const auto tones = random_tones(random, kind, static_cast<std::size_t>(whole(random, 2, 40)));
    auto channels = channels_around(tones, Frequency::hertz(whole(random, 0, 400'000)));
    // Channels away from any carrier, on no raster.
    for (int i = 0; i < 10; ++i) {
      const auto at = whole(random, kind.low * kind.raster, kind.high * kind.raster);
      channels.push_back(
          Band::around(Frequency::hertz(at), Frequency::hertz(whole(random, 1, 900'000))));
    }
    check_against_naive(IntermodulationSearch{tones, channels}, 1e-9);
  });
}

TEST_CASE("adding, moving and removing carriers is the same as computing anew") {
  for_each_kind({200, 209}, [&](const Kind& kind, std::uint64_t seed) {
    Random random{seed};
    const auto tones = random_tones(random, kind, 16);
    const auto channels = channels_around(tones, Frequency::kilohertz(200));
    IntermodulationSearch search{tones, channels};
    for (int edit = 0; edit < 60; ++edit) {
      CAPTURE(edit);
      const auto fresh = random_tones(random, kind, 1).front();
      const auto last = static_cast<std::int64_t>(search.tones().size()) - 1;
      const auto index = static_cast<std::size_t>(whole(random, 0, last));
      const auto what = whole(random, 0, 4);
      if (what == 0) {
        search.add(fresh);
      } else if (what == 1 && last > 3) {
        search.remove(index);
      } else if (what == 2) {  // onto another carrier
        search.move(index, {search.tones().front().frequency, fresh.level, fresh.emission});
      } else if (what == 3) {  // only louder or softer, or silent
        const auto level = whole(random, 0, 5) == 0 ? no_power() : fresh.level;
        search.move(index, {search.tones()[index].frequency, level, fresh.emission});
      } else {
        search.move(index, fresh);
      }
      check_against_naive(search, 1e-7);
    }
  });
}

TEST_CASE("thousands of edits with strong and weak carriers wear nothing out") {
  Random random{7};
  const auto& kind = kinds[1];
  auto tones = random_tones(random, kind, 12);
  IntermodulationSearch search{tones, channels_around(tones, Frequency::kilohertz(100))};
  for (int edit = 0; edit < 3000; ++edit) {
    const auto index = static_cast<std::size_t>(whole(random, 0, 11));
    search.move(index, random_tones(random, kind, 1).front());
    if (edit % 100 == 99) {
      CAPTURE(edit);
      check_against_naive(search, 1e-7);
    }
  }
}

TEST_CASE("a channel can be moved, and a carrier beyond the edges or off the raster") {
  Random random{8};
  const auto tones = random_tones(random, kinds[0], 20);
  IntermodulationSearch search{tones, channels_around(tones, Frequency::kilohertz(200))};
  search.move_channel(3, Band::around(Frequency::kilohertz(555'555), Frequency::kilohertz(600)));
  check_against_naive(search, 1e-9);
  search.move(0, {Frequency::kilohertz(720'025), PowerLevel::dbm(-20)});
  check_against_naive(search, 1e-9);
  CHECK(search.on_raster());
  search.move(1, {Frequency::hertz(600'000'001), PowerLevel::dbm(-20)});
  check_against_naive(search, 1e-9);
  CHECK(!search.on_raster());
  search.remove(1);
  check_against_naive(search, 1e-9);
  CHECK(search.on_raster());
}

TEST_CASE("the explanation of a channel lists the products of the naive loop, strongest first") {
  for (const auto& kind : kinds) {
    CAPTURE(std::string{kind.name});
    Random random{9};
    const auto tones = random_tones(random, kind, 25);
    const IntermodulationSearch search{tones, channels_around(tones, Frequency::kilohertz(300))};
    for (std::size_t i = 0; i < tones.size(); ++i) {
      const auto channel = search.channels()[i];
      std::vector<Product> expected;
      const auto together = merged(tones);
      for (auto product : products_naive(tones, intercept)) {
        const double power = power_in(channel, product, together);
        if (power <= 0.0) continue;
        product.share = power / milliwatts(product.level);
        product.level = from_milliwatts(power);
        expected.push_back(product);
      }
      const auto listed = search.products(i, intercept);
      REQUIRE(listed.size() == expected.size());
      CHECK(std::is_permutation(
          listed.begin(), listed.end(), expected.begin(), [](const Product& a, const Product& b) {
            return a.plus[0] == b.plus[0] && a.plus[1] == b.plus[1] && a.minus == b.minus &&
                   same_power(milliwatts(a.level), milliwatts(b.level), 1e-9);
          }));
      CHECK(std::is_sorted(listed.begin(), listed.end(),
                           [](const auto& a, const auto& b) { return a.level > b.level; }));
    }
  }
}

TEST_CASE("no carriers, one carrier and silent carriers make no products") {
  const std::vector<Band> channels{{Frequency::kilohertz(500'000), Frequency::kilohertz(500'200)}};
  const Tone one{Frequency::kilohertz(500'100), PowerLevel::dbm(0)};
  const Tone silent{Frequency::kilohertz(500'000), no_power()};
  CHECK(IntermodulationSearch({}, channels).level(0, intercept) == no_power());
  CHECK(IntermodulationSearch({one, silent}, channels).level(0, intercept) == no_power());
  IntermodulationSearch search{{}, channels};
  search.add(one);
  search.add({Frequency::kilohertz(500'150), PowerLevel::dbm(-10)});
  CHECK(search.level(0, intercept) > no_power());
  CHECK(search.level(0, no_limit()) == no_power());
  search.remove(0);
  search.remove(0);
  CHECK(search.level(0, intercept) == no_power());
}

}  // namespace

TEST_CASE("levels that are set anew are those of a search that is made anew") {
  for_each_kind({300, 309}, [&](const Kind& kind, std::uint64_t seed) {
    Random random{seed};
    auto tones = random_tones(random, kind, static_cast<std::size_t>(whole(random, 2, 40)));
    const auto channels = channels_around(tones, Frequency::kilohertz(200));
    IntermodulationSearch search{tones, channels};
    // Twice, and after an edit: what was there before must be gone.
    for (int round = 0; round < 3; ++round) {
      if (round == 2) search.move(0, tones.front());
      std::vector<PowerLevel> levels;
      for (auto& tone : tones) {
        tone.level = PowerLevel::dbm(static_cast<double>(whole(random, -90, 10)));
        levels.push_back(tone.level);
      }
      search.set_levels(levels);
      const IntermodulationSearch anew{tones, channels};
      for (std::size_t i = 0; i < channels.size(); ++i)
        REQUIRE(same_power(milliwatts(search.level(i, intercept)),
                           milliwatts(anew.level(i, intercept)), 1e-9));
    }
  });
}
