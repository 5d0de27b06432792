#pragma once

#include <optional>
#include <string>

#include "absl/status/statusor.h"
#include "standards/band.h"
#include "testing/readings.h"

// One reading judged, by its kind: what every reading of a machine shares, and the judges.
namespace coilwright::testing {

// What the stage asks and what other readings say, for the reading at hand.
struct ReadingContext {
  const JudgeCase& c;
  const Programme& programme;
  standards::ConductorPreset preset = standards::ConductorPreset::kIec60034;
  std::optional<standards::Band> expected_ohms, expected_volts_per_krpm;
  std::optional<standards::Band> resistance_ratio;  // measured over expected, from the resistances among the readings
  bool megohms_passed = false;                      // of a reading before this one

  const Step* Find(TestKind kind) const {
    for (const Step& step : programme.steps) {
      if (step.kind == kind && !step.left_out) return &step;
    }
    return nullptr;
  }
  std::string WhyLeftOut(TestKind kind) const {
    for (const Step& step : programme.steps) {
      if (step.kind == kind && step.left_out) return step.reason;
    }
    return "";
  }
};

// A test that proves nothing, and why.
JudgedTest NotJudged(TestKind kind, absl::string_view title, absl::string_view why);

// INVALID_ARGUMENT with fields of the reading; another error where a rule does not reach it.
absl::StatusOr<JudgedReading> Judge(const ReadingContext& x, const LineResistances& reading);
absl::StatusOr<JudgedReading> Judge(const ReadingContext& x, const insulation::MegohmReading& reading);
absl::StatusOr<JudgedReading> Judge(const ReadingContext& x, const WithstandReading& reading);
absl::StatusOr<JudgedReading> Judge(const ReadingContext& x, const SurgeReading& reading);
absl::StatusOr<JudgedReading> Judge(const ReadingContext& x, const BackEmfReading& reading);
absl::StatusOr<JudgedReading> Judge(const ReadingContext& x, const TemperatureRiseReading& reading);
absl::StatusOr<JudgedReading> Judge(const ReadingContext& x, const Observation& seen);

}  // namespace coilwright::testing
