#pragma once

#include <array>

#include "absl/status/statusor.h"
#include "absl/strings/string_view.h"
#include "standards/band.h"
#include "standards/conductors.h"
#include "standards/rule_ids.h"

namespace coilwright::electric {

enum class Connection { kStar, kDelta };

// The copper of one winding, enough for resistance and mass.
struct WindingCopper {
  double coils = 0;           // in all three phases
  double turns_per_coil = 0;  // mean
  int circuits = 1;           // parallel circuits per phase
  Connection connection = Connection::kStar;
  standards::Band mean_turn_m;
  standards::Band strand_area_mm2;  // all wires in hand together, bare
  standards::Metal metal = standards::Metal::kCopper;
  standards::Resistivity resistivity = standards::Resistivity::kIecWindingWire;
  standards::ConductorPreset preset = standards::ConductorPreset::kIec60034;
};

struct WindingResistance {
  double celsius = 0;
  standards::Band phase_ohms;         // one phase, all its circuits in parallel
  standards::Band line_to_line_ohms;  // star 2 R, delta 2/3 R
};

// R_ph = rho MLT T C / (3 a^2 A), low and high from the tolerances of wire, resistivity and mean turn combined: the
// band is the root sum of squares of their half widths, not the sum of extremes. A is every wire in hand of one turn of
// one circuit. INVALID_ARGUMENT as CheckCopper in electric/copper.h; FAILED_PRECONDITION for a temperature the preset
// does not cover.
absl::StatusOr<WindingResistance> PredictResistance(const WindingCopper& copper, double celsius);

double LineToLineFromPhase(Connection connection, double phase_ohms);
double PhaseFromLineToLine(Connection connection, double line_to_line_ohms);

// Star or delta phase values from the three readings U-V, V-W, W-U. INVALID_ARGUMENT (field "line_to_line_ohms") for a
// triple that no winding can give. Order: star U, V, W; delta U-V, V-W, W-U.
absl::StatusOr<std::array<double, 3>> PhaseValues(Connection connection,
                                                  const std::array<double, 3>& line_to_line_ohms);

inline constexpr absl::string_view kPhaseValuesRule = rules::electric_line_to_line;

// 100 * greatest deviation from the mean / mean, of positive values.
double UnbalancePercent(const std::array<double, 3>& values);

// Bare metal of the whole winding in kg, without leads, of a winding that CheckCopper accepts.
standards::Band CopperKg(const WindingCopper& copper);

}  // namespace coilwright::electric
