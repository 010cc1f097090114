// SPDX-License-Identifier: Apache-2.0
#pragma once
// What is lost between two isotropic antennas: in free space, over a surface that reflects, and
// among walls; and the least and the usual loss of somebody who walks about there.

#include <variant>

#include "daemon/rf/out_of_range.hpp"
#include "daemon/rf/quantities.hpp"

namespace catwalk::rf {

// 20·lg(4πdf/c) between isotropic antennas. Source: Recommendation ITU-R P.525, free-space
// attenuation. With f in MHz and d in km the constant is 32.44778 dB; P.525 rounds it to 32.4
// (0.048 dB low), other texts to 32.44 or 32.45. Here it is exact.
// No floor: below λ/4π the formula gives a gain. See received() for use near antennas.
// Errors: `distance` outside 1 mm to 10 000 km; `frequency` outside 1 Hz to 1 THz.
Checked<Decibel> free_space_loss(Frequency frequency, Metres distance);

// A smooth surface below both antennas, wider than the ground that the reflection needs (the first
// Fresnel zone): a deck, water, a hall's floor. Valid: reflection 0 to 1, heights 0.1 to 1000 m.
struct TwoRay {
  Metres antenna_height;  // over the surface
  Metres carrier_height;
  // Magnitude of the reflection coefficient, whose sign is taken to be that at grazing angles, −1.
  double reflection = 1.0;
  friend bool operator==(const TwoRay&, const TwoRay&) = default;
};

// The direct ray and the reflected one, by their phases:
//   free space − 20·lg|1 − ρ·(d/r)·e^(−j2π(r−d)/λ)|,  r = √(d² + 4·h1·h2)
// `distance`: d, from antenna to antenna, not along the ground. Both antennas are taken to send and
// hear as much downwards as straight ahead. Source: geometry, and interference of two waves; the
// far limit 40·lg d − 20·lg(h1·h2) is in every textbook (W. C. Jakes, from memory). Errors: as
// free_space_loss; `reflection`, `antenna_height`, `carrier_height` outside their ranges.
Checked<Decibel> two_ray_loss(Frequency frequency, Metres distance, const TwoRay& over);

// 4·h1·h2/λ: there the two ways differ by half a wave, which is the last maximum; beyond it nothing
// but a fall is left, by 40 dB a decade in the end where all is reflected. Source: Recommendation
// ITU-R P.1411, § 4.1.2 (R_bp). Others put 4π·h1·h2/λ there, where the far limit meets free space.
// Precondition: frequency > 0.
Metres breakpoint(Frequency frequency, const TwoRay& over);

// Among walls and people: beyond the first metre, which is free space, so many decibels a decade.
// Valid: 10 to 60 dB. Free space has 20.
inline constexpr auto indoor_from = Metres::of(1.0);
struct Indoor {
  Decibel loss_per_decade;
  friend bool operator==(const Indoor&, const Indoor&) = default;
};

// Free space up to 1 m, from there on L(1 m) + N·lg d. Source: Recommendation ITU-R P.1238, the
// older form 20·lg f(MHz) + N·lg d + L_f − 28, of which the figures stand in encyclopaedias: N is
// 33 in an office and 20 in a market hall at 0.9 GHz, 28 in a house at 1.8 GHz. Its −28 is the loss
// of the first metre, rounded; here that is exact, −27.552, so 0.448 dB more. The loss of floors
// (L_f) is an extra loss. Stated for 0.9 GHz and more and from 1 m on, below that an
// extrapolation.
// Errors: as free_space_loss; `loss_per_decade` outside its range.
Checked<Decibel> indoor_loss(Frequency frequency, Metres distance, const Indoor& among);

struct FreeSpace {
  friend bool operator==(const FreeSpace&, const FreeSpace&) = default;
};
using Propagation = std::variant<FreeSpace, TwoRay, Indoor>;

// Of somebody who moves: at this distance from the antenna or beyond it, and up to it.
struct LossRange {
  Decibel least;  // for the strongest that may come in
  Decibel usual;  // for the weakest, fading apart: neither falls as the distance grows
  friend bool operator==(const LossRange&, const LossRange&) = default;
};

// In free space both are its loss. Else what is sure enough for a limit:
//   two-ray  least: both rays in phase, 20·lg(1 + ρ) less than free space, wherever that is: nobody
//            holds a height to a fraction of a wave. usual: free space up to the breakpoint, beyond
//            it the two rays where they lose more. In front of the breakpoint the median over all
//            phases loses less, by 10·lg(1 + ρ²), which is not promised; the nulls there, as deep
//            as 20·lg((1 + ρ)/(1 − ρ)) below the maxima, are fading and want a margin of its own.
//   indoor   least: the less of free space and indoor_loss(), for now and then nothing stands
//            between. usual: indoor_loss().
// Errors: as the functions above.
Checked<LossRange> loss_range(Frequency frequency, Metres distance, const Propagation& over);

}  // namespace catwalk::rf
