#include <algorithm>

#include "absl/strings/str_cat.h"
#include "insulation/constants.h"
#include "standards/range_check.h"
#include "standards/rules.h"
#include "testing/level_tables.h"
#include "testing/programme_steps.h"

namespace coilwright::testing {
namespace {

using standards::WithUnit;

constexpr absl::string_view kDewPoint = "winding warmer than the dew point of the air, dry and clean at the leads";

std::string MegohmBasis(const Bench& b) {
  std::string basis;
  switch (b.c.megohm_edition) {
    case insulation::MegohmEdition::kIeee43_2013:
      basis = "IEEE 43-2013";
      break;
    case insulation::MegohmEdition::kIeee43_2000:
      basis = "IEEE 43-2000";
      break;
    case insulation::MegohmEdition::kIeee43_1974:
      basis = "IEEE 43-1974";
      break;
    case insulation::MegohmEdition::kOneMegohmPerKilovolt:
      basis = "the old one megohm per kilovolt";
      break;
  }
  return absl::StrCat(basis, ", corrected to 40 C as ",
                      b.era.family == insulation::InsulationFamily::kThermosetting ? "thermosetting" : "thermoplastic");
}

absl::string_view CorrectionRule(const Bench& b) {
  return b.era.family == insulation::InsulationFamily::kThermosetting ? rules::ieee43_correction_thermosetting
                                                                      : rules::shop_correction_thermoplastic;
}

// Everything the four direct-voltage tests have in common; `hold_seconds` is the last reading.
Step DirectVoltage(TestKind kind, std::string title, double hold_seconds, const Bench& b) {
  Step step;
  step.kind = kind;
  step.title = std::move(title);
  step.prepare = PrepareFittedParts(b);
  step.prepare.push_back(std::string(kDewPoint));
  step.terminals = b.star_open ? PhaseByPhase(b) : WholeWinding(b);
  step.after = {TestKind::kVisual, TestKind::kMegohms};
  step.volts = b.megohm_volts;
  step.volts_shape = "dc";
  step.level_note = b.megohms.test_volts_dc_low == b.megohms.test_volts_dc_high
                        ? absl::StrCat(WithUnit(*b.megohm_volts, "V"), " dc for this rated voltage")
                        : absl::StrCat(WithUnit(b.megohms.test_volts_dc_low, "V"), " to ",
                                       WithUnit(b.megohms.test_volts_dc_high, "V"),
                                       " dc is allowed; the lowest that the bench has is the default");
  step.ramp_seconds = Shop(b.c.shop.megohm_ramp_seconds, "megohm_ramp");
  step.hold_seconds = hold_seconds;
  step.discharge_seconds = std::max(insulation::DischargeSeconds(hold_seconds + *step.ramp_seconds),
                                    Shop(b.c.shop.least_discharge_seconds, "discharge_least"));
  step.trip_milliamps = Shop(b.c.shop.trip_megohms_milliamps, "trip_megohms");
  step.abort_when = {"the reading falls while the voltage is held", "the meter cannot hold its voltage",
                     "crackling, smoke or smell"};
  step.cautions = HighVoltageCautions(b, true);
  step.rules = {b.megohms.test_voltage_rule, rules::ieee43_discharge, rules::shop_programme_settings};
  return step;
}

Limit MegohmLimit(const Bench& b, absl::string_view which) {
  Limit limit;
  limit.kind = LimitKind::kAtLeast;
  limit.low = b.megohms.minimum_megohms;
  limit.unit = "megohms";
  limit.corrected = true;
  limit.corrected_to = "40 C";
  limit.text = absl::StrCat("at least ", WithUnit(b.megohms.minimum_megohms, "megohms"), " after one minute, ", which,
                            " (", MegohmBasis(b), ")");
  limit.rule = b.megohms.minimum_rule;
  return limit;
}

}  // namespace

Step MegohmStep(const Bench& b) {
  Step step = DirectVoltage(TestKind::kMegohms, "Insulation resistance to frame", 60, b);
  step.reason = "no higher voltage goes on a winding that does not pass this";
  step.after = {TestKind::kVisual};
  step.limit = MegohmLimit(b, "whole winding");
  if (b.worked_on) step.shop_expectation = b.megohms.shop_expectation_megohms;
  step.rules.insert(step.rules.end(), {b.megohms.minimum_rule, CorrectionRule(b)});
  if (b.worked_on) step.rules.push_back(rules::shop_megohm_expectation);
  if (b.megohms.outside_scope) step.rules.push_back(rules::ieee43_scope);
  if (!b.era.note.empty()) step.rules.push_back(rules::shop_programme_era);
  step.notes = MegohmNotes(b);
  return step;
}

Step PhaseMegohmStep(const Bench& b) {
  Step step = DirectVoltage(TestKind::kPhaseMegohms, "Insulation resistance, phase to phase", 60, b);
  step.reason = "the only megohm test that sees paper missing between two phases";
  step.prepare.push_back("star open; each phase in turn, the other two tied to the frame");
  step.terminals = PhaseByPhase(b);
  step.limit = MegohmLimit(b, "one phase with the others earthed, reading divided by 2 to stand for the winding");
  step.rules.insert(step.rules.end(), {b.megohms.minimum_rule, CorrectionRule(b), rules::ieee43_phase_reading});
  return step;
}

Step PolarizationStep(const Bench& b) {
  Step step = DirectVoltage(TestKind::kPolarizationIndex, "Polarization index, 10 min over 1 min", 600, b);
  step.reason = "shows moisture and dirt that a single reading hides; one run gives both readings";
  const insulation::Ratio ratio = insulation::PolarizationIndex({insulation::WindingKind::kFormWound,
                                                                 b.c.thermal_class_celsius.value_or(kUsualClassCelsius),
                                                                 b.c.rated_kw,
                                                                 {},
                                                                 {},
                                                                 {},
                                                                 {}});
  step.limit.kind = LimitKind::kAtLeast;
  step.limit.low = ratio.minimum;
  step.limit.text = absl::StrCat("at least ", WithUnit(*ratio.minimum, ""),
                                 "; disregarded where the one-minute value at 40 C is above ",
                                 WithUnit(insulation::Constant("index_disregarded_above"), "megohms"), ". Up to ",
                                 WithUnit(insulation::Constant("suitability_either_up_to"), "kVA"),
                                 " either this or the one-minute value decides, above both");
  step.limit.rule = ratio.rule;
  step.abort_when.push_back("the voltage or the winding temperature drifts during the ten minutes");
  step.rules.insert(step.rules.end(), {ratio.rule, rules::ieee43_polarization_index,
                                       rules::ieee43_polarization_index_disregarded, rules::ieee43_suitability});
  return step;
}

Step AbsorptionStep(const Bench& b) {
  Step step = DirectVoltage(TestKind::kAbsorptionRatio, "Absorption ratio, 60 s over 30 s", 60, b);
  step.reason = "a quick sign of moisture; read in the same run as the insulation resistance";
  step.limit.kind = LimitKind::kNoLimitInStandard;
  step.limit.text = "no standard sets a limit: compare with the same winding before";
  step.limit.rule = rules::practice_absorption_ratio;
  step.rules.push_back(rules::practice_absorption_ratio);
  return step;
}

Step SurgeStep(const Bench& b) {
  Step step;
  step.kind = TestKind::kSurge;
  step.title = "Surge comparison of the turn insulation";
  step.reason = "the only test here that sees a shorted or weak turn";
  step.prepare = PrepareFittedParts(b);
  if (b.rotor_in && !b.c.induction) {
    step.prepare.push_back("turn the rotor to the same electrical position for each pair and lock it there");
  } else if (b.rotor_in) {
    step.prepare.push_back("rotor in: turn it a little before calling a difference a fault");
  }
  step.terminals = WithFittedParts({{"winding end under pulse, each in turn", Potential::kEnergised},
                                    {"the other winding ends", Potential::kEarthed},
                                    {"frame and core", Potential::kEarthed}},
                                   b);
  step.after = {TestKind::kVisual, TestKind::kMegohms, TestKind::kPhaseMegohms, TestKind::kWindingResistance,
                TestKind::kPolarity};
  step.volts = b.surge->volts_peak;
  step.volts_shape = "peak";
  step.level_note = b.surge->formula;
  for (const std::string& note : b.surge->notes) absl::StrAppend(&step.level_note, "; ", note);
  if (b.surge->rise_time_us > 0) {
    absl::StrAppend(&step.level_note, "; rise time about ", WithUnit(b.surge->rise_time_us, "us"));
  }
  step.ramp_seconds = Shop(b.c.shop.surge_ramp_seconds, "surge_ramp");
  step.hold_seconds = Shop(b.c.shop.surge_hold_seconds, "surge_hold");
  step.discharge_seconds = Shop(b.c.shop.least_discharge_seconds, "discharge_least");
  step.trip_milliamps = Shop(b.c.shop.trip_surge_milliamps, "trip_surge");
  step.limit.kind = LimitKind::kNoLimitInStandard;
  step.limit.text = absl::StrCat(
      "waves of equal coils lie on each other, and each on the one before it while the voltage rises; the set-points "
      "for the waveform "
      "difference ratio, watch ",
      WithUnit(Shop(b.c.shop.surge_watch_ratio, "surge_watch"), ""), " and act ",
      WithUnit(Shop(b.c.shop.surge_act_ratio, "surge_act"), ""), ", are the shop's, no standard sets them");
  step.limit.rule = rules::practice_surge_difference;
  step.abort_when = {"the wave jumps to a shorter period or collapses", "flashover is seen or heard"};
  step.cautions = HighVoltageCautions(b, false);
  step.rules = {b.surge->rule, rules::practice_surge_difference, rules::practice_turn_test_needed};
  if (b.surge->capped) step.rules.push_back(rules::practice_surge_low_voltage);
  step.notes = SurgeNotes(b, step.rules);
  return step;
}

Step WithstandStep(const Bench& b, bool dc) {
  const Withstand& withstand = *b.withstand;
  const Level& level = dc ? withstand.dc : withstand.ac;
  Step step;
  step.kind = dc ? TestKind::kWithstandDc : TestKind::kWithstandAc;
  step.title = absl::StrCat(dc ? "DC" : "AC", " withstand, ",
                            b.star_open ? "phase to the others and frame" : "winding to frame");
  step.reason = b.released ? "the one test at full value for this condition; last of the electrical tests, and take "
                             "the megohms once more afterwards"
                           : "finds a damaged slot liner while it can still be reached; not again at this stage where "
                             "it was passed before";
  if (dc) absl::StrAppend(&step.reason, "; in place of the AC test, which this bench cannot give");
  step.prepare = PrepareFittedParts(b);
  step.prepare.push_back(std::string(kDewPoint));
  if (b.rotor_in) step.prepare.push_back("shaft tied to the frame");
  step.terminals = b.star_open ? PhaseByPhase(b) : WholeWinding(b);
  step.after = {TestKind::kVisual,   TestKind::kMegohms, TestKind::kPhaseMegohms, TestKind::kWindingResistance,
                TestKind::kPolarity, TestKind::kSurge};
  step.volts = b.withstand_share * level.volts;
  step.volts_shape = dc ? "dc" : "ac rms";
  step.level_note = level.formula;
  if (b.withstand_share < 1) {
    absl::StrAppend(&step.level_note, "; at this stage ", WithUnit(100 * b.withstand_share, "%"), ": ",
                    WithUnit(*step.volts, "V"));
  }
  absl::StrAppend(&step.level_note, "; start at no more than ", WithUnit(Procedure("start_share") * *step.volts, "V"),
                  ", from there to full in at least ", WithUnit(Procedure("half_to_full"), "s"));
  if (!dc && b.released && withstand.ac_one_second.applicable) {
    absl::StrAppend(&step.level_note, "; or ", withstand.ac_one_second.formula, " for one second");
  }
  if (!level.reason.empty()) absl::StrAppend(&step.level_note, "; ", level.reason);
  step.ramp_seconds = Procedure("half_to_full");
  step.hold_seconds = level.seconds;
  step.discharge_seconds = std::max(Procedure("lower"), Shop(b.c.shop.least_discharge_seconds, "discharge_least"));
  if (dc) {
    step.discharge_seconds =
        std::max(*step.discharge_seconds, insulation::DischargeSeconds(*step.hold_seconds + *step.ramp_seconds));
    step.trip_milliamps = Shop(b.c.shop.trip_megohms_milliamps, "trip_megohms");
  } else if (b.c.rated_volts > Setting("medium_voltage_above")) {
    step.trip_milliamps = Shop(b.c.shop.trip_medium_voltage_ac_milliamps, "trip_medium_voltage_ac");
  } else {
    step.trip_milliamps = Shop(b.c.shop.trip_ac_milliamps, "trip_low_voltage_ac");
  }
  step.limit.kind = LimitKind::kNoLimitInStandard;
  step.limit.text = "no breakdown for the whole time; no standard here sets a leakage current";
  step.limit.rule = level.rule;
  step.abort_when = {"the set trips", "the current grows out of proportion to the voltage or keeps climbing",
                     "flashover, crackling, smoke or smell"};
  step.cautions = HighVoltageCautions(b, dc);
  step.notes = WithstandNotes(b);
  step.rules = withstand.rules;
  step.rules.insert(step.rules.end(), {rules::army_tm5_6115_585_34_lowering, rules::shop_programme_settings});
  if (dc) step.rules.insert(step.rules.end(), {level.rule, rules::ieee43_discharge, rules::shop_programme_bench});
  if (b.withstand_share < 1) step.rules.push_back(rules::practice_withstand_before_treatment);
  return step;
}

}  // namespace coilwright::testing
