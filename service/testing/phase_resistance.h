#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "electric/resistance.h"
#include "standards/band.h"
#include "standards/conductors.h"
#include "testing/judgement.h"

namespace coilwright::testing {

// Resistance between the leads, four-wire, in the order U-V, V-W, W-U. Absent: not read. Open: the meter showed more
// than it can read.
struct LineResistances {
  std::array<std::optional<double>, 3> ohms;
  std::array<bool, 3> open{};
  double winding_celsius = 20;
  double celsius_uncertainty = 0;  // K, k = 2
  double uncertainty_ratio = 0;    // of a reading, k = 2; 0: not stated, and that of the settings is taken
};

struct ResistanceCase {
  electric::Connection connection = electric::Connection::kStar;
  standards::Metal metal = standards::Metal::kCopper;
  standards::ConductorPreset preset = standards::ConductorPreset::kIec60034;
  double unbalance_percent = 2;  // limit
  bool concentric = false;       // phases of unequal mean turn: the limit may be exceeded
  std::optional<standards::Band> expected_line_to_line_ohms_20c;
  bool expected_as_measured = false;  // the band is of ExpectedAsMeasured, and not predicted
  double shop_margin_ratio = 0;
  // For the size of a fault; what is not known leaves it in shares of a phase.
  std::optional<int> parallel_circuits, coils_per_phase;
  std::optional<double> turns_per_coil;
};

enum class ResistanceFaultKind {
  kShortedTurns,    // turns bypassed in one circuit of one phase, or turns missing
  kOpenCircuit,     // one or more of the parallel circuits of one phase
  kOpenPhase,       // all of it, or its lead
  kAddedResistance  // a joint, or turns too many
};

// One fault in one phase that would explain the readings.
struct ResistanceFault {
  ResistanceFaultKind kind = ResistanceFaultKind::kShortedTurns;
  std::string phase;                              // "U" of a star, "U-V" of a delta
  std::optional<standards::Band> share_of_phase;  // of the turns of one circuit bypassed; of the phase's ohms added
  std::optional<standards::Band> turns;           // where the turns are known
  std::optional<int> circuits;                    // open ones
  std::optional<double> added_ohms;
  std::string text;
};

struct PhaseResistance {
  // In the order of the readings; star U, V, W or delta U-V, V-W, W-U for the phases. Absent where a reading is missing
  // or the three are impossible.
  std::array<std::optional<double>, 3> line_to_line_ohms_20c;
  std::optional<std::array<double, 3>> phase_ohms_20c, phase_ohms_25c;
  std::optional<double> mean_line_to_line_ohms_20c;  // of the closed ones
  std::optional<double> unbalance_percent;           // of the readings
  std::vector<ResistanceFault> faults;     // likeliest first; none where nothing stands out of the uncertainty
  std::optional<double> least_share_seen;  // of a phase's turns shorted that these readings would show
  std::optional<double> least_turns_seen;
  JudgedTest balance;
  std::optional<JudgedTest> expected;  // where a band was given
};

// Line to line at 20 C, of a winding that was measured before and is read again: the mean of what was measured, wide
// enough that the same winding passes at its guard band. Half width: the root sum of squares of both uncertainties (of
// instrument and temperature, k = 2; the greatest of `again`), that of `again` once more, which the guard band takes
// off, and a share of the value where the machine need not be the one that was measured
// (recorded_resistance_of_another in programme_settings.csv). Absent where nothing was measured, a pair was open, or
// the preset does not cover the temperature.
std::optional<standards::Band> ExpectedAsMeasured(const LineResistances& measured,
                                                  const std::vector<LineResistances>& again, bool same_machine,
                                                  standards::Metal metal, standards::ConductorPreset preset);

// Phase values of star or delta, all values to 20 C (and the phases to 25 C) by the preset's constant, the unbalance
// 100 * greatest deviation from the mean / mean against its limit, the mean against the expected band, and the single
// fault that would explain the triple. Not valid: fewer than three readings (the value is still judged), and triples
// no winding can give: one reading above the sum of the others, or one open pair between two closed ones.
//
// Fault model: two phases healthy and alike, one with rho = its ohms over theirs. Turns bypassed in one of n circuits:
// x = 1 - 1/(n/rho - (n - 1)) of that circuit's turns; m of n circuits open: rho = n/(n - m). Copper shorts taken as
// of no resistance. The band is that of the stated uncertainty, or of an assumed one (programme_settings.csv); one turn
// shorted in 240 moves a line-to-line reading 0.2 %, which the readings cannot show, and `least_turns_seen` says so.
//
// INVALID_ARGUMENT: readings outside 1e-6..1e6 ohm, uncertainty outside 0..0.2, and so on; FAILED_PRECONDITION for a
// temperature the preset does not cover.
absl::StatusOr<PhaseResistance> JudgeResistance(const ResistanceCase& resistance_case, const LineResistances& readings);

}  // namespace coilwright::testing
