#pragma once

#include "absl/status/statusor.h"
#include "electric/resistance.h"

namespace coilwright::winding {

inline constexpr double kLeastHz = 1, kMostHz = 2000;

// What fixes the turns of a winding on a given core.
struct Side {
  double line_volts = 0;    // line rms, 1..50000
  double frequency_hz = 0;  // kLeastHz..kMostHz
  electric::Connection connection = electric::Connection::kStar;
  int circuits = 1;           // parallel circuits per phase, 1..120
  double winding_factor = 0;  // of the fundamental, above 0 to 1
  int coils = 0;              // in all three phases, 3..720 in thirds
  double flux_ratio = 1;      // flux per pole against a common reference, above 0 to 10
};

struct Rescaled {
  double exact_turns = 0;          // per coil, mean
  int whole_turns = 0;             // nearest whole number, at least 1
  double achieved_flux_ratio = 0;  // flux with the whole turns over the flux of the old winding
  double rounding_flux_ratio = 0;  // exact over whole turns: how far rounding alone moves the flux
  double strand_area_ratio = 0;    // new over old area of one turn that keeps the copper in the slots, for whole_turns
};

// Turns per coil of the new winding: T2 = T1 (E2/E1)(f1/f2)(kw1/kw2)(a2/a1)(C1/C2)(phi1/phi2) with E = V/sqrt(3) for
// star and V for delta; from E = sqrt(2) pi f N kw phi and N = T C/(3 a). Exact turns there and back are the identity.
// In a permanent-magnet machine the flux is the magnets': rounding then moves voltage and torque constant by the
// inverse of rounding_flux_ratio. Rule winding.redesign.turns. INVALID_ARGUMENT (fields "turns_per_coil", "from...."
// and "to....").
absl::StatusOr<Rescaled> RescaledTurns(double turns_per_coil, const Side& from, const Side& to);

}  // namespace coilwright::winding
