#include "testing/programme.h"

#include <algorithm>
#include <utility>

#include "absl/strings/ascii.h"
#include "absl/strings/str_cat.h"
#include "insulation/constants.h"
#include "insulation/input_ranges.h"
#include "standards/range_check.h"
#include "standards/rules.h"
#include "testing/dry_out.h"
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
                               TestKind::kBrake,
                               TestKind::kInductance,
                               TestKind::kBackEmf,
                               TestKind::kSurge,
                               TestKind::kWithstandAc,
                               TestKind::kWithstandDc};

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
  checks.Within("thermal_class_celsius", c.thermal_class_celsius, 90, 250, "C");
  if (c.built_year) {
    checks.Within("built_year", *c.built_year, insulation::kFirstBuiltYear, insulation::kLastBuiltYear, "");
  }
  checks.Above("shop_expectation_megohms", c.shop_expectation_megohms, 0, insulation::kMostMegohms, "megohms");
  checks.Above("resistance_unbalance_percent", c.resistance_unbalance_percent, 0, 100, "%");
  checks.Above("before_treatment_share", c.before_treatment_share, 0, Setting("before_treatment_share_most"), "");
  if (c.feedback.size() > 64 || !std::all_of(c.feedback.begin(), c.feedback.end(), [](char character) {
        return static_cast<unsigned char>(character) >= 0x20 && character != 0x7f;
      })) {
    checks.Refuse("feedback", absl::StrCat(c.feedback.size(), " characters"),
                  "at most 64 characters without control characters");
  }
  expected("expected_line_to_line_ohms_low", c.expected_line_to_line_ohms_low, "expected_line_to_line_ohms_high",
           c.expected_line_to_line_ohms_high, "ohms");
  expected("expected_ke_low", c.expected_ke_low, "expected_ke_high", c.expected_ke_high, "V per 1000 rpm");
  return checks.status();
}

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

absl::StatusOr<Bench> SetUp(const ProgrammeCase& c) {
  const auto kind = c.form_wound ? insulation::WindingKind::kFormWound : insulation::WindingKind::kRandomWound;
  auto megohms =
      insulation::Limits({c.rated_volts, kind, c.built_year, c.megohm_edition, c.rated_kw, c.shop_expectation_megohms});
  if (!megohms.ok()) return megohms.status();
  Bench bench{c,
              RotorIn(c),
              c.star_open || c.stage == Stage::kWoundStarOpen,
              false,
              false,
              *std::move(megohms),
              absl::UnknownError(""),
              1,
              0,
              absl::UnknownError("")};
  bench.released = c.stage == Stage::kAssembled;
  bench.worked_on = bench.released || (RotorOutStage(c.stage) && c.stage != Stage::kStrippedCore);
  bench.withstand = WithstandLevels({c.rated_volts, c.rated_kw, ConditionAt(c), c.family});
  bench.withstand_share = bench.released ? 1 : c.before_treatment_share;
  const bool tested = bench.worked_on && bench.withstand.ok();
  bench.surge_cap_volts_rms = tested ? bench.StageWithstandVolts() : UsedWindingVolts(c);
  bench.surge = StageSurge(c, bench.surge_cap_volts_rms, bench.worked_on);
  return bench;
}

std::vector<std::string> Cautions(const Bench& b) {
  std::vector<std::string> cautions = {
      std::string(QualifiedPersonCaution()),
      "guarded area, one person in charge, interlocked or two-hand test set, no one works alone",
      "discharge and earth the winding before and after every test; after direct voltage at least four times as long "
      "as it was on, and until no charge is left",
      "electronics never see a test voltage: drive, feedback, Hall boards and rectifiers come off first"};
  if (b.c.permanent_magnet) {
    cautions.push_back(
        "a magnet rotor that turns makes the leads live; it pulls itself in suddenly and harms pacemakers and cards");
  }
  if (b.c.brake) cautions.push_back("release the brake before anything is turned and secure the load");
  return cautions;
}

void AddSurgeAtAnyPosition(const Bench& b, std::vector<Step>& left_out) {
  if (!b.rotor_in || !b.c.permanent_magnet) return;
  Step step;
  step.kind = TestKind::kSurge;
  step.title = "Surge comparison at arbitrary rotor positions";
  step.left_out = true;
  step.reason =
      "the magnet rotor alone makes the three waves differ; compare only with the rotor locked at the same electrical "
      "position for each pair, pulse against pulse within the pair, or with the rotor out";
  step.limit.kind = LimitKind::kNotApplicable;
  left_out.push_back(std::move(step));
}

std::vector<std::string> Notes(const Bench& b) {
  const ProgrammeCase& c = b.c;
  std::vector<std::string> notes = {
      "resistance, megohms and withstand do not see a shorted turn: without a valid surge test the verdict is \"no "
      "fault "
      "found, turn insulation not tested\"",
      "rated volts are the winding's line-to-line rms value, not the mains and not the drive's DC bus"};
  if (b.megohms.outside_scope) {
    notes.push_back(absl::StrCat("below ", standards::WithUnit(1000 * insulation::Constant("scope_from"), "W"),
                                 " (1 hp) the machine is outside the formal scope of IEEE 43 and IEC 60034-27-4: the "
                                 "megohm figures are a shop convention here"));
  }
  if (c.rotor_fitted && RotorOutStage(c.stage)) notes.push_back("at this stage the rotor is taken to be out");
  if (c.three_leads && !b.star_open && c.stage != Stage::kStrippedCore) {
    notes.push_back(c.delta ? "three leads and a closed delta: anything between phases needs the delta opened"
                            : "three leads and an internal star: anything between phases needs the star open");
  }
  if (b.worked_on) {
    notes.push_back(
        absl::StrCat("full withstand value once, at release with the motor assembled; before and after the resin ",
                     standards::WithUnit(100 * c.before_treatment_share, "%"), " of it, repeats 80 %: all settable"));
    if (b.withstand.ok()) {
      notes.push_back(
          absl::StrCat("withstand value of this condition by ", FamilyName(c.family), ": ", b.withstand->ac.formula));
      notes.insert(notes.end(), b.withstand->notes.begin(), b.withstand->notes.end());
    }
  }
  if (!b.worked_on && c.stage != Stage::kStrippedCore)
    notes.push_back(absl::StrCat("if it needs drying: ", DryOutText(DryOutFor(c))));
  if (c.stage == Stage::kInService) {
    if (const auto level = MaintenanceLevels(c.rated_volts); level.ok()) {
      notes.push_back(absl::StrCat(
          "where shop and owner decide on a maintenance withstand test: ", standards::WithUnit(level->low_volts, "V"),
          " to ", standards::WithUnit(level->high_volts, "V"), " AC"));
    }
  }
  if ((c.thermal_sensor || !c.feedback.empty()) && c.stage != Stage::kStrippedCore) {
    notes.push_back(
        "sensors are measured by resistance only; the IEC withstand value for parts touching the winding is "
        "unverified, electronics never see one");
    if (const auto passive = AccessoryLevels(Accessory::kPassive, Family::kAr100); passive.ok()) {
      notes.push_back(
          absl::StrCat("for heaters, thermistors and the like at a new winding NEMA MG 1 and ANSI/EASA AR100 "
                       "print ",
                       standards::WithUnit(passive->volts_ac, "V"), " AC to frame"));
    }
  }
  if (c.segmented_core || c.potted) notes.push_back("segmented or potted: no burn-out, strip by other means");
  return notes;
}

}  // namespace

bool RotorIn(const ProgrammeCase& c) { return c.rotor_fitted && !RotorOutStage(c.stage); }

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
  programme.cautions = Cautions(*bench);
  programme.notes = Notes(*bench);
  return programme;
}

absl::string_view QualifiedPersonCaution() {
  return "local codes and a qualified person decide whether and how this test is done; the figures are no permission";
}

}  // namespace coilwright::testing
