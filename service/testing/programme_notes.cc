#include <algorithm>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "insulation/constants.h"
#include "standards/range_check.h"
#include "standards/rules.h"
#include "testing/drive_stress.h"
#include "testing/dry_out.h"
#include "testing/programme_steps.h"

namespace coilwright::testing {
namespace {

using standards::WithUnit;

absl::string_view EditionName(insulation::MegohmEdition edition) {
  switch (edition) {
    case insulation::MegohmEdition::kIeee43_2013:
      return "IEEE 43-2013";
    case insulation::MegohmEdition::kIeee43_2000:
      return "IEEE 43-2000";
    case insulation::MegohmEdition::kIeee43_1974:
      return "IEEE 43-1974";
    case insulation::MegohmEdition::kOneMegohmPerKilovolt:
      break;
  }
  return "the old one megohm per kilovolt";
}

// At the end of a cable so long that the wave doubles: the most that a lossless line gives.
absl::StatusOr<DriveStress> WorstDrive(const ProgrammeCase& c) {
  constexpr double kLongCableMetres = 1000;
  constexpr double kUsualRiseTimeUs = 0.1;
  DriveStressCase drive;
  drive.rated_volts = c.rated_volts;
  drive.mains_volts = c.drive_mains_volts;
  drive.dc_bus_volts = c.dc_bus_volts;
  drive.cable_metres = kLongCableMetres;
  drive.rise_time_10_90_us = kUsualRiseTimeUs;
  drive.rated_kw = c.rated_kw;
  auto worst = AssessDriveStress(drive);
  if (worst.ok() || !drive.mains_volts) return worst;
  // Mains without a usual braking threshold: the bus of the mains alone.
  drive.bus_basis = BusBasis::kMainsHighLine;
  return AssessDriveStress(drive);
}

}  // namespace

std::vector<std::string> WithstandNotes(const Bench& b) {
  std::vector<std::string> notes = b.withstand->notes;
  for (const Family family : {Family::kIec60034, Family::kNemaMg1, Family::kAr100}) {
    const absl::string_view name = FamilyName(family);
    const auto said = [name](const std::string& note) { return absl::StrContains(note, name); };
    if (family == b.c.family || std::any_of(notes.begin(), notes.end(), said)) continue;
    const auto other = WithstandLevels({b.c.rated_volts, b.c.rated_kw, ConditionAt(b.c), family});
    if (!other.ok()) {
      notes.push_back(absl::StrCat("other family: ", other.status().message()));
    } else if (other->ac.volts != b.withstand->ac.volts) {
      notes.push_back(absl::StrCat(name, " would ask ", WithUnit(b.withstand_share * other->ac.volts, "V"),
                                   " here: ", other->ac.formula));
    }
  }
  return notes;
}

std::vector<std::string> MegohmNotes(const Bench& b) {
  std::vector<std::string> notes;
  if (!b.era.note.empty()) notes.push_back(b.era.note);
  const auto kind = b.c.form_wound ? insulation::WindingKind::kFormWound : insulation::WindingKind::kRandomWound;
  for (int edition = 0; edition <= static_cast<int>(insulation::MegohmEdition::kOneMegohmPerKilovolt); ++edition) {
    const auto other = static_cast<insulation::MegohmEdition>(edition);
    const auto limits = insulation::Limits(
        {b.c.rated_volts, kind, b.era.built_year, other, b.c.rated_kw, b.c.shop_expectation_megohms});
    if (!limits.ok() || limits->minimum_megohms == b.megohms.minimum_megohms) continue;
    notes.push_back(absl::StrCat(EditionName(other), " asks at least ", WithUnit(limits->minimum_megohms, "megohms")));
  }
  if (b.megohms.outside_scope) {
    notes.push_back(
        absl::StrCat("below ", WithUnit(1000 * insulation::Constant("scope_from"), "W"),
                     " (1 hp) IEEE 43 and IEC 60034-27-4 are not written for this machine: shop convention"));
  }
  return notes;
}

std::vector<std::string> SurgeNotes(const Bench& b, std::vector<absl::string_view>& rules) {
  std::vector<std::string> notes;
  if (!b.c.drive_fed.value_or(b.c.permanent_magnet)) return notes;
  rules.push_back(rules::practice_drive_fed_winding);
  const std::string fed = b.c.drive_fed ? "drive-fed" : "a machine with magnets is taken to be drive-fed";
  if (!b.c.drive_mains_volts && !b.c.dc_bus_volts) {
    notes.push_back(absl::StrCat(fed, ": with the drive's mains or bus given, its peak is set against this level"));
    return notes;
  }
  const auto drive = WorstDrive(b.c);
  if (!drive.ok()) {
    notes.push_back(absl::StrCat(fed, ", its peak is not known for these mains and bus: give the bus of the drive"));
    return notes;
  }
  if (drive->bus_doubt) {
    rules.push_back(rules::drive_bus_against_rating);
    notes.push_back(absl::StrCat("bus and rating contradict: ", *drive->bus_doubt));
  }
  rules.push_back(rules::drive_envelope);
  const bool below = b.surge->volts_peak < drive->volts_peak;
  notes.push_back(
      absl::StrCat(fed, ": on a long cable a bus of ", WithUnit(drive->dc_bus_volts.high, "V"), " puts at most ",
                   absl::StrFormat("%.0f V", drive->volts_peak), " peak between two phases; this level of ",
                   absl::StrFormat("%.0f V", b.surge->volts_peak),
                   below ? " is below that and" : " is above that, but a single pulse", " proves no life on a drive"));
  return notes;
}

std::vector<std::string> ProgrammeCautions(const Bench& b) {
  std::vector<std::string> cautions = {
      std::string(QualifiedPersonCaution()),
      "guarded area, one person in charge, interlocked or two-hand test set, no one works alone",
      "discharge and earth the winding before and after every test; after direct voltage at least four times as long "
      "as it was on, and until no charge is left",
      "electronics never see a test voltage: drive, feedback, Hall boards and rectifiers come off first"};
  if (const auto doubt = RandomWoundDoubt(b.c.rated_volts); doubt && !b.c.form_wound) cautions.push_back(*doubt);
  if (b.c.permanent_magnet) {
    cautions.push_back(
        "a magnet rotor that turns makes the leads live; it pulls itself in suddenly and harms pacemakers and cards");
  }
  if (b.c.fitted.brake) cautions.push_back("release the brake before anything is turned and secure the load");
  return cautions;
}

std::vector<std::string> ProgrammeNotes(const Bench& b) {
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
  if ((!SensorsByKind(c.fitted).empty() || c.fitted.heater || c.fitted.feedback != Feedback::kNone) &&
      c.stage != Stage::kStrippedCore) {
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

}  // namespace coilwright::testing
