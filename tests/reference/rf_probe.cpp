// SPDX-License-Identifier: Apache-2.0
// Computes with daemon/rf what the lines on its input ask for, so that other programs can compare.
// One line of numbers out for one line in:
//   filter butterworth|chebyshev ORDER EDGE_LOSS_DB LOW_HZ HIGH_HZ Q FREQUENCY_HZ …   → dB …
//       Q 0: without losses
//   measured COUNT (FREQUENCY_HZ DB) … FREQUENCY_HZ …                                  → dB …
//   intermodulation IIP3_DBM COUNT (FREQUENCY_HZ LEVEL_DBM) … CHANNEL_HZ …             → dBm …
//   filtered-intermodulation ORDER EDGE_LOSS_DB LOW_HZ HIGH_HZ, then as intermodulation
//       the carriers are attenuated by a Chebyshev band-pass first
#include <cstdint>
#include <cstdio>
#include <istream>
#include <optional>
#include <string>
#include <vector>

#include "daemon/rf/intermodulation_search.hpp"
#include "daemon/rf/response.hpp"
#include "tests/reference/probe.hpp"

namespace {

using namespace catwalk::rf;
using catwalk::test::read;
using catwalk::test::read_frequency;
using catwalk::test::require;

std::vector<Frequency> read_rest(std::istream& in) {
  std::vector<Frequency> all;
  std::int64_t hertz = 0;
  while (in >> hertz) all.push_back(Frequency::hertz(hertz));
  return all;
}

BandPassDesign read_design(std::istream& in, FilterShape shape) {
  BandPassDesign design{shape, read<int>(in), {}, {}};
  design.edge_loss = Decibel::of(read<double>(in));
  design.edges.low = read_frequency(in);
  design.edges.high = read_frequency(in);
  return design;
}

void print_attenuation(const FilterResponse& response, std::istream& in) {
  for (const auto at : read_rest(in)) std::printf("%.9f ", attenuation(response, at).value());
}

void filter(std::istream& in) {
  const bool flat = read<std::string>(in) == "butterworth";
  const auto design = read_design(in, flat ? FilterShape::butterworth : FilterShape::chebyshev);
  const auto q = read<double>(in);
  if (q == 0.0) {
    print_attenuation(require(IdealBandPass::make(design)), in);
  } else {
    print_attenuation(require(LossyBandPass::make(design, q)), in);
  }
}

void measured(std::istream& in) {
  std::vector<ResponsePoint> points(read<std::size_t>(in));
  for (auto& point : points) {
    point.frequency = read_frequency(in);
    point.attenuation = Decibel::of(read<double>(in));
  }
  print_attenuation(require(MeasuredResponse::make(points)), in);
}

void intermodulation(std::istream& in, const std::optional<FilterResponse>& before) {
  const auto intercept = PowerLevel::dbm(read<double>(in));
  std::vector<Tone> tones(read<std::size_t>(in));
  for (auto& tone : tones) {
    tone.frequency = read_frequency(in);
    tone.level = PowerLevel::dbm(read<double>(in));
    if (before) tone.level = tone.level - attenuation(*before, tone.frequency);
  }
  std::vector<Band> channels;
  for (const auto at : read_rest(in)) channels.push_back({at, at});
  const IntermodulationSearch search{tones, channels};
  for (std::size_t i = 0; i < channels.size(); ++i) {
    std::printf("%.9f ", search.level(i, intercept).dbm());
  }
}

Emission read_emission(std::istream& in) {
  const auto word = read<std::string>(in);
  const auto modulation = catwalk::named<Modulation>(word);
  if (!modulation) {
    std::fprintf(stderr, "no modulation: '%s'\n", word.c_str());
    std::exit(2);
  }
  return {read_frequency(in), *modulation};
}

// What of a product lies in a channel beside it; of 2a − c more where a's envelope varies.
void share(std::istream& in) {
  const bool twice = read<int>(in) == 1;
  const auto a = read_emission(in);
  const auto b = read_emission(in);
  const auto c = read_emission(in);
  const auto beside = read<double>(in);
  const auto half = read<double>(in) / 2;
  const auto part = share_between(beside - half, beside + half,
                                  twice ? widths_of_twice(a, c) : widths_of(a, b, c));
  std::printf("%.9f ", part * (twice ? a.power_twice() : 1.0));
}

// The same of 3a − 2b.
void fifth_share(std::istream& in) {
  const auto thrice = read_emission(in);
  const auto twice = read_emission(in);
  const auto beside = read<double>(in);
  const auto half = read<double>(in) / 2;
  const auto part = share_between(beside - half, beside + half, widths_of_thrice(thrice, twice));
  std::printf("%.9f ", part * thrice.power_thrice() * twice.power_twice());
}

}  // namespace

int main() {
  return catwalk::test::answer_lines(
      {{"filter", filter},
       {"measured", measured},
       {"intermodulation", [](std::istream& in) { intermodulation(in, std::nullopt); }},
       {"filtered-intermodulation",
        [](std::istream& in) {
          const auto design = read_design(in, FilterShape::chebyshev);
          intermodulation(in, require(IdealBandPass::make(design)));
        }},
       {"share", share},
       {"fifth-share", fifth_share}});
}
