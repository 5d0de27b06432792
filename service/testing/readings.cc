#include "testing/readings.h"

#include <algorithm>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "standards/errors.h"
#include "standards/rules.h"
#include "testing/contradictions.h"
#include "testing/programme_steps.h"
#include "testing/winding_verdict.h"

namespace coilwright::testing {
namespace {

using standards::Band;

constexpr size_t kMostReadings = 200;

// What the stage asks and what other readings say, for the reading at hand.
struct Context {
  const JudgeCase& c;
  const Programme& programme;
  standards::ConductorPreset preset = standards::ConductorPreset::kIec60034;
  std::optional<Band> expected_ohms, expected_volts_per_krpm;
  std::optional<Band> resistance_ratio;  // measured over expected, from the resistances among the readings
  bool megohms_passed = false;           // of a reading before this one

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

std::optional<Band> Expected(const std::optional<double>& low, const std::optional<double>& high) {
  if (!low || !high) return std::nullopt;
  return Band{*low, (*low + *high) / 2, *high};
}

JudgedTest NotJudged(TestKind kind, absl::string_view title, absl::string_view why) {
  JudgedTest test;
  test.kind = kind;
  test.title = std::string(title);
  test.reason = std::string(why);
  test.suspect = Suspect::kReading;
  return test;
}

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

absl::StatusOr<JudgedReading> Judge(const Context& x, const LineResistances& reading) {
  ResistanceCase c;
  c.connection = x.c.connection;
  c.metal = x.c.metal;
  c.preset = x.preset;
  c.unbalance_percent = x.c.programme.resistance_unbalance_percent;
  c.concentric = x.c.concentric;
  c.expected_line_to_line_ohms_20c = x.expected_ohms;
  c.shop_margin_ratio = x.c.shop_margin_ratio;
  c.parallel_circuits = x.c.parallel_circuits;
  c.coils_per_phase = x.c.coils_per_phase;
  c.turns_per_coil = x.c.turns_per_coil;
  return BalanceAndValue(JudgeResistance(c, reading));
}

JudgedTest RatioTest(TestKind kind, absl::string_view title, const insulation::Ratio& ratio, bool megohms_pass) {
  JudgedTest test = NotJudged(kind, title, ratio.reason);
  test.as_read = ratio.value;
  test.limit.kind = LimitKind::kNoLimitInStandard;
  test.limit.rule = ratio.rule;
  test.rules = {ratio.rule};
  if (!ratio.value || !ratio.applies) return test;
  if (ratio.minimum) {
    test.limit.kind = LimitKind::kAtLeast;
    test.limit.low = ratio.minimum;
    Decide(*ratio.value, {}, test);
    test.suspect = Suspect::kNothing;
    if (test.verdict == Verdict::kPass) {
      test.reason = "at or above its minimum";
    } else {
      test.suspect = Suspect::kMoisture;
      test.rules.push_back(rules::ieee43_suitability);
      // Up to 10 000 kVA either of the two decides.
      if (megohms_pass) test.verdict = Verdict::kMarginal;
      test.reason = "below its minimum: moisture or dirt";
    }
  } else {
    test.verdict = *ratio.value < 1 ? Verdict::kMarginal : Verdict::kPass;
    test.suspect = *ratio.value < 1 ? Suspect::kMoisture : Suspect::kNothing;
    test.reason = *ratio.value < 1 ? "the reading falls while the voltage is held: moisture or dirt"
                                   : "no standard sets a limit: compare with the same winding before";
  }
  return test;
}

absl::StatusOr<JudgedReading> Judge(const Context& x, const insulation::MegohmReading& reading) {
  const ProgrammeCase& p = x.c.programme;
  insulation::JudgementCase c;
  const InsulationEra era = EraOf(p);
  c.megohm = {p.rated_volts,    x.c.winding_kind, era.built_year,
              p.megohm_edition, p.rated_kw,       p.shop_expectation_megohms};
  c.family = era.family;
  c.thermal_class_celsius = p.thermal_class_celsius.value_or(kUsualClassCelsius);
  c.air_celsius = x.c.air_celsius;
  c.relative_humidity_percent = x.c.relative_humidity_percent;
  const auto judgement = insulation::Judge(c, {reading});
  if (!judgement.ok()) {
    std::vector<standards::FieldError> errors = standards::FieldErrorsOf(judgement.status());
    for (standards::FieldError& error : errors) {
      constexpr absl::string_view kPrefix = "readings[0].";
      if (error.field.rfind(std::string(kPrefix), 0) == 0) error.field.erase(0, kPrefix.size());
    }
    return errors.empty() ? judgement.status() : standards::InvalidFields(errors);
  }
  const insulation::JudgedReading& judged = judgement->readings[0];
  JudgedReading out;
  JudgedTest test;
  const bool whole = reading.others == insulation::OtherPhases::kTogether;
  test.kind = whole ? TestKind::kMegohms : TestKind::kPhaseMegohms;
  test.title = whole ? "Insulation resistance to frame" : "Insulation resistance, phase by phase";
  test.verdict = judged.verdict;
  test.reason = judged.reason;
  test.as_read = reading.megohms_60s;
  test.corrected = judged.megohms_40c;
  test.at_least = judged.at_least;
  test.unit = "megohms";
  test.corrected_to = "40 C";
  test.limit.kind = LimitKind::kAtLeast;
  test.limit.low = judgement->limits.minimum_megohms;
  test.limit.unit = "megohms";
  test.limit.corrected = true;
  test.limit.corrected_to = "40 C";
  test.limit.text = "whole winding after one minute";
  test.limit.rule = judgement->limits.minimum_rule;
  if (judged.megohms_40c) test.margin = *judged.megohms_40c - judgement->limits.minimum_megohms;
  test.guard_band_rule = rules::shop_megohm_guard_band;
  test.rules = judged.rules;
  if (test.verdict == Verdict::kNotValid) test.suspect = Suspect::kReading;
  if (test.verdict == Verdict::kFail || test.verdict == Verdict::kMarginal) {
    const bool earthed = reading.megohms_60s == 0 && !reading.over_range;
    test.suspect = earthed ? Suspect::kEarthFault : Suspect::kMoisture;
    test.points_to = {earthed ? "leads, terminals and slot ends first: a winding that touches the frame does not dry"
                              : "moisture or dirt; damaged insulation where drying does not lift it"};
  }
  const bool passed = test.verdict == Verdict::kPass;
  out.tests.push_back(std::move(test));
  if (reading.megohms_600s)
    out.tests.push_back(RatioTest(TestKind::kPolarizationIndex, "Polarization index, 10 min over 1 min",
                                  judged.polarization_index, passed));
  if (reading.megohms_30s)
    out.tests.push_back(
        RatioTest(TestKind::kAbsorptionRatio, "Absorption ratio, 60 s over 30 s", judged.absorption_ratio, passed));
  out.detail = judged;
  return out;
}

absl::StatusOr<JudgedReading> Judge(const Context& x, const WithstandReading& reading) {
  const ProgrammeCase& p = x.c.programme;
  WithstandAsked asked;
  asked.shop_leakage_milliamps = x.c.most_leakage_milliamps;
  const Step* step = x.Find(TestKind::kWithstandAc);
  const auto levels = WithstandLevels({p.rated_volts, p.rated_kw, p.condition, p.family});
  asked.megohms_passed = x.megohms_passed;
  asked.left_out_because = x.WhyLeftOut(TestKind::kWithstandAc);
  bool no_dc = false;
  if (step != nullptr && step->volts) {
    asked.test_volts = step->volts;
    asked.hold_seconds = step->hold_seconds;
    asked.rule = step->limit.rule;
    if (levels.ok() && reading.dc) {
      no_dc = !levels->dc.applicable;
      if (levels->dc.applicable) {
        asked.test_volts = *step->volts * levels->dc.volts / levels->ac.volts;
        asked.rule = levels->dc.rule;
      }
    } else if (levels.ok() && levels->ac_one_second.applicable && p.stage == Stage::kAssembled) {
      asked.one_second_volts = levels->ac_one_second.volts;
    }
  }
  auto judged = JudgeWithstand(asked, reading);
  if (!judged.ok()) return judged.status();
  if (no_dc && judged->verdict != Verdict::kFail) {
    judged->verdict = Verdict::kNotValid;
    judged->suspect = Suspect::kReading;
    judged->reason = levels->dc.reason;
  }
  JudgedReading out;
  out.tests.push_back(*std::move(judged));
  return out;
}

absl::StatusOr<JudgedReading> Judge(const Context& x, const SurgeReading& reading) {
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

absl::StatusOr<JudgedReading> Judge(const Context& x, const BackEmfReading& reading) {
  BackEmfCase c;
  c.poles = x.c.poles;
  c.magnets = x.c.magnets;
  c.percent_per_kelvin = x.c.magnet_percent_per_kelvin;
  c.expected_volts_per_krpm = x.expected_volts_per_krpm;
  c.resistance_ratio = x.resistance_ratio;
  c.shop_margin_ratio = x.c.shop_margin_ratio;
  return BalanceAndValue(JudgeBackEmf(c, reading));
}

absl::StatusOr<JudgedReading> Judge(const Context& x, const TemperatureRiseReading& reading) {
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

absl::StatusOr<JudgedReading> Judge(const Context& x, const Observation& seen) {
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

// What the resistances say about turns, for the back-EMF.
void TakeResistance(const JudgedReading& judged, Context& x) {
  const auto* resistance = std::get_if<PhaseResistance>(&judged.detail);
  if (resistance == nullptr || !resistance->expected || !resistance->mean_line_to_line_ohms_20c) return;
  const double ohms = *resistance->mean_line_to_line_ohms_20c;
  x.resistance_ratio = Band{ohms / x.expected_ohms->high, ohms / x.expected_ohms->nominal, ohms / x.expected_ohms->low};
}

// Three pairs read on a winding that has not three phases prove nothing, alike or not.
void LeaveOutThreePhases(const Context& x, JudgedReading& judged) {
  if (x.c.programme.three_phase) return;
  for (JudgedTest& test : judged.tests) {
    if (!ComparesThreePhases(test.kind)) continue;
    test = NotJudged(test.kind, test.title, x.WhyLeftOut(test.kind));
    judged.detail = std::monostate();
  }
}

TestKind KindOf(const Reading& reading) {
  constexpr TestKind kKinds[] = {
      TestKind::kWindingResistance, TestKind::kMegohms,         TestKind::kWithstandAc, TestKind::kSurge,
      TestKind::kBackEmf,           TestKind::kTemperatureRise, TestKind::kVisual};
  return kKinds[reading.index()];
}

// Where the fields of a reading stand in the words of the contract.
std::string PathOf(size_t i, const Reading& reading) {
  constexpr const char* kFields[] = {"resistance.line_to_line", "megohms",    "withstand", "surge", "back_emf",
                                     "temperature_rise",        "observation"};
  return absl::StrCat("readings[", i, "].", kFields[reading.index()]);
}

}  // namespace

absl::StatusOr<WindingJudgement> JudgeReadings(const JudgeCase& c, const std::vector<Reading>& readings) {
  if (readings.empty() || readings.size() > kMostReadings)
    return standards::InvalidField("readings", absl::StrCat(readings.size(), " readings"), "1 to 200 readings");
  const auto programme = TestProgramme(c.programme);
  if (!programme.ok()) return programme.status();
  Context x{c, *programme, standards::ConductorPreset::kIec60034, {}, {}, {}, false};
  if (c.programme.family != Family::kIec60034) x.preset = standards::ConductorPreset::kIeee112;
  x.expected_ohms = Expected(c.programme.expected_line_to_line_ohms_low, c.programme.expected_line_to_line_ohms_high);
  x.expected_volts_per_krpm = Expected(c.programme.expected_ke_low, c.programme.expected_ke_high);
  if (!x.expected_volts_per_krpm && c.plate_volts_per_krpm)
    x.expected_volts_per_krpm = Band::Exactly(*c.plate_volts_per_krpm);

  WindingJudgement out;
  out.readings.resize(readings.size());
  std::vector<standards::FieldError> errors;
  const auto judge = [&](size_t i) {
    auto judged = std::visit([&x](const auto& reading) { return Judge(x, reading); }, readings[i]);
    if (judged.ok()) {
      out.readings[i] = *std::move(judged);
      LeaveOutThreePhases(x, out.readings[i]);
      TakeResistance(out.readings[i], x);
      for (const JudgedTest& test : out.readings[i].tests) {
        const bool megohms = test.kind == TestKind::kMegohms || test.kind == TestKind::kPhaseMegohms;
        x.megohms_passed = x.megohms_passed || (megohms && test.verdict == Verdict::kPass);
      }
      return;
    }
    std::vector<standards::FieldError> wrong = standards::FieldErrorsOf(judged.status());
    for (standards::FieldError& error : wrong) {
      // What is expected stands beside the readings, not in one of them.
      if (!absl::StartsWith(error.field, "expected_"))
        error.field = absl::StrCat(PathOf(i, readings[i]), ".", error.field);
      errors.push_back(std::move(error));
    }
    // A rule that does not reach: the reading keeps its place.
    if (wrong.empty())
      out.readings[i].tests.push_back(NotJudged(KindOf(readings[i]), "Not judged", judged.status().message()));
  };
  // Resistances first: the back-EMF is read beside them.
  for (size_t i = 0; i < readings.size(); ++i) {
    if (std::holds_alternative<LineResistances>(readings[i])) judge(i);
  }
  for (size_t i = 0; i < readings.size(); ++i) {
    if (!std::holds_alternative<LineResistances>(readings[i])) judge(i);
  }
  if (!errors.empty()) return standards::InvalidFields(errors);
  SetAgainstEachOther(out);
  DecideWinding(c, *programme, out);
  return out;
}

}  // namespace coilwright::testing
