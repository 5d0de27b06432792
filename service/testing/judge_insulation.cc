// Readings of the insulation: megohms with their ratios, and the withstand test.
#include "standards/errors.h"
#include "standards/rules.h"
#include "testing/judge_reading.h"
#include "testing/programme_steps.h"

namespace coilwright::testing {
namespace {

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

}  // namespace

absl::StatusOr<JudgedReading> Judge(const ReadingContext& x, const insulation::MegohmReading& reading) {
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

absl::StatusOr<JudgedReading> Judge(const ReadingContext& x, const WithstandReading& reading) {
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

}  // namespace coilwright::testing
