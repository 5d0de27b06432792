#pragma once

#include "absl/status/statusor.h"
#include "absl/strings/string_view.h"
#include "standards/band.h"

namespace coilwright::standards {

enum class Metal { kCopper, kAluminium };

// Whose constants a temperature conversion uses. Reported with every result.
enum class ConductorPreset { kIec60034, kIeee112, kIec60851 };

// What one preset says about one metal.
struct ConductorConstants {
  absl::string_view preset_name;  // "IEC 60034-1"
  double zero_resistance_kelvin;  // K in R2/R1 = (K + t2)/(K + t1), degrees below 0 Celsius
  absl::string_view rule;         // rule id
};

// Constants of `metal` under `preset`. IEC 60851-5 is valid for 15..25 C only; callers check with ResistanceRatio.
ConductorConstants Constants(ConductorPreset preset, Metal metal);

// R(to)/R(from) = (K + to)/(K + from). Both temperatures must lie in -60..300 C (15..25 C for IEC 60851-5):
// FAILED_PRECONDITION otherwise.
absl::StatusOr<double> ResistanceRatio(ConductorPreset preset, Metal metal, double from_celsius, double to_celsius);

// Resistivity at 20 C in ohm mm2/m: for copper winding wire nominal 1/58.5 with limits 1/59 and 1/58 (IEC 60317-0-1),
// for NEMA wire 1/58 nominal and high with 1/59 as low, the IACS value being the greatest allowed.
enum class Resistivity { kIecWindingWire, kNemaWire, kIacs };
// Aluminium: 61 % IACS (IEC 60889) nominal and high, 62 % IACS as low for winding wire.
Band ResistivityOhmMm2PerM(Resistivity which, Metal metal);
absl::string_view ResistivityRule(Resistivity which, Metal metal);  // rule id

// Density at 20 C in kg/m3: copper 8890 (IEC 60028), aluminium 2703 (IEC 60889).
double DensityKgPerM3(Metal metal);

// Density of the enamel film in kg/m3: 1350, from memory (rule density.film).
double FilmDensityKgPerM3();

}  // namespace coilwright::standards
