// SPDX-License-Identifier: Apache-2.0
#pragma once
// Noise that comes in by the antenna: what machines, lamps and switched supplies of a place
// radiate, beside what anything at T0 does.
//
// Figures: ITU-R P.372, man-made noise, the median of hours and places over kT0B in a short
// lossless vertical monopole: Fam = c − d·lg(f/MHz), in the software of ITU-R Study Group 3
// (ITU-R-HF, Noise.c), city 76.8 and 27.7, residential 72.5 and 27.7, rural 67.2 and 27.7, quiet
// rural 53.6 and 28.6. Stated for 0.3 to 250 MHz. Above 250 MHz those of all but the city are
// extrapolated here. For the city P.372-8 had a second curve above 128.9 MHz, 44.3 and 12.3, stated
// to 900 MHz (in LLAMAComm, manmade.m, MIT Lincoln Laboratory); it lies higher, and is taken: 11.1
// dB instead of 2.0 dB at 500 MHz. Above 900 MHz it is extrapolated. In a tenth of the hours and
// places it is 11.0 dB more in a city, 10.6 dB residential, 9.2 dB else (upper decile).

#include "daemon/base/words.hpp"
#include "daemon/rf/out_of_range.hpp"
#include "daemon/rf/quantities.hpp"

namespace catwalk::rf {

enum class NoisePlace { city, residential, rural, quiet_rural };
constexpr auto words_of(NoisePlace) {
  using enum NoisePlace;
  return WordTable<NoisePlace, 4>{{{"city", city},
                                   {"residential", residential},
                                   {"rural", rural},
                                   {"quiet rural", quiet_rural}}};
}
using catwalk::name_of;

// Fam over kT0B, negative where it is below. Errors: `frequency` outside 0.3 MHz to 10 GHz.
Checked<Decibel> man_made_noise(NoisePlace place, Frequency frequency);
// How far the figures for such a place are stated; beyond they are extrapolated.
Frequency stated_up_to(NoisePlace place);

// The noise factor of a chain that hears `external` over kT0B at its antenna: f = fa + fr − 1.
// Source: ITU-R P.372, § 2 (from memory), with antenna and lead at T0. Below 0 dB counts as 0: an
// antenna in a venue sees walls and people at T0 as well, and no chain hears less than with a
// source at T0. Precondition: noise_figure ≥ 0 dB.
Decibel with_external_noise(Decibel noise_figure, Decibel external);

namespace plain {
Decibel man_made_noise(NoisePlace place, Frequency frequency);
}

}  // namespace catwalk::rf
