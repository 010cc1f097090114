// SPDX-License-Identifier: Apache-2.0
// How long the search for intermodulation takes: every product of N carriers, with its level,
// summed up in each carrier's channel; the naive triple loop beside it in the same run, turn by
// turn. Exit status 1 if a figure misses its goal, or if the two disagree.
//
//   rf_bench          release figures, judged
//   rf_bench --smoke  a short run that only judges whether both agree
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <random>
#include <vector>

#include "daemon/rf/intermodulation_search.hpp"

namespace {

using namespace catwalk::rf;
using Clock = std::chrono::steady_clock;

constexpr auto raster = Frequency::kilohertz(25);
constexpr auto width = Frequency::kilohertz(200);
constexpr PowerLevel intercept = PowerLevel::dbm(12);

double microseconds(Clock::duration taken) {
  return std::chrono::duration<double, std::micro>(taken).count();
}

double quantile(std::vector<double> values, double part) {
  std::sort(values.begin(), values.end());
  return values[static_cast<std::size_t>(part * static_cast<double>(values.size() - 1))];
}

// 470 to 700 MHz, one carrier in eight a strong transmitter of the show's own.
Tone any_tone(std::mt19937_64& random) {
  const auto step = std::uniform_int_distribution<std::int64_t>{18'800, 28'000}(random);
  const bool strong = std::uniform_int_distribution{0, 7}(random) == 0;
  const double level = std::uniform_real_distribution{-70.0, -40.0}(random) + (strong ? 40 : 0);
  return {step * raster, PowerLevel::dbm(level)};
}

std::vector<Tone> any_tones(std::mt19937_64& random, std::size_t count) {
  std::vector<Tone> tones;
  while (tones.size() < count) {
    const auto tone = any_tone(random);
    const bool taken = std::any_of(tones.begin(), tones.end(), [&tone](const Tone& other) {
      return other.frequency == tone.frequency;
    });
    if (!taken) tones.push_back(tone);
  }
  return tones;
}

std::vector<Band> channels_of(const std::vector<Tone>& tones) {
  std::vector<Band> channels;
  for (const auto& tone : tones) channels.push_back(Band::around(tone.frequency, width));
  return channels;
}

std::vector<double> levels_of(const IntermodulationSearch& search) {
  std::vector<double> levels;
  for (std::size_t i = 0; i < search.channels().size(); ++i) {
    levels.push_back(search.level(i, intercept).dbm());
  }
  return levels;
}

std::vector<double> fast(const std::vector<Tone>& tones, const std::vector<Band>& channels) {
  return levels_of(IntermodulationSearch{tones, channels, raster});
}

// Powers in milliwatts, channels sorted, nothing stored: the naive loop at its best.
std::vector<double> naive(const std::vector<Tone>& tones, const std::vector<Band>& channels) {
  const std::size_t count = tones.size();
  std::vector<std::int64_t> frequency(count);
  std::vector<double> power(count);
  for (std::size_t i = 0; i < count; ++i) {
    frequency[i] = tones[i].frequency.hertz();
    power[i] = milliwatts(tones[i].level);
  }
  std::vector<std::size_t> order(channels.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  std::sort(order.begin(), order.end(), [&channels](std::size_t a, std::size_t b) {
    return channels[a].high < channels[b].high;
  });
  std::vector<double> cubic(channels.size(), 0.0);
  for (std::size_t a = 0; a < count; ++a) {
    for (std::size_t b = a; b < count; ++b) {
      const auto sum = frequency[a] + frequency[b];
      const double weight = power[a] * power[b] * (a == b ? 1.0 : 4.0);
      for (std::size_t c = 0; c < count; ++c) {
        if (c == a || c == b) continue;
        const auto at = Frequency::hertz(std::abs(sum - frequency[c]));
        auto i = std::lower_bound(order.begin(), order.end(), at,
                                  [&channels](std::size_t channel, Frequency product) {
                                    return channels[channel].high < product;
                                  });
        // All channels are equally wide, so in order of their lower edges too.
        for (; i != order.end() && channels[*i].low <= at; ++i) cubic[*i] += weight * power[c];
      }
    }
  }
  for (auto& value : cubic) value = from_milliwatts(value).dbm() - 2.0 * intercept.dbm();
  return cubic;
}

bool agree(const std::vector<double>& ours, const std::vector<double>& theirs, double within) {
  return std::equal(ours.begin(), ours.end(), theirs.begin(), theirs.end(),
                    [within](double a, double b) { return a == b || std::abs(a - b) <= within; });
}

struct Report {
  bool smoke = false;
  bool met = true;

  void judge(const char* what, double value, double most, const char* unit) {
    const bool good = smoke || value <= most;
    std::printf("  %-44s %9.2f %s (goal: at most %g)%s\n", what, value, unit, most,
                good ? "" : "  MISSED");
    met = met && good;
  }
  void demand(const char* what, bool holds) {
    if (!holds) std::printf("  %s: NO\n", what);
    met = met && holds;
  }
};

double check_of(std::size_t count, int rounds, Report& report) {
  std::mt19937_64 random{count};
  std::vector<double> quick, slow;
  for (int round = 0; round < rounds; ++round) {
    const auto tones = any_tones(random, count);
    const auto channels = channels_of(tones);
    const auto start = Clock::now();
    const auto ours = fast(tones, channels);
    const auto between = Clock::now();
    const auto theirs = naive(tones, channels);
    const auto end = Clock::now();
    quick.push_back(microseconds(between - start));
    slow.push_back(microseconds(end - between));
    report.demand("the search and the naive loop agree within 1e-6 dB", agree(ours, theirs, 1e-6));
  }
  std::printf("%4zu carriers, %8zu products: search %9.1f us, naive %10.1f us, ratio %6.1f\n",
              count, count * count * (count - 1) / 2, quantile(quick, 0.5), quantile(slow, 0.5),
              quantile(slow, 0.5) / quantile(quick, 0.5));
  return quantile(quick, 0.5);
}

void edits_of(std::size_t count, int rounds, Report& report) {
  std::mt19937_64 random{count + 1};
  const auto tones = any_tones(random, count);
  IntermodulationSearch search{tones, channels_of(tones), raster};
  std::vector<double> moves, adds;
  for (int round = 0; round < rounds; ++round) {
    const auto tone = any_tone(random);
    const auto index = std::uniform_int_distribution<std::size_t>{0, count - 1}(random);
    auto start = Clock::now();
    search.move(index, tone);
    search.move_channel(index, Band::around(tone.frequency, width));
    moves.push_back(microseconds(Clock::now() - start));
    const auto fresh = any_tone(random);
    start = Clock::now();
    search.add(fresh);
    adds.push_back(microseconds(Clock::now() - start));
    search.remove(count);
  }
  const auto anew = fast(search.tones(), search.channels());
  report.demand("edits agree with computing anew within 1e-6 dB",
                agree(levels_of(search), anew, 1e-6));
  std::printf("%4zu carriers, edits with all channels kept up to date:\n", count);
  report.judge("move a carrier and its channel, median", quantile(moves, 0.5), 50, "us");
  report.judge("add a carrier, median", quantile(adds, 0.5), 50, "us");
  std::printf("  99th percentiles: move %.1f us, add %.1f us; worst %.1f us\n",
              quantile(moves, 0.99), quantile(adds, 0.99),
              std::max(quantile(moves, 1), quantile(adds, 1)));
}

// Not judged: carriers on no raster, and the level on every step of the whole band.
void others_of(std::size_t count, int rounds, Report& report) {
  std::mt19937_64 random{count + 2};
  std::vector<double> off_raster, spectrum;
  for (int round = 0; round < rounds; ++round) {
    auto tones = any_tones(random, count);
    const auto channels = channels_of(tones);
    std::vector<Band> steps;
    for (std::int64_t step = 18'800; step <= 28'000; ++step) {
      steps.push_back({step * raster, step * raster});
    }
    auto start = Clock::now();
    const auto everywhere = fast(tones, steps);
    spectrum.push_back(microseconds(Clock::now() - start));
    report.demand("there are products", everywhere.size() == steps.size());
    for (auto& tone : tones) {
      tone.frequency =
          tone.frequency + Frequency::hertz(std::uniform_int_distribution{-900, 900}(random));
    }
    start = Clock::now();
    const auto ours = fast(tones, channels);
    off_raster.push_back(microseconds(Clock::now() - start));
    report.demand("off the raster both agree", agree(ours, naive(tones, channels), 1e-6));
  }
  std::printf("%4zu carriers: on no raster %.1f us; level on each of 9201 steps %.1f us\n", count,
              quantile(off_raster, 0.5), quantile(spectrum, 0.5));
}

}  // namespace

int main(int argc, char** argv) {
  Report report{argc == 2 && std::strcmp(argv[1], "--smoke") == 0};
  const auto rounds = [&report](int full) { return report.smoke ? 2 : full; };
  const double at_40 = check_of(40, rounds(200), report);
  check_of(80, rounds(60), report);
  const double at_120 = check_of(120, rounds(40), report);
  const double at_240 = check_of(240, rounds(10), report);
  report.judge("full check of 120 carriers, median", at_120, 500, "us");
  // No faster than the square of the carriers.
  report.judge("from 120 to 240 carriers, times", at_240 / at_120, 4.0, "");
  report.judge("from 40 to 240 carriers, times", at_240 / at_40, 36.0, "");
  edits_of(120, rounds(2000), report);
  others_of(120, rounds(20), report);
  return report.met ? 0 : 1;
}
