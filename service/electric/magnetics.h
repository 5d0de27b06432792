#pragma once

#include "absl/status/statusor.h"
#include "absl/strings/string_view.h"
#include "electric/resistance.h"

namespace coilwright::electric {

// Functions here that return a bare number take finite, positive arguments; callers check what a person entered.

// 4.44 f N kw phi with the exact sqrt(2) pi, not 4.44. Volts of one phase; phi is the flux per pole.
double EmfVoltsRms(double frequency_hz, double series_turns, double winding_factor, double flux_webers);
double FluxWebers(double phase_emf_volts, double frequency_hz, double series_turns, double winding_factor);

// Core dimensions for flux densities. mm.
struct Core {
  double bore_mm = 0;
  double length_mm = 0;           // gross stack
  double stacking_factor = 0.95;  // 0.5..1
  double tooth_width_mm = 0;      // least; 0 leaves the tooth out
  double back_iron_mm = 0;        // depth behind the slot; 0 leaves it out
  int slots = 0;
  int poles = 0;
};

struct FluxDensities {
  double air_gap_mean_teslas = 0;
  double air_gap_peak_teslas = 0;  // sine: pi/2 of the mean
  double tooth_teslas = 0;         // 0 when the width is not known
  double back_iron_teslas = 0;
};

// Of a flux per pole above 0 to 100 Wb. No leakage, sine field, the gap as long as the stack. INVALID_ARGUMENT with the
// names of the fields of Core, or "flux_webers".
absl::StatusOr<FluxDensities> Densities(const Core& core, double flux_webers);

// Share of the terminal voltage that is emf in an induction motor, by rated power in kW: 0.82..0.93 below about 1 kW,
// 0.95..0.98 above. Between 0.5 and 2 kW both ends move linearly with log(power), so that no motor jumps from one habit
// to the other. Common practice, from memory. Nominal is the middle of the band. Without a rating (zero, NaN):
// 0.82..0.98.
standards::Band EmfShare(double rated_kw);

// J = I_phase / (circuits * area of all wires in hand), with I_phase = I_line (star) or I_line/sqrt(3) (delta).
double CurrentDensityAPerMm2(double line_amps_rms, Connection connection, int circuits, double strand_area_mm2);
double CmilPerAmp(double a_per_mm2);

}  // namespace coilwright::electric
