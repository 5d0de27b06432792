// Readings of the winding and of what turns in it: resistance, surge waves, back-EMF, temperature rise, what was seen.
#include "standards/errors.h"
#include "testing/judge_reading.h"
#include "testing/programme_steps.h"

namespace coilwright::testing {

namespace {

// Three readings answer their balance and, where one is expected, their value.
template <class ThreeReadings>
absl::StatusOr<JudgedReading> BalanceAndValue(absl::StatusOr<ThreeReadings> judged) {
  if (!judged.ok()) return judged.status();
  JudgedReading out;
  out.tests.push_back(judged->balance);
  if (judged->expected) out.tests.push_back(*judged->expected);
  out.detail = *std::move(judged);
  return out;
}

}  // namespace

absl::StatusOr<JudgedReading> Judge(const ReadingContext& x, const LineResistances& reading) {
  ResistanceCase c;
  c.connection = x.c.connection;
  c.metal = x.c.metal;
  c.preset = x.preset;
  c.unbalance_percent = x.c.programme.resistance_unbalance_percent;
  c.concentric = x.c.concentric;
  c.expected_line_to_line_ohms_20c = x.expected_ohms;
  c.expected_as_measured = x.c.expected_ohms_as_measured;
  c.shop_margin_ratio = x.c.shop_margin_ratio;
  c.parallel_circuits = x.c.parallel_circuits;
  c.coils_per_phase = x.c.coils_per_phase;
  c.turns_per_coil = x.c.turns_per_coil;
  return BalanceAndValue(JudgeResistance(c, reading));
}

absl::StatusOr<JudgedReading> Judge(const ReadingContext& x, const SurgeReading& reading) {
  SurgeComparisonCase c;
  c.sample_seconds = reading.sample_seconds;
  c.rotor_in = RotorIn(x.c.programme);
  c.induction = x.c.programme.induction;
  c.locked_at_same_position = reading.locked_at_same_position;
  c.concentric = x.c.concentric;
  c.watch = x.c.surge_watch;
  c.act = x.c.surge_act;
  const Step* step = x.Find(TestKind::kSurge);
  c.level_volts_peak = x.c.surge_level_volts_peak;
  if (!c.level_volts_peak && step != nullptr) c.level_volts_peak = step->volts;
  auto judged = CompareSurges(c, reading.waves);
  if (!judged.ok()) return judged.status();
  JudgedReading out;
  if (step != nullptr && !x.c.surge_level_volts_peak && !step->rules.empty())
    judged->test.rules.push_back(step->rules[0]);
  out.tests.push_back(judged->test);
  out.detail = *std::move(judged);
  return out;
}

absl::StatusOr<JudgedReading> Judge(const ReadingContext& x, const BackEmfReading& reading) {
  BackEmfCase c;
  c.poles = x.c.poles;
  c.magnets = x.c.magnets;
  c.percent_per_kelvin = x.c.magnet_percent_per_kelvin;
  c.expected_volts_per_krpm = x.expected_volts_per_krpm;
  c.resistance_ratio = x.resistance_ratio;
  c.shop_margin_ratio = x.c.shop_margin_ratio;
  return BalanceAndValue(JudgeBackEmf(c, reading));
}

absl::StatusOr<JudgedReading> Judge(const ReadingContext& x, const TemperatureRiseReading& reading) {
  TemperatureRiseCase c;
  c.metal = x.c.metal;
  c.preset = x.preset;
  c.thermal_class_celsius = x.c.programme.thermal_class_celsius;
  c.rated_kw = x.c.programme.rated_kw;
  c.fanless_or_potted = x.c.fanless || x.c.programme.potted;
  c.shop_margin_ratio = x.c.shop_margin_ratio;
  auto judged = JudgeTemperatureRise(c, reading);
  if (!judged.ok()) return judged.status();
  JudgedReading out;
  out.tests.push_back(judged->test);
  out.detail = *std::move(judged);
  return out;
}

absl::StatusOr<JudgedReading> Judge(const ReadingContext& x, const Observation& seen) {
  switch (seen.kind) {
    case TestKind::kVisual:
    case TestKind::kPolarity:
    case TestKind::kInductance:
    case TestKind::kCoreLoss:
    case TestKind::kSensor:
    case TestKind::kBrake:
    case TestKind::kHeater:
    case TestKind::kFeedback:
    case TestKind::kSurgeParts:
    case TestKind::kRectifier:
      break;
    default:
      return standards::InvalidField("kind", "a test with a reading of its own",
                                     "VISUAL, POLARITY, INDUCTANCE, CORE_LOSS, SENSOR, BRAKE, HEATER, FEEDBACK, "
                                     "SURGE_PARTS or RECTIFIER");
  }
  const Step* step = x.Find(seen.kind);
  JudgedTest test = NotJudged(seen.kind, step != nullptr ? step->title : "Looked at", seen.note);
  if (step != nullptr) test.limit = step->limit;
  test.limit.kind = LimitKind::kNone;
  test.verdict = seen.passed ? Verdict::kPass : Verdict::kFail;
  if (test.reason.empty()) test.reason = seen.passed ? "as it should be" : "not as it should be";
  test.suspect = seen.passed                          ? Suspect::kNothing
                 : seen.kind == TestKind::kPolarity   ? Suspect::kWrongConnection
                 : seen.kind == TestKind::kInductance ? Suspect::kShortedTurns
                                                      : Suspect::kPart;
  JudgedReading out;
  out.tests.push_back(std::move(test));
  return out;
}

}  // namespace coilwright::testing
