#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "standards/band.h"
#include "testing/judgement.h"

namespace coilwright::testing {

enum class MagnetMaterial { kNeodymium, kSamariumCobalt, kFerrite };

// Open-circuit volts of a driven machine, line to line, rms, in the order U-V, V-W, W-U; absent: not read.
struct BackEmfReading {
  std::array<std::optional<double>, 3> volts_rms;
  std::optional<double> speed_rpm;
  std::optional<double> frequency_hz;  // electrical; with the poles it gives the speed, or proves it
  std::optional<double> magnet_celsius;
  double uncertainty_ratio = 0;  // of the volts, k = 2
};

struct BackEmfCase {
  std::optional<int> poles;
  std::optional<MagnetMaterial> magnets;
  std::optional<double> percent_per_kelvin;  // of the magnets, where their sheet gives it; below zero
  // Line-to-line rms volts per 1000 rpm with the magnets at 20 C: a plan's band, or the plate's value as all three.
  std::optional<standards::Band> expected_volts_per_krpm;
  // Measured over expected line-to-line resistance at 20 C, and how far it may be off; tells magnets from turns.
  std::optional<standards::Band> resistance_ratio;
  double shop_margin_ratio = 0;
};

enum class BackEmfCause {
  kWeakMagnets,
  kWrongTurns,       // all coils
  kWrongConnection,  // star for delta, or another number of circuits
  kReversedPhase,
  kPhaseTurns,  // turns of one phase shorted or miscounted
};

struct BackEmfExplanation {
  BackEmfCause cause = BackEmfCause::kWeakMagnets;
  std::string phase;                  // of the last two
  std::optional<double> turns_ratio;  // found over expected: of all coils, or of the one phase over the others
  std::string text;
};

struct BackEmf {
  std::optional<double> speed_rpm;  // used
  std::array<std::optional<double>, 3> volts_per_krpm_20c;
  std::optional<standards::Band> mean_volts_per_krpm_20c;  // the band that of the magnets' coefficient and the reading
  std::optional<double> unbalance_percent;
  JudgedTest balance;
  std::optional<JudgedTest> expected;            // where a value was given
  std::vector<BackEmfExplanation> explanations;  // everything that fits; none where nothing is wrong or nothing fits
};

// Voltage constant k = V / (n / 1000), to 20 C magnet temperature by k / (1 + a (T - 20)) with the coefficient of the
// material (range) or of its sheet; without a temperature 20 C is taken and said. Balance: greatest deviation from the
// mean of three. Against the expected value: a plan's band as it stands; a single value within the shop's watch (5 %,
// pass) and act (10 %, fail).
//
// What moved it, by which of the three moved and with the resistance:
//   all alike, resistance as expected           magnets weak; above the expectation a reading to take again
//   all alike by m, resistance by m or m^2      turns: the same wire, or the same copper
//   all alike by sqrt(3) or its inverse, R 3    star for delta; by n, R n^2: circuits
//   two pairs at 1/sqrt(3) of the third, R as it was   the phase they share is reversed (star)
//   two pairs alike at r of the third           the phase they share has m turns: r^2 = (m^2 + m + 1) / 3 (star)
// Not valid: no voltage at all (the shaft, its coupling or the magnets: an open winding shows in the resistances), no
// speed, fewer than three readings for the balance, speed and frequency that contradict each other.
// INVALID_ARGUMENT with every wrong field: volts 0..50000, speed 1..100000 rpm, poles 2..200 even, and so on.
absl::StatusOr<BackEmf> JudgeBackEmf(const BackEmfCase& back_emf_case, const BackEmfReading& reading);

// What may be wrong with the reading or the expectation instead: the factors of a slip, and for every value above the
// expected one, which weak magnets cannot give. `mean` of the three over the expected constant.
std::vector<std::string> BackEmfSlips(double mean);

// The explanations alone; `pairs` are the three constants at 20 C over the expected one (over their own mean where
// nothing is expected).
std::vector<BackEmfExplanation> ExplainBackEmf(const std::array<double, 3>& pairs, bool expected,
                                               const std::optional<standards::Band>& resistance_ratio);

}  // namespace coilwright::testing
