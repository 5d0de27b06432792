#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "testing/judgement.h"
#include "testing/ring_fit.h"

namespace coilwright::testing {

// Between which leads a wave was taken; a single letter is a phase by itself, or against the other two together.
enum class WavePoint { kUV, kVW, kWU, kU, kV, kW };
const char* NameOf(WavePoint point);  // "U-V", "W"

struct SurgeWave {
  WavePoint point = WavePoint::kUV;
  std::vector<double> volts;
  // The same coil at a lower voltage: a breakdown shows as a change of shape. May be empty.
  std::vector<double> volts_at_lower_level;
};

struct SurgeComparisonCase {
  double sample_seconds = 0;  // between samples, of all waves
  bool rotor_in = false;
  bool induction = false;                // a cage rotor; any other, unknown too, may move the waves by its position
  bool locked_at_same_position = false;  // rotor locked at the same electrical position for each wave
  bool concentric = false;
  // Set-points for the waveform difference ratio; the shop's, no standard sets any. Absent: programme_settings.csv.
  std::optional<double> watch, act;
  std::optional<double> level_volts_peak;  // asked for at this stage
};

struct WaveDifference {
  size_t first = 0, second = 0;             // of the waves
  double waveform_difference_ratio = 0;     // sum |F1 - F2| / sum |F1|
  std::optional<double> frequency_shift;    // second over first, less 1
  std::optional<double> inductance_change;  // (natural f1 / natural f2)^2 - 1
};

struct WaveFinding {
  WavePoint point = WavePoint::kUV;
  std::optional<Ring> ring;
  std::string no_ring_reason;  // why there is none
  bool too_coarse = false;     // too few samples to follow a ring, let alone a step in it
  double peak_volts = 0;
  bool collapsed = false;                        // a step no ring makes: the voltage broke down within the wave
  std::optional<double> collapse_microseconds;   // after the first sample
  bool strays = false;                           // a sample far off the curve, which goes on behind it: interference
  std::optional<double> level_difference_ratio;  // against the lower level, both over their peaks
};

struct SurgeComparison {
  JudgedTest test;
  double watch = 0, act = 0;                // set-points used
  std::vector<WaveFinding> waves;           // in the order given
  std::vector<WaveDifference> differences;  // every pair, in order; empty where they may not be compared
  bool turn_insulation_tested = false;      // all three phases compared at the level: a pass counts as a turn test
};

// Sum of |a - b| over sum of |a|, over the samples both have. `a` must not be all zero.
double WaveformDifferenceRatio(const std::vector<double>& a, const std::vector<double>& b);

// Compares two or three surge waves of one winding and, where lower-level waves are given, each with itself. A shorted
// turn lowers the inductance: the ring is faster, f = 1/(2 pi sqrt(LC)).
// Pass: every ratio at most `watch` and no breakdown. Marginal: at most `act`, or a peak more than 10 % over the level
// asked for. Fail: above, or a breakdown: a step of the voltage that does not return to its curve. Not valid: a rotor
// other than of an induction machine not locked at the same electrical position for each wave (a breakdown still
// fails), a peak more than 3 % below the level asked for, one wave alone, too few samples a period, no ring to compare,
// samples that stray off their curve, and rings alike in frequency and damping whose waves differ all the same: where
// they begin, their voltage, offset, a record cut off, noise. A pass counts as a turn test only with all three phases
// compared: a shorted turn in the lead two pairs share moves both alike. INVALID_ARGUMENT: no wave, more than three,
// two of one point, samples not in -1e6..1e6 V or more than 20000, watch above act, sample time outside 1e-10..1e-2 s.
absl::StatusOr<SurgeComparison> CompareSurges(const SurgeComparisonCase& surge_case,
                                              const std::vector<SurgeWave>& waves);

}  // namespace coilwright::testing
