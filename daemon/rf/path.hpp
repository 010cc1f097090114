// SPDX-License-Identifier: Apache-2.0
#pragma once
// From a transmitter to the terminals of an antenna.

#include <optional>

#include "daemon/rf/out_of_range.hpp"
#include "daemon/rf/propagation.hpp"
#include "daemon/rf/quantities.hpp"

namespace catwalk::rf {

// Where the far field begins for an antenna whose largest dimension is `aperture`: the greater of
// λ/2π, where the reactive field has fallen to the radiating one, and 2D²/λ (Fraunhofer distance).
// Source: C. A. Balanis, Antenna Theory, field regions (from memory).
// Precondition: frequency > 0; aperture ≥ 0.
Metres near_field_floor(Frequency frequency, Metres aperture = {});

// What is known of the way between a transmitter's antenna and a node's.
struct Path {
  std::optional<Metres> distance = {};
  Decibel extra_loss =
      {};                // bodies, walls, polarization, a null: entered by the user; not negative
  Metres aperture = {};  // largest dimension of the larger antenna; 0 counts λ/2π only
  // How far below the transmitter's e.r.p. the level at the node's antenna terminals was measured,
  // the node antenna's gain included. Wins over whatever would be computed.
  std::optional<Decibel> measured_isolation = {};
  Propagation over = FreeSpace{};
  // Which loss counts where the way has a least and a usual one: LossRange.
  enum class Level { strongest, weakest } level = Level::strongest;
  friend bool operator==(const Path&, const Path&) = default;
};

struct Reception {
  PowerLevel level;  // at the antenna terminals
  // Of its distance: in free space, as indoors within indoor_from, over or among something else, or
  // taken to be the edge of the near field.
  enum class From {
    measurement,
    free_space,
    two_ray,
    indoor,
    near_field_floor
  } from = From::free_space;
  friend bool operator==(const Reception&, const Reception&) = default;
};

// Level at the terminals of an antenna with `antenna_gain` (dBi, towards the transmitter):
//   e.r.p. + 2.15 dB − loss of the way (loss_range) + antenna gain − extra loss.
// A distance inside the near field counts as its edge: the formulas would promise more power than
// was sent, and nothing better is known there without measuring. `from` says that this was done.
// Errors: `distance` when neither it nor a measurement is there, or outside 0 to 10 000 km;
// `frequency` outside 1 Hz to 1 THz; `extra_loss` outside 0 to 300 dB; `aperture` outside 0 to
// 100 m; `measured_isolation` outside −50 to 300 dB; those of loss_range().
Checked<Reception> received(Erp transmitter, Frequency frequency, const Path& path,
                            Decibel antenna_gain);

// Level in a matched antenna of `antenna_gain` (dBi) in a field of so many dBµV/m:
// E + G − 20·lg f(MHz) − 77.2156 (50 Ω or any other matched load; the constant is
// lg of c²/(4π·Z0) with Z0 = 376.730 Ω). Source: ITU-R P.525, § 4 (from memory), recomputed.
// Errors: `frequency` outside 1 Hz to 1 THz.
Checked<PowerLevel> level_from_field(double field_dbuv_per_metre, Frequency frequency,
                                     Decibel antenna_gain);

// Field strength in dBµV/m that `transmitter` makes at `distance`: e = √(30·p)/d.
// Source: Recommendation ITU-R P.525-2, Annex 1, equation 1.
// Errors: `distance` outside 1 mm to 10 000 km.
Checked<double> field_strength(Eirp transmitter, Metres distance);

}  // namespace catwalk::rf
