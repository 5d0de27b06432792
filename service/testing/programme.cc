#include "testing/programme.h"

#include <algorithm>
#include <utility>

#include "absl/strings/ascii.h"
#include "absl/strings/str_cat.h"
#include "insulation/input_ranges.h"
#include "standards/range_check.h"
#include "standards/rules.h"
#include "testing/level_tables.h"
#include "testing/programme_steps.h"

namespace coilwright::testing {
namespace {

// Dielectric tests last (MIL-M-17059A), megohms before everything that puts more on the insulation.
constexpr TestKind kOrder[] = {TestKind::kVisual,
                               TestKind::kCoreLoss,
                               TestKind::kMegohms,
                               TestKind::kPhaseMegohms,
                               TestKind::kAbsorptionRatio,
                               TestKind::kPolarizationIndex,
                               TestKind::kWindingResistance,
                               TestKind::kPolarity,
                               TestKind::kSensor,
                               TestKind::kHeater,
                               TestKind::kFeedback,
                               TestKind::kBrake,
                               TestKind::kRectifier,
                               TestKind::kSurgeParts,
                               TestKind::kInductance,
                               TestKind::kBackEmf,
                               TestKind::kTemperatureRise,
                               TestKind::kSurge,
                               TestKind::kWithstandAc,
                               TestKind::kWithstandDc};

void CheckIf(absl::string_view field, const std::optional<double>& value, double low, double high,
             absl::string_view unit, standards::RangeCheck& checks) {
  if (value) checks.Within(field, *value, low, high, unit);
}

void CheckFitted(const FittedDevices& fitted, standards::RangeCheck& checks) {
  for (size_t i = 0; i < fitted.sensors.size(); ++i) {
    CheckIf(absl::StrCat("fitted.sensors[", i, "].ohms"), fitted.sensors[i].ohms, 0, 1e6, "ohms", checks);
    CheckIf(absl::StrCat("fitted.sensors[", i, "].at_celsius"), fitted.sensors[i].at_celsius, -60, 300, "C", checks);
  }
  if (fitted.brake) {
    CheckIf("fitted.brake.rated_volts_dc", fitted.brake->rated_volts_dc, 0, 1000, "V", checks);
    CheckIf("fitted.brake.coil_ohms", fitted.brake->coil_ohms, 0, 1e6, "ohms", checks);
  }
  if (fitted.heater) {
    CheckIf("fitted.heater.volts", fitted.heater->volts, 1, 1000, "V", checks);
    CheckIf("fitted.heater.watts", fitted.heater->watts, 1, 100000, "W", checks);
  }
}

void CheckBench(const BenchMeans& bench, standards::RangeCheck& checks) {
  constexpr double kMostVolts = 500000;
  CheckIf("bench.greatest_withstand_volts_ac", bench.greatest_withstand_volts_ac, 0, kMostVolts, "V", checks);
  CheckIf("bench.greatest_withstand_volts_dc", bench.greatest_withstand_volts_dc, 0, kMostVolts, "V", checks);
  CheckIf("bench.greatest_surge_volts_peak", bench.greatest_surge_volts_peak, 0, kMostVolts, "V", checks);
  for (const double volts : bench.megohm_test_volts_dc)
    checks.Above("bench.megohm_test_volts_dc", volts, 0, kMostVolts, "V");
  CheckIf("bench.least_ohms", bench.least_ohms, 0, 1e6, "ohms", checks);
}

void CheckRun(const ShopRun& run, standards::RangeCheck& checks) {
  const auto above = [&checks](absl::string_view field, const std::optional<double>& value, double high,
                               absl::string_view unit) {
    if (value) checks.Above(field, *value, 0, high, unit);
  };
  above("shop.trip_ac_milliamps", run.trip_ac_milliamps, 1000, "mA");
  above("shop.trip_medium_voltage_ac_milliamps", run.trip_medium_voltage_ac_milliamps, 10000, "mA");
  above("shop.trip_megohms_milliamps", run.trip_megohms_milliamps, 100, "mA");
  above("shop.trip_surge_milliamps", run.trip_surge_milliamps, 10000, "mA");
  above("shop.megohm_ramp_seconds", run.megohm_ramp_seconds, 600, "s");
  above("shop.surge_ramp_seconds", run.surge_ramp_seconds, 600, "s");
  above("shop.surge_hold_seconds", run.surge_hold_seconds, 600, "s");
  CheckIf("shop.least_discharge_seconds", run.least_discharge_seconds, Setting("discharge_least"), 86400, "s", checks);
  above("shop.surge_watch_ratio", run.surge_watch_ratio, 1, "");
  above("shop.surge_act_ratio", run.surge_act_ratio, 2, "");
}

absl::Status Check(const ProgrammeCase& c) {
  standards::RangeCheck checks;
  const auto expected = [&checks](absl::string_view low_field, const std::optional<double>& low,
                                  absl::string_view high_field, const std::optional<double>& high,
                                  absl::string_view unit) {
    const bool low_fine = !low || checks.Above(low_field, *low, 0, 1e6, unit);
    if (high && checks.Above(high_field, *high, 0, 1e6, unit) && low && low_fine && *low > *high) {
      checks.Refuse(high_field, standards::WithUnit(*high, unit),
                    absl::StrCat("at least ", low_field, ", ", standards::WithUnit(*low, unit)));
    }
  };
  checks.Within("rated_volts", c.rated_volts, insulation::kLeastRatedVolts, insulation::kMostRatedVolts, "V");
  if (c.rated_kw) checks.Above("rated_kw", *c.rated_kw, 0, insulation::kMostRatedKw, "kW");
  if (c.rotor_fitted && RotorOutStage(c.stage)) {
    checks.Refuse("rotor_fitted", "a rotor in the stator",
                  "none from the stripped core to the treated winding; with the rotor in, the stage is assembled");
  }
  if (c.thermal_class_celsius) checks.Within("thermal_class_celsius", *c.thermal_class_celsius, 90, 250, "C");
  if (c.built_year) {
    checks.Within("built_year", *c.built_year, insulation::kFirstBuiltYear, insulation::kLastBuiltYear, "");
  }
  checks.Above("shop_expectation_megohms", c.shop_expectation_megohms, 0, insulation::kMostMegohms, "megohms");
  checks.Above("resistance_unbalance_percent", c.resistance_unbalance_percent, 0, 100, "%");
  checks.Above("before_treatment_share", c.before_treatment_share, 0, Setting("before_treatment_share_most"), "");
  CheckFitted(c.fitted, checks);
  CheckBench(c.bench, checks);
  CheckRun(c.shop, checks);
  if (c.drive_mains_volts) checks.Above("drive_mains_volts", *c.drive_mains_volts, 0, 50000, "V");
  if (c.dc_bus_volts) checks.Above("dc_bus_volts", *c.dc_bus_volts, 0, 100000, "V");
  expected("expected_line_to_line_ohms_low", c.expected_line_to_line_ohms_low, "expected_line_to_line_ohms_high",
           c.expected_line_to_line_ohms_high, "ohms");
  expected("expected_ke_low", c.expected_ke_low, "expected_ke_high", c.expected_ke_high, "V per 1000 rpm");
  return checks.status();
}

// The level a used winding may see: overhauled (IEC 60034-1) or reconditioned (ANSI/EASA AR100).
double UsedWindingVolts(const ProgrammeCase& c) {
  const Family family = c.family == Family::kIec60034 ? Family::kIec60034 : Family::kAr100;
  const auto used = WithstandLevels({c.rated_volts, c.rated_kw, Condition::kReconditioned, family});
  return used.ok() ? used->ac.volts : c.rated_volts;
}

absl::StatusOr<SurgeLevel> StageSurge(const ProgrammeCase& c, double cap_volts_rms, bool worked_on) {
  const auto as_new = WithstandLevels({c.rated_volts, c.rated_kw, Condition::kFullyRewound, c.family});
  SurgeCase surge{c.rated_volts, c.form_wound,       cap_volts_rms,
                  !worked_on,    c.form_wound_surge, as_new.ok() ? as_new->ac.volts : 0};
  auto level = SurgeLevelFor(surge);
  if (absl::IsFailedPrecondition(level.status())) {
    surge.form_wound_rule = FormWoundSurge::kIeee522;
    const std::string why(level.status().message());
    level = SurgeLevelFor(surge);
    if (level.ok()) level->notes.push_back(absl::StrCat("IEEE 522 is used: ", why));
  }
  if (level.ok() && c.form_wound && (c.stage == Stage::kWoundStarOpen || c.stage == Stage::kWoundBeforeTreatment)) {
    level->volts_peak *= c.before_treatment_share;
    absl::StrAppend(&level->formula, "; before the resin ", standards::WithUnit(100 * c.before_treatment_share, "%"),
                    ": ", standards::WithUnit(level->volts_peak, "V"));
  }
  return level;
}

// The default, or the lowest of the bench that is allowed.
std::optional<double> MegohmVolts(const insulation::MegohmLimits& limits, const BenchMeans& bench) {
  if (bench.megohm_test_volts_dc.empty()) return limits.test_volts_dc;
  std::optional<double> lowest;
  for (const double volts : bench.megohm_test_volts_dc) {
    if (volts >= limits.test_volts_dc_low && volts <= limits.test_volts_dc_high && (!lowest || volts < *lowest))
      lowest = volts;
  }
  return lowest;
}

absl::StatusOr<Bench> SetUp(const ProgrammeCase& c) {
  const auto kind = c.form_wound ? insulation::WindingKind::kFormWound : insulation::WindingKind::kRandomWound;
  InsulationEra era = EraOf(c);
  auto megohms = insulation::Limits(
      {c.rated_volts, kind, era.built_year, c.megohm_edition, c.rated_kw, c.shop_expectation_megohms});
  if (!megohms.ok()) return megohms.status();
  Bench bench{c,
              RotorIn(c),
              c.star_open || c.stage == Stage::kWoundStarOpen,
              false,
              false,
              *std::move(megohms),
              absl::UnknownError(""),
              1,
              std::move(era),
              std::nullopt,
              0,
              absl::UnknownError("")};
  bench.megohm_volts = MegohmVolts(bench.megohms, c.bench);
  bench.released = c.stage == Stage::kAssembled;
  bench.worked_on = bench.released || (RotorOutStage(c.stage) && c.stage != Stage::kStrippedCore);
  bench.withstand = WithstandLevels({c.rated_volts, c.rated_kw, ConditionAt(c), c.family});
  bench.withstand_share = bench.released ? 1 : c.before_treatment_share;
  const bool tested = bench.worked_on && bench.withstand.ok();
  bench.surge_cap_volts_rms = tested ? bench.StageWithstandVolts() : UsedWindingVolts(c);
  bench.surge = StageSurge(c, bench.surge_cap_volts_rms, bench.worked_on);
  return bench;
}

void AddSurgeAtAnyPosition(const Bench& b, std::vector<Step>& left_out) {
  if (!b.rotor_in || b.c.induction) return;
  left_out.push_back(LeftOut(TestKind::kSurge, "Surge comparison at arbitrary rotor positions",
                             "a magnet or salient rotor alone makes the three waves differ; compare only with the "
                             "rotor locked at the same electrical "
                             "position for each pair, pulse against pulse within the pair, or with the rotor out"));
}

}  // namespace

bool RotorOutStage(Stage stage) {
  return stage == Stage::kStrippedCore || stage == Stage::kWoundStarOpen || stage == Stage::kWoundBeforeTreatment ||
         stage == Stage::kTreated;
}

// The condition whose level the stage's share is taken of. Before release that is the winding's full value, so that a
// release at a reduced repeat level is not reduced twice.
Condition ConditionAt(const ProgrammeCase& c) {
  if (c.stage == Stage::kAssembled) return c.condition;
  switch (c.condition) {
    case Condition::kPartlyRewound:
    case Condition::kReconditioned:
    case Condition::kNotReconditioned:
    case Condition::kNew:
      return c.condition;
    default:
      return Condition::kFullyRewound;
  }
}

bool RotorIn(const ProgrammeCase& c) { return c.rotor_fitted; }

InsulationEra EraOf(const ProgrammeCase& c) {
  const bool complete = c.stage == Stage::kAssembled;
  const bool worked_on = complete || (RotorOutStage(c.stage) && c.stage != Stage::kStrippedCore);
  const bool kept = c.condition == Condition::kPartlyRewound || c.condition == Condition::kReconditioned ||
                    c.condition == Condition::kNotReconditioned ||
                    (complete && (c.condition == Condition::kRepeat || c.condition == Condition::kAfterInstallation));
  InsulationEra era;
  const bool today = worked_on && !kept;
  if (!today) era.built_year = c.built_year;
  const int since = static_cast<int>(Setting("insulation_era_year"));
  const bool old_plate = c.built_year && *c.built_year < since;
  const bool thermoplastic = old_plate && !today;
  if (thermoplastic) era.family = insulation::InsulationFamily::kThermoplastic;
  if (c.insulation_family) {
    era.family = *c.insulation_family;
  } else if (thermoplastic) {
    era.note = absl::StrCat("built ", *c.built_year, ", before ", since,
                            ": corrected as thermoplastic, since no family was named; at 20 C the families differ by "
                            "a factor of 3");
  }
  if (old_plate && today) {
    era.note = absl::StrCat("the machine is of ", *c.built_year,
                            ", the winding is new: minimum and correction are those of today");
  }
  return era;
}

absl::StatusOr<Programme> TestProgramme(const ProgrammeCase& programme_case) {
  if (absl::Status status = Check(programme_case); !status.ok()) return status;
  const auto bench = SetUp(programme_case);
  if (!bench.ok()) return bench.status();

  Programme programme;
  programme.stage = programme_case.stage;
  std::vector<Step> left_out;
  std::vector<TestKind> done;
  for (const TestKind kind : kOrder) {
    for (Step& step : StepsOf(kind, *bench)) {
      step.after.erase(std::remove_if(step.after.begin(), step.after.end(),
                                      [&done](TestKind before) {
                                        return std::find(done.begin(), done.end(), before) == done.end();
                                      }),
                       step.after.end());
      (step.left_out ? left_out : programme.steps).push_back(std::move(step));
    }
    if (!programme.steps.empty() && programme.steps.back().kind == kind) done.push_back(kind);
  }
  AddSurgeAtAnyPosition(*bench, left_out);
  std::move(left_out.begin(), left_out.end(), std::back_inserter(programme.steps));
  programme.cautions = ProgrammeCautions(*bench);
  programme.notes = ProgrammeNotes(*bench);
  return programme;
}

absl::string_view QualifiedPersonCaution() {
  return "local codes and a qualified person decide whether and how this test is done; the figures are no permission";
}

}  // namespace coilwright::testing
