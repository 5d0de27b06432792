#pragma once

#include <optional>
#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "absl/strings/string_view.h"
#include "standards/band.h"

// What the switching of a drive does to a winding at the end of a cable.
namespace coilwright::testing {

// Where the bus stands while the peak is asked for. A drive that can brake into its resistor lifts the bus to the
// threshold of its chopper, so anything less has to be chosen.
enum class BusBasis { kBraking, kMainsHighLine, kMainsPeak, kMainsLoaded };

struct DriveStressCase {
  double rated_volts = 0;  // winding, line-to-line rms
  // One or both.
  std::optional<double> mains_volts;   // of the drive, line-to-line rms
  std::optional<double> dc_bus_volts;  // known: used as it is, whatever the basis
  BusBasis bus_basis = BusBasis::kBraking;

  double cable_metres = 0;
  // One of the two; a straight ramp takes 0.8 of its time from 10 to 90 %.
  std::optional<double> rise_time_10_90_us, rise_time_0_100_us;
  // One of the two or none: 130 to 180 m/us, the slow end decides.
  std::optional<double> cable_velocity_metres_per_us, relative_permittivity;
  // G, or both impedances, or by size: 0.95, from 150 kW on 0.6..0.8. The upper end decides.
  std::optional<double> load_reflection;
  std::optional<double> cable_ohms, motor_ohms;
  std::optional<double> rated_kw;
  double source_reflection = -1;  // of the drive; only the lattice uses it
  std::optional<double> own_limit_volts_peak;
};

enum class DriveLimitKind { kPart30, kPart31, kPart31Older, kOwn };

// The peak held against one limit, by the envelope.
struct DriveLimit {
  DriveLimitKind kind = DriveLimitKind::kOwn;
  std::string title;  // "NEMA MG 1 part 30, general purpose motors"
  double limit_volts_peak = 0;
  std::optional<double> least_rise_time_10_90_us;  // that the limit is meant for
  bool peak_within = false;
  std::optional<bool> rise_time_within;  // of the drive; a cable only lengthens it
  // The longest cable that keeps the peak within the limit at this rise time. Absent with any_length: none breaks it;
  // absent without: the bus alone does. From the slowest and fastest wave on usual cables where the velocity was not
  // given.
  bool any_length = false;
  std::optional<standards::Band> safe_cable_metres;
  // The shortest at this cable length, not below the limit's own. Absent where the bus alone breaks the limit.
  std::optional<double> safe_rise_time_10_90_us;
  absl::string_view rule;
};

enum class StressClass { kA, kB, kC, kD, kBeyondD };  // IEC 60034-18-41: benign, moderate, severe, extreme

// Peak-to-peak voltage across one part of the insulation and the impulse voltage insulation class it needs.
struct ImpulseStress {
  double volts_peak_to_peak = 0;
  double multiple = 0;  // of the rated voltage
  StressClass needs = StressClass::kBeyondD;
};

struct DriveStress {
  standards::Band dc_bus_volts;  // the upper end decides
  // Set where bus and rated volts do not belong together, in words: one of the two is wrong and no figure below holds
  // before that is cleared.
  std::optional<std::string> bus_doubt;
  std::optional<double> mains_peak_volts, mains_loaded_volts, mains_high_line_volts;
  absl::string_view bus_rule, reflection_rule, velocity_rule;
  standards::Band load_reflection;
  standards::Band velocity_metres_per_us;
  double rise_time_10_90_us = 0, rise_time_0_100_us = 0;
  double critical_metres = 0;                            // from here on full doubling
  double volts_peak = 0;                                 // between two phases at the terminals: not more than
  double overshoot = 0;                                  // over the bus
  double lattice_overshoot = 0, lattice_volts_peak = 0;  // lossless cable, exact
  std::vector<DriveLimit> limits;
  StressClass stress = StressClass::kBeyondD;  // by the overshoot
  ImpulseStress phase_to_phase, phase_to_ground;
  std::vector<std::string> meaning;  // for film, phase insulation and what stands between drive and motor
  std::vector<std::string> notes, cautions;
  std::vector<absl::string_view> rules;
};

// Peak at the end of a lossless line over the step of the source, for a ramp that lasts `ramp_over_delay` one-way
// delays (0: a step), with the reflections `source` and `load` in -1..1:
//   (1 - source)/2 (1 + load) sum q^k max(0, 1 - 2k/ramp_over_delay), q = source x load <= 0;
//   (1 - source)/2 (1 + load) / (1 - q), approached from below, for q > 0.
// Each return adds a ramp of its own, q^k as high and 2k delays later. While the first ramp runs, the sum rises
// (partial sums of an alternating falling series are not below 0); after it, the distance from the final value is q
// times what it was two delays before. So the peak stands where the first ramp ends. Exact to rounding. ramp_over_delay
// >= 0; a source of 1 gives 0, as no wave enters.
double LatticeOvershoot(double ramp_over_delay, double source, double load);

// 1 + load x min(1, length / critical length), critical length = velocity x ramp / 2.
double EnvelopeOvershoot(double length_over_critical, double load);

// Peak "not more than" by the envelope at the upper end of bus and reflection and the slow end of velocity; limits of
// NEMA MG 1 parts 30 and 31, the older part 31 and the caller's; whether a drive on this bus can feed this winding (at
// most bus / sqrt(2), line to line rms); stress class and insulation class of IEC 60034-18-41. INVALID_ARGUMENT for
// every wrong field in the words of the contract, and where no usual chopper threshold is known for the mains.
absl::StatusOr<DriveStress> AssessDriveStress(const DriveStressCase& stress_case);

}  // namespace coilwright::testing
