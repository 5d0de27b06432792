#pragma once

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "absl/status/statusor.h"
#include "insulation/judgement.h"
#include "testing/back_emf.h"
#include "testing/phase_resistance.h"
#include "testing/surge_compare.h"
#include "testing/temperature_rise.h"
#include "testing/withstand_reading.h"

namespace coilwright::testing {

// The waves of one surge test and how they were taken.
struct SurgeReading {
  std::vector<SurgeWave> waves;
  double sample_seconds = 0;
  bool locked_at_same_position = false;
};

// What was looked at or tried, without a figure: visual, polarity, inductance, core, sensor, brake.
struct Observation {
  TestKind kind = TestKind::kVisual;
  bool passed = false;
  std::string note;
};

using Reading = std::variant<LineResistances, insulation::MegohmReading, WithstandReading, SurgeReading, BackEmfReading,
                             TemperatureRiseReading, Observation>;

// The machine, the stage and the shop's choices. Expected values stand in `programme`.
struct JudgeCase {
  ProgrammeCase programme;
  insulation::WindingKind winding_kind = insulation::WindingKind::kRandomWound;
  electric::Connection connection = electric::Connection::kStar;
  standards::Metal metal = standards::Metal::kCopper;
  bool concentric = false;
  std::optional<int> parallel_circuits, coils_per_phase, poles;
  std::optional<double> turns_per_coil;
  std::optional<MagnetMaterial> magnets;
  std::optional<double> magnet_percent_per_kelvin;
  bool expected_ohms_as_measured = false;      // of an earlier reading of this winding, not predicted
  std::optional<double> plate_volts_per_krpm;  // line-to-line rms; used where no band is expected
  bool fanless = false;
  std::optional<double> air_celsius, relative_humidity_percent;
  // The shop's own.
  double shop_margin_ratio = 0;  // on the better side of every limit
  std::optional<double> surge_watch, surge_act, surge_level_volts_peak, most_leakage_milliamps;
};

// One reading judged: the tests it answers, and what was worked out of it.
struct JudgedReading {
  std::vector<JudgedTest> tests;
  std::variant<std::monostate, PhaseResistance, SurgeComparison, BackEmf, TemperatureRise, insulation::JudgedReading>
      detail;
};

enum class WindingVerdict {
  kSound,                       // every test that decides passed, turn insulation among them
  kNoFaultFoundTurnsNotTested,  // all passed, but no valid turn test
  kUndecided,                   // a test that decides is missing, not valid or marginal
  kDryOut,
  kRepairConnection,  // open, badly joined or wrongly connected: may be outside the slots
  kMagnetsWeak,       // the winding is not at fault
  kRewind
};

// A test of this stage's programme without a reading.
struct MissingTest {
  TestKind kind = TestKind::kVisual;
  std::string title;
  bool decides = false;  // the verdict waits for it
};

struct WindingJudgement {
  WindingVerdict verdict = WindingVerdict::kUndecided;
  std::string summary;
  std::vector<std::string> reasons;     // the readings that made it so, in words
  std::vector<std::string> next_steps;  // in order
  std::optional<double> dry_out_most_celsius;
  std::vector<std::string> dry_out_limited_by;
  bool turn_insulation_tested = false;
  std::vector<JudgedReading> readings;  // in the order given
  std::vector<MissingTest> missing;
  std::vector<std::string> notes, cautions;
  std::vector<absl::string_view> rules;
};

// One verdict per test and one for the winding. A reading that cannot be judged keeps its place as not valid.
//
// The verdict of the winding, first that applies:
//   rewind             a breakdown, an earth fault, shorted turns, or wrong turns (as received: by two tests)
//   repair connection  an open or bad joint, a wrong connection, a reversed phase
//   dry out            megohms (marginal ones too), index or leakage speak of moisture
//   undecided          a test that decides is missing or not valid, or any test is marginal
//   magnets weak
//   no fault found, turn insulation not tested    resistance, megohms and withstand do not see a shorted turn
//   sound
// Megohms and resistance always decide; at the stages of a rewind also phase megohms, polarity, withstand and, with
// magnets, the back-EMF at release, where the programme has them. Readings stand in the order they were taken: a
// withstand test with no megohms that passed before it is no plain pass. Readings that were taken again after work on
// the winding replace the earlier ones: send only the later. INVALID_ARGUMENT with every wrong field of case and
// readings
// ("readings[i].surge.waves[0].volts"), of no reading or more than 200.
absl::StatusOr<WindingJudgement> JudgeReadings(const JudgeCase& judge_case, const std::vector<Reading>& readings);

}  // namespace coilwright::testing
